"""Which of the firm's people a row's reminder reaches, from who has it and how far it is passed on. Pure."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from remedials.due.rules.levels import Level

OF_PRICES = frozenset({"quote", "question"})  # kinds of row that only those who see prices may read


@dataclass(frozen=True, slots=True)
class Hearer:
    """One of the people who work at the firm, by what reminders ask of them.

    `qualified`: the first and last day (None: none named) of each competence. A subcontractor hears of their own rows only.
    """

    key: UUID
    plans: bool
    manages: bool
    prices: bool
    subcontractor: bool
    qualified: tuple[tuple[date, date | None], ...] = ()

    def is_qualified(self, day: date) -> bool:
        """Whether a recorded competence covers `day`."""
        return any(first <= day and (last is None or day <= last) for first, last in self.qualified)


def hearers(
    staff: Iterable[Hearer],
    *,
    kind: str,
    owner: UUID | None,
    levels: Collection[Level],
    no_date_or_loose: bool,
    today: date,
    of_firm: bool = False,
) -> set[UUID]:
    """Those of `staff` who hear of a row on `today`, where `levels` (of `levels.heard_by`) hear of it.

    OWNER: who has it; where nobody who works here has it, whoever plans work. They hear of a loose end too, and of what has
    no date. QUALIFIED: each person with a competence on that day; where there is none, the managers. MANAGER: the managers.
    A row with prices reaches only those who see them; a subcontractor hears of their own rows only. What is `of_firm` (of no
    site: somebody's competence, an instrument) is passed on to those only who plan work or manage.
    """
    able = [person for person in staff if person.prices or kind not in OF_PRICES]
    own = {person.key for person in able if person.key == owner}
    ours = [person for person in able if not person.subcontractor]
    above = [person for person in ours if not of_firm or person.plans or person.manages]
    managers = {person.key for person in ours if person.manages}
    qualified = {person.key for person in ours if person.is_qualified(today)} or managers
    found: set[UUID] = set()
    if Level.OWNER in levels:
        found |= own
        if not own or no_date_or_loose:
            found |= {person.key for person in ours if person.plans}
    if Level.QUALIFIED in levels:
        found |= {person.key for person in above} & qualified
    if Level.MANAGER in levels:
        found |= managers
    return found
