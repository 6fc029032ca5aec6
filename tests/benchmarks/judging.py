"""What judging one reading costs, of every kind, without the database: asked for in `make bench`, at most 1 ms each."""

import statistics
import time
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inspections.standards.devices import Device, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.readings import Quantity, Situation, judge, read

RUNS = 500
TYPED = {"Ω": "0.35", "MΩ": ">200", "ms": "28", "kA": "1.2", "": "OK"}
RING_ENDS = {Quantity.RING_R1: Decimal("0.37"), Quantity.RING_RN: Decimal("0.37"), Quantity.RING_R2: Decimal("0.60")}


@dataclass
class Figure:
    """Milliseconds to read what was typed and judge it: median and 95th percentile."""

    quantity: str
    median_ms: float
    p95_ms: float


def figures() -> list[Figure]:
    """Read and judge each kind RUNS times, on a ring behind an RCD, with all that a judgement may ask for."""
    situation = Situation(
        edition=Edition.A4_2026,
        device=Device("BS EN 61009", "B", Decimal(32)),
        rcd=Rcd(Decimal(30), "A", "BS EN 61009"),
        earthing=Earthing.TN_S,
        ring=True,
        line_mm2=Decimal("2.5"),
        cpc_mm2=Decimal("1.5"),
        length_m=Decimal(50),
        breaking_capacity_ka=Decimal(6),
        others=RING_ENDS,
    )
    return [_figure(quantity, situation) for quantity in Quantity]


def _figure(quantity: Quantity, situation: Situation) -> Figure:
    costs = []
    for _ in range(RUNS):
        start = time.perf_counter()
        judge(quantity, read(quantity, TYPED[quantity.unit]), situation)
        costs.append((time.perf_counter() - start) * 1000)
    return Figure(quantity.label, round(statistics.median(costs), 3), round(statistics.quantiles(costs, n=20)[-1], 3))


def table(found: list[Figure]) -> str:
    """The figures for reading."""
    head = f"{'judging a reading of':<56}{'median ms':>11}{'95 % ms':>9}"
    return "\n".join([head, *(f"{f.quantity:<56}{f.median_ms:>11}{f.p95_ms:>9}" for f in found)])


def as_facts(found: list[Figure]) -> list[dict[str, Any]]:
    """The figures for bench.json."""
    return [vars(figure) for figure in found]
