"""Comparisons of two meters in words: what was read, over which interval, what it points to."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from inspections.models import MeterComparison, MeterFigure, Observation
from inspections.standards.metering import average_watts, shown_ratio
from jobsite import words
from jobsite.addresses import address

MOST = 50


def comparisons_of(observation: Observation) -> QuerySet[MeterComparison]:
    """The comparisons of an observation, newest first, with figures and who took them. No statement of its own."""
    rows = MeterComparison.objects.filter(observation=observation).select_related("taken_by", "answers", "answered_by")
    return rows.prefetch_related("figures__instrument").order_by("-taken_at", "-pk")


def comparison_rows(observation: Observation) -> list[dict[str, Any]]:
    """The last comparisons of an observation, ready for its page. Three statements."""
    return [_row(row) for row in comparisons_of(observation)[:MOST]]


def _row(row: Any) -> dict[str, Any]:
    later = getattr(row, "answered_by", None)
    figures = sorted(row.figures.all(), key=lambda figure: not figure.relied_on)
    return {
        "id": str(row.pk),
        "taken": f"{words.when(row.taken_at)}, {row.taken_by.name}",
        "interval": words.span(row.began_at, row.ended_at),
        "found": row.get_found_display(),
        "ratio": "" if row.ratio is None else f"{shown_ratio(row.ratio)} to 1",
        "sentence": row.sentence,
        "figures": [_figure(figure, row) for figure in figures],
        "source": "" if row.source_wh is None else energy_words(row.source_wh),
        "tolerance": f"{row.tolerance_percent.normalize():f} %",
        "phases": "three phases" if row.three_phase else "one phase",
        "note": row.note,
        "answers": f"Answers the one of {words.when(row.answers.taken_at)}" if row.answers else "",
        "answered": f"Answered by the one of {words.when(later.taken_at)}: no longer counts" if later else "",
        "answer_at": "" if later else address("inspections:meters", row.observation_id, answers=row.pk),
    }


def _figure(figure: MeterFigure, row: MeterComparison) -> dict[str, str]:
    registers = f"from {plain(figure.start)} to {plain(figure.end)} {figure.unit}" if figure.start is not None else ""
    return {
        "head": "Relied on" if figure.relied_on else "In doubt",
        "what": words.joined(figure.what, str(figure.instrument) if figure.instrument else ""),
        "energy": energy_words(figure.wh),
        "registers": registers,
        "mean": mean_words(figure.wh, row.began_at, row.ended_at),
    }


def plain(value: Decimal | None) -> str:
    """A number without trailing noughts or an exponent; "" for none."""
    return "" if value is None else f"{value.normalize():f}".replace("-", "\u2212")


def energy_words(wh: Decimal) -> str:
    """An energy in the unit that people say: "840 Wh", "12.5 kWh", "\u22123 kWh"."""
    unit, per = ("kWh", Decimal(1000)) if abs(wh) >= 1000 else ("Wh", Decimal(1))
    return f"{plain(wh / per)}{words.THIN}{unit}"


def mean_words(wh: Decimal, began_at: datetime, ended_at: datetime) -> str:
    """The mean power that an energy stands for, to tell at a glance whether it can be: "on average 2.1 kW"."""
    watts = average_watts(wh, ended_at - began_at)
    per, unit = (Decimal(1000), "kW") if abs(watts) >= 1000 else (Decimal(1), "W")
    return f"on average {plain((watts / per).quantize(Decimal('0.1')))}{words.THIN}{unit}"


def first_values(row: MeterComparison) -> dict[str, Any]:
    """The form's first values where `row` is to be answered by another: everything but the figures themselves."""
    values: dict[str, Any] = {
        "answers": row.pk,
        "began_at": row.began_at,
        "ended_at": row.ended_at,
        "three_phase": row.three_phase,
        "source_kwh": None if row.source_wh is None else plain(row.source_wh / 1000),
    }
    for figure in row.figures.all():
        meter = "relied" if figure.relied_on else "doubt"
        values |= {
            f"{meter}_what": figure.what,
            f"{meter}_unit": figure.unit,
            f"{meter}_instrument": figure.instrument_id,
        }
        values |= {f"{meter}_start": plain(figure.start), f"{meter}_end": plain(figure.end)}
        values |= {f"{meter}_energy": "" if figure.start is not None else plain(figure.wh / _per(figure.unit))}
    return values


def _per(unit: str) -> Decimal:
    return {"Wh": Decimal(1), "kWh": Decimal(1000)}.get(unit, Decimal(1_000_000))
