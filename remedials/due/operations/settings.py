"""Setting by what figures people are reminded."""

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from datetime import datetime, time
from typing import Any

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.due.models import ReminderRule, Reminding
from remedials.due.queries.settings import rules_in_force
from remedials.due.rules.figures import FIGURES, faults_of
from remedials.due.rules.quieter import FIELDS, FIXED, fault, quieter
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from remedials.due.verbs import Verb


@dataclass(frozen=True)
class Standing:
    """All figures of reminding as they are, for whoever saves over them."""

    reminding: Reminding
    rules: dict[Sort, Days]


@operation
def set_reminding(
    *,
    rules: Mapping[Sort, Days],
    by: Actor,
    now: datetime,
    version: int | None = None,
    reason: str = "",
    **figures: Any,
) -> Reminding:
    """Set by what figures people are reminded: `rules` by sort, and `figures` (all of FIGURES).

    `version` is that of the figures as the person saw them, 0 where the shipped ones held. What makes danger quieter than
    shipped, and than before, needs a `reason`. The same again: nothing happens. Raises NotAllowed, ChangedMeanwhile, and
    Refused with the field: one of FIGURES, "reason", or "<sort>-<name>" of a rule.
    """
    if not by.may(Right.KEEP_FIRM):
        raise NotAllowed("Only a manager sets how people are reminded.")
    if set(figures) != set(FIGURES):
        raise TypeError(f"not the figures of reminding: {sorted(set(figures) ^ set(FIGURES))}")
    alone(FIRM_CHAIN)
    _must_be_rules(rules)
    _must_be_figures(figures)
    row = Reminding.objects.select_for_update().first()
    before, rules_before = row or Reminding.shipped(), rules_in_force()
    wanted = SHIPPED | dict(rules)
    if rules_before == wanted and all(getattr(before, name) == figures[name] for name in FIGURES):
        return before
    if version is not None and version != (row.version if row else 0):
        raise ChangedMeanwhile("Somebody set these figures anew meanwhile.", theirs=Standing(before, rules_before))
    hushed = _hushed(wanted, figures, rules_before, before)
    if hushed and not reason.strip():
        raise Refused(
            f"This makes danger quieter than shipped, so say why. {'; '.join(hushed.values())}.", field="reason"
        )
    facts = _changes(before, figures, rules_before, wanted) | {"quieter": sorted(hushed)}
    made = _kept(row, figures)
    _keep_rules(wanted)
    record(Verb.REMINDING_SET, site=None, subject=made, by=by, now=now, facts=facts, words={"reason": reason.strip()})
    return made


def _hushed(
    wanted: Mapping[Sort, Days], figures: Mapping[str, Any], rules_before: Mapping[Sort, Days], before: Reminding
) -> dict[str, str]:
    """Where danger becomes quieter than shipped by this change: what was so already needs no second reason."""
    week = figures["working_days"]
    now_so = quieter(wanted, week, than=rules_before, than_week=before.working_days)
    return {field: words for field, words in quieter(wanted, week).items() if field in now_so}


def _must_be_rules(rules: Mapping[Sort, Days]) -> None:
    if rules.get(FIXED, SHIPPED[FIXED]) != SHIPPED[FIXED]:
        raise Refused("A C1 that is not made safe is said at once and every morning: no figure changes that.")
    for sort, days in rules.items():
        if wrong := fault(sort, days):
            raise Refused(wrong[1], field=f"{sort.value}-{wrong[0]}")


def _must_be_figures(figures: Mapping[str, Any]) -> None:
    for name, wrong in faults_of(figures).items():
        raise Refused(wrong, field=name)


def _changes(
    before: Reminding, figures: Mapping[str, Any], rules_before: Mapping[Sort, Days], rules: Mapping[Sort, Days]
) -> dict[str, Any]:
    """What changed, for the ledger: the old and the new value of each figure."""
    changed = {
        name: [_plain(getattr(before, name)), _plain(figures[name])]
        for name in FIGURES
        if getattr(before, name) != figures[name]
    }
    sorts = {
        sort.value: [list(astuple(rules_before[sort])), list(astuple(rules[sort]))]
        for sort in Sort
        if rules_before[sort] != rules[sort]
    }
    return {"figures": changed, "sorts": sorts}


def _plain(value: Any) -> Any:
    return value.isoformat(timespec="minutes") if isinstance(value, time) else value


def _kept(row: Reminding | None, figures: Mapping[str, Any]) -> Reminding:
    made = row or Reminding(version=0)
    for name, value in figures.items():
        setattr(made, name, value)
    made.version += 1
    made.save()
    return made


def _keep_rules(rules: Mapping[Sort, Days]) -> None:
    """Keep those that differ from the shipped ones: of the others the shipped hold, also those of a later release."""
    own = {sort: days for sort, days in rules.items() if days != SHIPPED[sort]}
    ReminderRule.objects.exclude(sort__in=[sort.value for sort in own]).delete()
    ReminderRule.objects.bulk_create(
        [ReminderRule(sort=sort.value, **dict(zip(FIELDS, astuple(days), strict=True))) for sort, days in own.items()],
        update_conflicts=True,
        unique_fields=["sort"],
        update_fields=list(FIELDS),
    )
