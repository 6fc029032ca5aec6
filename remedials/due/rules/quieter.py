"""The sorts of row in words, the bounds of the figures, and what makes danger quieter than shipped. Pure."""

from collections.abc import Collection, Mapping

from remedials.due.rules.sorts import SHIPPED, Days, Sort

WORDS = {
    Sort.C1: "C1, danger present, not made safe",
    Sort.C1_SAFE: "C1 made safe, still open",
    Sort.C2: "C2, potentially dangerous",
    Sort.FI: "FI, further investigation required",
    Sort.C3: "C3, improvement recommended",
    Sort.REPORT: "A reported defect that nobody has coded yet",
    Sort.INSPECTION: "An inspection that comes due",
    Sort.PAPER: "A paper due by law",
    Sort.NOTIFICATION: "A notification that the firm owes",
    Sort.LETTER: "A closing letter to be delivered",
    Sort.VISIT: "Visits: to confirm, to close, getting in, keys",
    Sort.QUOTE: "Quotes and questions about them",
    Sort.DESK: "Office work: drafts, another firm's codes, work left over",
    Sort.OWN: "Our own: instruments, competence, insurance, recalls",
    Sort.CHASE: "Somebody outside to chase",
}
FIXED = Sort.C1  # at once, then every morning: no figure of the firm changes that
DANGEROUS = (Sort.C1_SAFE, Sort.C2, Sort.FI, Sort.REPORT)
SHIPPED_WEEK = frozenset({1, 2, 3, 4, 5})
FIELDS = ("before", "every", "qualified_after", "manager_after")
BOUNDS = {"before": (0, 365), "every": (1, 90), "qualified_after": (0, 365), "manager_after": (0, 365)}
NEVER = frozenset({"qualified_after", "manager_after"})  # fields that may be empty
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def fault(sort: Sort, days: Days) -> tuple[str, str] | None:
    """What is wrong with the figures of `sort`: the field and a sentence; None where they can be used."""
    for name in FIELDS:
        value, (least, most) = getattr(days, name), BOUNDS[name]
        if value is None and name not in NEVER:
            return name, "Needed: fill this in."
        if value is not None and not least <= value <= most:
            return name, f"Write a number of days from {least} to {most}."
    if days.manager_after is None and sort in DANGEROUS:
        return "manager_after", "Somebody can be hurt: in the end the managers always hear of it."
    if None not in (days.qualified_after, days.manager_after) and days.manager_after < days.qualified_after:  # type: ignore[operator]
        return "manager_after", "The managers hear of it after the qualified persons: write as many days or more."
    return None


def quieter(
    rules: Mapping[Sort, Days],
    week: Collection[int],
    *,
    than: Mapping[Sort, Days] = SHIPPED,
    than_week: Collection[int] = SHIPPED_WEEK,
) -> dict[str, str]:
    """Where danger is heard of later, more seldom or by fewer than by `than`: sentences by the field, "c2-every", "week".

    A day of the week without digests counts too. Empty where nothing became quieter.
    """
    found = {
        f"{sort.value}-{name}": f"{WORDS[sort]}: {_in_words(name, new)}, not {_in_words(name, old)}"
        for sort in DANGEROUS
        for name in FIELDS
        if _is_quieter(name, new := getattr(rules[sort], name), old := getattr(than[sort], name))
    }
    if lost := sorted(set(than_week) - set(week)):
        found["week"] = f"No digest on {', '.join(WEEKDAYS[day - 1] for day in lost)}"
    return found


def _is_quieter(name: str, new: int | None, old: int | None) -> bool:
    if new == old or old is None:
        return False
    if new is None:
        return True
    return new < old if name == "before" else new > old


def _in_words(name: str, value: int | None) -> str:
    """A figure as a clause: "again every 3 days", "to the managers never"."""
    days = "never" if value is None else "1 day" if value == 1 else f"{value} days"
    if name == "before":
        return f"first {days} before it is due"
    if name == "every":
        return "again every day" if value == 1 else f"again every {days}"
    who = "to a qualified person" if name == "qualified_after" else "to the managers"
    return f"{who} never" if value is None else f"{who} {days} after it is due"
