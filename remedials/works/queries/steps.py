"""Power off and on again by the engineer's word, what stints came to, and what to isolate: as pages show them."""

from collections.abc import Iterable
from typing import Any

from inspections.models import Observation
from jobsite.premises.queries.isolation import in_short
from jobsite.words import many, when
from remedials.works.models import PowerStep, Remedial, RequiredReading, Stint
from remedials.works.queries.isolating import worked_on
from remedials.works.queries.locks import locks_of

NOT_ON = (
    "It is not recorded as energised again: a live test needs the supply on. Record it above when you have switched on."
)
NOT_OFF = "Recorded as energised again{when}: isolate, lock off and prove dead again before a dead test."


def power_steps(remedial: Remedial) -> dict[str, Any]:
    """The steps in order, and what to mind before dead and live tests. One statement.

    `here_…`: what a phone shows that keeps a later step than the server has.
    """
    steps = list(PowerStep.objects.filter(remedial=remedial).select_related("by").order_by("at", "pk"))
    last = steps[-1] if steps else None
    on = last is not None and last.kind == PowerStep.Kind.ON
    return {
        "rows": [step_words(step) for step in steps],
        "last": last.kind if last else "",
        "before_dead": NOT_OFF.format(when=f" {when(last.at)}") if last and on else "",
        "before_live": "" if on else NOT_ON,
        "here_before_dead": NOT_OFF.format(when=" on this phone"),
        "here_before_live": NOT_ON,
    }


def step_words(step: PowerStep) -> dict[str, str]:
    """A step in words, whose it was and when."""
    kind = step.get_kind_display()
    head = f"{kind[0].upper()}{kind[1:]}"
    words = f"{head}: {step.where}" if step.where else head
    return {"kind": step.kind, "words": words, "by": f"{step.by}, {when(step.at)}"}


def stints_of(remedial: Remedial) -> list[dict[str, Any]]:
    """What each engineer's time at it came to, the first first. Two statements."""
    rows = Stint.objects.filter(remedial=remedial).select_related("by").prefetch_related("used").order_by("at", "pk")
    return [stint_words(row) for row in rows]


def stint_words(row: Stint) -> dict[str, Any]:
    """A stint in words; `row` with its person and its materials."""
    came = row.get_came_display()
    return {
        "came": f"{came[0].upper()}{came[1:]}",
        "because": row.because,
        "minutes": many(row.minutes, "minute") if row.minutes else "",
        "used": [_used(one) for one in row.used.all()],
        "by": f"{row.by}, {when(row.at)}",
    }


def _used(one: Any) -> str:
    amount = f"{one.quantity.normalize():f}"
    return f"{amount} {one.unit} {one.what}" if one.unit else f"{amount} × {one.what}"


def to_isolate(
    remedial: Remedial, observations: Iterable[Observation], needs: Iterable[RequiredReading]
) -> dict[str, Any]:
    """What to switch off for it, by the record; {} where power may stay on or it names no board. Eight statements."""
    if remedial.power_off is False:
        return {}
    works = worked_on(observations, (need.circuit for need in needs))
    return in_short(remedial.site, works, locks=locks_of(remedial.site_id)) if works else {}
