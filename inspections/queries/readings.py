"""Readings of a circuit and its limit in words."""

from typing import Any

from inspections.models import Reading
from inspections.standards.impedance import EnterLimit, Limit, LoopLimits
from jobsite import words
from jobsite.marks import verdict_mark
from jobsite.premises.models import Circuit

MOST = 50


def limit_words(limits: LoopLimits) -> list[str]:
    """What a reading is judged by, in sentences: the limit with its basis, or why one must be entered; then the other."""
    said = [_one(limits.decides)]
    if isinstance(limits.other, Limit):
        said.append(f"The other basis, which does not decide: {_one(limits.other)}")
    return said


def _one(limit: Limit | EnterLimit) -> str:
    if isinstance(limit, EnterLimit):
        return limit.reason
    note = f" ({limit.confidence.note})" if limit.confidence.note else ""
    return f"At most {words.measure(limit.ohms_shown, 'Ω')}: {limit.basis}{note}."


def reading_rows(circuit: Circuit) -> list[dict[str, Any]]:
    """The last readings of the circuit, newest first. One statement."""
    rows = Reading.objects.filter(circuit=circuit).select_related("instrument", "taken_by").order_by("-taken_at", "-pk")
    return [
        {
            "when": words.when(row.taken_at),
            "value": f"{'>' if row.above_range else ''}{words.measure(row.value.normalize() + 0, row.unit)}",
            "verdict": verdict_mark(row.verdict != "fail", row.get_verdict_display()),
            "limit": f"{row.limit:f}".rstrip("0").rstrip("."),
            "basis": row.basis,
            "instrument": f"{row.instrument}{'' if row.instrument_in_check else ': out of its check'}",
            "by": row.taken_by.name,
        }
        for row in rows[:MOST]
    ]
