"""Reads rows of circuits."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TypeVar

from . import cells, devices
from .devices import Device, Rcd
from .rows import RowReader
from .table import Plain, as_text
from .trouble import Unfit
from .ways import SINGLE, THREE, Way, circuit_phase, way

Said = TypeVar("Said")
ARRANGEMENTS = {
    "ring": "ring", "ringfinal": "ring", "rfc": "ring", "ringmain": "ring", "ringfinalcircuit": "ring",
    "radial": "radial", "rad": "radial", "radialfinal": "radial", "radialcircuit": "radial",
    "distribution": "distribution", "distributioncircuit": "distribution", "submain": "distribution", "sub": "distribution",
    "feeder": "distribution", "dist": "distribution",
}  # fmt: skip
SOURCES = {
    "pv": "pv", "solar": "pv", "solarpv": "pv", "photovoltaic": "pv", "battery": "battery", "batteries": "battery",
    "storage": "battery", "generator": "generator", "genset": "generator", "wind": "wind", "windturbine": "wind", "turbine": "wind",
}  # fmt: skip
SPARE = {"spare", "spareway", "unused", "notused", "blank"}


@dataclass(frozen=True, slots=True)
class SourceRow:
    """A second source that comes in on a circuit: pv, battery, generator or wind."""

    kind: str
    rating_kw: Decimal | None
    isolate_supply_side: str
    isolate_source_side: str
    wait_minutes: int | None


@dataclass(slots=True)
class CircuitRow:
    """A circuit as a file has it. `board` and the phase of `way` are settled once all rows are read."""

    sheet: str
    row: int
    board: str
    way: Way
    label_found: str
    designation: str
    device: Device
    rcd: Rcd | None
    arrangement: str
    line_mm2: Decimal | None
    cpc_mm2: Decimal | None
    length_m: Decimal | None
    breaking_capacity_ka: Decimal | None
    points: int | None
    must_not_lose_power: str
    spare: bool
    blanked: bool
    source: SourceRow | None


name = partial(cells.line, most=100)
words = partial(cells.text, most=500)


def read_circuit(reader: RowReader) -> CircuitRow:
    """The circuit of a row; `reader.troubles` says whether it can be used."""
    device, rcd = _device(reader)
    designation = reader.read("designation", partial(cells.line, most=200), "")
    label = reader.read("label_found", partial(cells.line, most=200), "")
    blanked = reader.read("blanked", cells.yes_no, otherwise=False)
    spare = reader.read("spare", cells.yes_no, otherwise=False)
    return CircuitRow(
        sheet=reader.sheet,
        row=reader.row.number,
        board=reader.read("board", name, ""),
        way=_way(reader),
        label_found=label,
        designation="" if cells.fold(designation) in SPARE else designation,
        device=device,
        rcd=rcd,
        arrangement=reader.read("arrangement", arrangement, ""),
        line_mm2=reader.read("line_mm2", partial(cells.quantity, measure=cells.MILLIMETRES), None),
        cpc_mm2=reader.read("cpc_mm2", partial(cells.quantity, measure=cells.MILLIMETRES), None),
        length_m=reader.read("length_m", partial(cells.quantity, measure=cells.METRES), None),
        breaking_capacity_ka=reader.read("breaking_ka", partial(cells.quantity, measure=cells.BREAKING), None),
        points=reader.read("points", partial(cells.whole, most=9999), None),
        must_not_lose_power=reader.read("must_not_lose_power", words, ""),
        spare=spare or blanked or cells.fold(designation) in SPARE or (not designation and cells.fold(label) in SPARE),
        blanked=blanked,
        source=_source(reader),
    )


def _way(reader: RowReader) -> Way:
    found = reader.read("way", way, Way(0))
    phase = reader.read("phase", circuit_phase, "")
    if phase and found.phase and phase != found.phase and not (phase == SINGLE and found.phase != THREE):
        reader.trouble(
            "phase",
            f"“{as_text(reader.value('phase'))}” isn't the phase that way {found} says.",
            "the same phase in both",
        )
    return found if found.phase else Way(found.number, phase)


def arrangement(value: Plain) -> str:
    """ring, radial or distribution."""
    found = ARRANGEMENTS.get(cells.fold(as_text(value)))
    if found is None:
        raise Unfit(f"“{as_text(value)}” isn't an arrangement of a circuit.", "ring, radial or distribution")
    return found


def _device(reader: RowReader) -> tuple[Device, Rcd | None]:
    """The device and its RCD out of the columns for the whole and for the parts, which may not contradict each other."""
    whole = reader.read("device", devices.device, Device())
    parts = Device(
        reader.read("device_standard", devices.standard, ""),
        reader.read("device_type", devices.kind, ""),
        reader.read("rating_a", partial(cells.quantity, measure=cells.AMPS), None),
        reader.read("poles", partial(cells.whole, most=4), None),
    )
    if whole.not_understood:
        reader.note(f"of the device, “{whole.not_understood}” wasn't understood and isn't kept.")
    rcd = _rcd(reader, whole)
    standard = _same(reader, "device_standard", whole.standard, parts.standard)
    kind = _same(reader, "device_type", whole.kind, parts.kind)
    rating = _same(reader, "rating_a", whole.rating_a, parts.rating_a)
    poles = _same(reader, "poles", whole.poles, parts.poles)
    if not standard and kind in {"B", "C", "D"}:
        standard = "BS EN 61009" if rcd and not rcd.shared else "BS EN 60898"
        reader.note(f"the device's standard isn't said; type {kind} was taken for {standard}.")
    if kind and rating is None:
        reader.trouble(
            "device" if reader.has("device") else "device_type", "says the type, but not the rating.", devices.EXPECTED
        )
    return _fitting(reader, Device(standard or "", kind or "", rating, poles)), rcd


def _same(reader: RowReader, key: str, one: Said, other: Said) -> Said:
    if one and other and one != other:
        reader.trouble(
            key,
            f"“{as_text(reader.value(key))}” contradicts the column “{reader.table.written('device')}”.",
            "the same in both",
        )
    return one or other


def _fitting(reader: RowReader, device: Device) -> Device:
    try:
        return devices.fitting(device)
    except Unfit as unfit:
        reader.trouble("device_type", unfit.wrong, unfit.expected)
        return device


def _rcd(reader: RowReader, whole: Device) -> Rcd | None:
    said = reader.read("rcd", devices.rcd, None)
    ma = reader.read("rcd_ma", partial(cells.quantity, measure=cells.MILLIAMPS), None)
    kind = reader.read("rcd_kind", rcd_kind, "")
    if said and said.ma is None:
        if ma or kind:
            reader.trouble(
                "rcd",
                "is a voltage-operated breaker, which has no rated residual current and no type.",
                devices.EXPECTED_RCD,
            )
        return said
    amount = _same(reader, "rcd_ma", said.ma if said else whole.rcd_ma, ma)
    if not amount:
        if kind:
            reader.trouble("rcd_kind", "gives an RCD's type without its rated residual current.", devices.EXPECTED_RCD)
        return None
    return Rcd(int(amount), kind or (said.kind if said else "unknown"), bool(said and said.shared))


def rcd_kind(value: Plain) -> str:
    """AC, A, F, B or S."""
    found = as_text(value).upper().removeprefix("TYPE").strip()
    if found not in devices.RCD_KINDS:
        raise Unfit(f"“{as_text(value)}” isn't a type of RCD.", "AC, A, F, B, or S where it is time-delayed")
    return found


def _source(reader: RowReader) -> SourceRow | None:
    kind = reader.read("second_source", source_kind, "")
    rating = reader.read("source_kw", partial(cells.quantity, measure=cells.KILOWATTS), None)
    wait = reader.read("wait_minutes", partial(cells.quantity, measure=cells.MINUTES), None)
    supply_side = reader.read("isolate_supply_side", words, "")
    source_side = reader.read("isolate_source_side", words, "")
    if kind:
        return SourceRow(kind, rating, supply_side, source_side, None if wait is None else int(wait))
    if not reader.has("second_source") and (rating is not None or wait is not None or source_side):
        reader.trouble(
            "second_source", "is empty, but the row gives particulars of one.", "PV, battery, generator or wind"
        )
    return None


def source_kind(value: Plain) -> str:
    """pv, battery, generator or wind."""
    found = SOURCES.get(cells.fold(as_text(value)))
    if found is None:
        raise Unfit(
            f"“{as_text(value)}” isn't a kind of second source.",
            "PV, battery, generator or wind; its rating in its own column",
        )
    return found
