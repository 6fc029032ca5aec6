"""Up to what sum a party may accept work at a unit, and what lies above it."""

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from jobsite.words import money
from remedials.quotes.rules.totals import NOTHING

Unit = TypeVar("Unit")
NO_LIMIT = None


class Role(StrEnum):
    """Roles on which a limit hangs, by the values that they are stored with. A site's customer is given as one."""

    OWNER = "owner"
    CUSTOMER = "customer"
    APPROVER = "approver"


def limit_of(
    roles: Iterable[tuple[str, Decimal | None]], *, somebody_approves: bool, addressed: bool = True
) -> Decimal | None:
    """Up to how many pounds to pay a party may say yes at a unit; `NO_LIMIT` (None) where there is no limit, else 0.

    `roles`: those that the party holds there on the day, each with its limit. `somebody_approves`: whether anybody
    holds the approver's role there. `addressed`: whether the offer was made to this party, or passed on to it.
    """
    held = list(roles)
    if any(role in {Role.OWNER, Role.CUSTOMER} for role, _ in held):
        return NO_LIMIT
    own = [limit for role, limit in held if role == Role.APPROVER]
    if not somebody_approves and not own:
        return NO_LIMIT if addressed else NOTHING
    if any(limit is None for limit in own):
        return NO_LIMIT
    return max((limit for limit in own if limit is not None), default=NOTHING)


def by_unit(lines: Iterable[tuple[Decimal, Collection[Unit]]]) -> dict[Unit, Decimal]:
    """Pounds to pay by unit, from each line's sum and the units that it is for.

    The whole of a line counts at each of its units: a limit may be found passed too soon, never too late.
    """
    found: dict[Unit, Decimal] = {}
    for to_pay, units in lines:
        for unit in set(units):
            found[unit] = found.get(unit, NOTHING) + to_pay
    return found


def over_limit(
    chosen: Mapping[Unit, Decimal], limits: Mapping[Unit, Decimal | None], names: Mapping[Unit, str] | None = None
) -> list[str]:
    """A sentence for each unit at which what is chosen comes to more than may be accepted there.

    `chosen`: pounds to pay by unit, with what was accepted earlier of the same offer; a unit without an entry in
    `limits` has no limit, so give all of them.
    """
    said = []
    for unit, pounds in chosen.items():
        limit = limits.get(unit, NO_LIMIT)
        if limit is None or pounds <= limit:
            continue
        at = f" at {names[unit]}" if names and unit in names else ""
        may = f"may approve up to {money(limit)}{at}" if limit else f"may not approve work{at}"
        said.append(f"You {may}, and this comes to {money(pounds)}: pass the quote on to whoever may approve it.")
    return said
