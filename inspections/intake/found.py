"""What a check found, as it is kept with the upload and shown before it is taken in. No database in here."""

from __future__ import annotations

from typing import Any

from .circuits import CircuitRow, SourceRow
from .devices import Device, Rcd
from .observations import ObservationRow
from .plan import BoardRow, FeedRow
from .trouble import Checked, RefusedRow, keepable, key_of
from .ways import THREE

SOURCES = {"pv": "solar (PV)", "battery": "battery", "generator": "generator", "wind": "wind turbine"}
SWITCHES = {
    "all": "main switch disconnects all live conductors",
    "lines": "main switch disconnects the lines only",
    "control": "main switch is a contactor or an electronic control",
    "none": "no main switch",
}
CLAIMED = (
    "called verified in this file, and taken in as believed only: another's list verifies nothing. What it says is kept "
    "in the board's notes, for our own people to verify."
)
MOST_TOLD = 1_000
"""Refused rows that are kept with all their cells."""
Found = dict[str, Any]

__all__ = ["Found", "as_found", "keepable", "key_of"]


def as_found(checked: Checked[Any]) -> Found:
    """The rows taken and refused, and the notes, as plain lists and dicts of text."""
    boards = sum(isinstance(row, BoardRow) for row in checked.accepted)
    circuits = sum(isinstance(row, CircuitRow) for row in checked.accepted)
    return keepable(
        {
            "accepted": [_accepted(row) for row in checked.accepted],
            "refused": [_refused(row) for row in checked.refused[:MOST_TOLD]]
            + [_briefly(row) for row in checked.refused[MOST_TOLD:]],
            "notes": checked.notes,
            "warnings": warnings(checked.accepted),
            "boards": boards,
            "circuits": circuits,
            "observations": len(checked.accepted) - boards - circuits,
        }
    )


def warnings(accepted: list[Any]) -> list[str]:
    """What must be seen before the rows are taken in: that a feed's verification in a file is another's word."""
    count = sum(bool(feed.verified_how) for row in accepted if isinstance(row, BoardRow) for feed in row.feeds)
    if not count:
        return []
    said = "1 feed is" if count == 1 else f"{count} feeds are"
    return [f"{said} {CLAIMED}"]


def _briefly(row: RefusedRow) -> Found:
    """A refused row behind so many others that nobody puts it right before those: what is wrong first, no cells."""
    first = row.troubles[0]
    trouble = {"column": first.column, "key": "", "wrong": first.wrong, "expected": first.expected}
    return {"row": key_of(row.sheet, row.row), "cells": [], "troubles": [trouble]}


def _refused(row: RefusedRow) -> Found:
    troubles = [
        {"column": one.column, "key": row.keys.get(one.column, ""), "wrong": one.wrong, "expected": one.expected}
        for one in row.troubles
    ]
    return {
        "row": key_of(row.sheet, row.row),
        "cells": [[head, said, row.keys.get(head, "")] for head, said in row.cells.items() if said],
        "troubles": troubles,
    }


def _accepted(row: BoardRow | CircuitRow | ObservationRow) -> Found:
    if isinstance(row, BoardRow):
        what, name, more = "board", row.designation, board_in_words(row)
    elif isinstance(row, CircuitRow):
        what, name, more = "circuit", circuit_name(row), circuit_in_words(row)
    else:
        what, name, more = row.code, row.text, where_in_words(row)
    found: Found = {"row": key_of(row.sheet, row.row), "what": what, "name": name, "more": more}
    return found | {"at": _at(row)} if isinstance(row, ObservationRow) else found


def _at(row: ObservationRow) -> Found:
    """Where an observation is, as far as it is said; for finding the earlier ones there."""
    at = {"board": row.board, "place": row.place} | ({"way": row.way.number, "phase": row.way.phase} if row.way else {})
    return {name: said for name, said in at.items() if said}


def board_in_words(row: BoardRow) -> str:
    """What was read of a board, in one line."""
    parts = [
        row.place,
        ", ".join(row.phases),
        f"label “{row.label_found}”" if row.label_found else "",
        f"main switch {row.main_switch}" if row.main_switch else "",
        SWITCHES.get(row.main_switch_kind, ""),
        f"Zdb {row.zdb_ohm:f} Ω" if row.zdb_ohm is not None else "",
        f"fault current {row.fault_current_ka:f} kA" if row.fault_current_ka is not None else "",
        *map(feed_in_words, row.feeds),
        f"notes: {row.notes}" if row.notes else "",
    ]
    return "; ".join(filter(None, parts))


def feed_in_words(feed: FeedRow) -> str:
    """A feed in words: “fed from Main intake, way 4L2”, with what the file says of its verification."""
    source = f"{feed.board}, way {feed.way}" if feed.board else feed.supply
    on = f" on {feed.verified_on:%d/%m/%Y}" if feed.verified_on else ""
    claim = f" (by the file verified: {feed.verified_how}{on})" if feed.verified_how else ""
    return f"{'other feed' if feed.alternative else 'fed'} from {source}{claim}"


def circuit_name(row: CircuitRow) -> str:
    """A circuit by its board, way and designation."""
    name = row.designation or (f"“{row.label_found}”" if row.label_found else "") or ("spare" if row.spare else "")
    return " ".join(filter(None, [f"{row.board}, way {row.way}", f"· {name}" if name else ""]))


def circuit_in_words(row: CircuitRow) -> str:
    """What was read of a circuit, in one line; first what must not lose power."""
    kept_on = f"must not lose power: {row.must_not_lose_power}" if row.must_not_lose_power else ""
    label = f"label “{row.label_found}”" if row.label_found and row.designation else ""
    sizes = " + ".join(f"{size:f} mm²" for size in (row.line_mm2, row.cpc_mm2) if size is not None)
    length = f"{row.length_m:f} m" if row.length_m is not None else ""
    breaks = f"breaks {row.breaking_capacity_ka:f} kA" if row.breaking_capacity_ka is not None else ""
    points = f"{row.points} point{'s' * (row.points != 1)}" if row.points is not None else ""
    spare = ("spare, blanked" if row.blanked else "spare, not blanked") if row.spare else ""
    device = [device_in_words(row.device), breaks, rcd_in_words(row.rcd)]
    parts = [kept_on, label, spare, *device, row.arrangement, sizes, length, points]
    return "; ".join(filter(None, [*parts, source_in_words(row.source)]))


def rcd_in_words(rcd: Rcd | None) -> str:
    """An RCD as it is read: “RCD 30 mA type A shared”."""
    if rcd is None:
        return ""
    if rcd.ma is None:
        return "voltage-operated earth leakage breaker, no RCD"
    kind = f" type {rcd.kind}" if rcd.kind not in ("", "unknown") else ""
    return f"RCD {rcd.ma} mA{kind}{' shared' if rcd.shared else ''}"


def source_in_words(source: SourceRow | None) -> str:
    """A second source as it is read, with where it is isolated and how long to wait after."""
    if source is None:
        return ""
    rating = f"{source.rating_kw:f} kW" if source.rating_kw is not None else ""
    off = f"isolated on the supply side at {source.isolate_supply_side}" if source.isolate_supply_side else ""
    cut = f"isolated on the source side at {source.isolate_source_side}" if source.isolate_source_side else ""
    wait = f"wait {source.wait_minutes} min" if source.wait_minutes is not None else ""
    return f"second source: {', '.join(filter(None, [SOURCES[source.kind], rating, off, cut, wait]))}"


def device_in_words(device: Device) -> str:
    """A device as it is read: “BS EN 60898 B 32 A”."""
    rating = f"{device.rating_a:f} A" if device.rating_a is not None else ""
    poles = f"{device.poles}-pole" if device.poles else ""
    return " ".join(filter(None, [device.standard, device.kind, rating, poles]))


def where_in_words(row: ObservationRow) -> str:
    """Item, board, way, place and age of an observation, in one line."""
    way = (
        f"way {row.way.number} three-phase"
        if row.way and row.way.phase == THREE
        else f"way {row.way}"
        if row.way
        else ""
    )
    first = f"first recorded {row.first_recorded:%d/%m/%Y}" if row.first_recorded else ""
    return "; ".join(filter(None, [f"item {row.item}" if row.item else "", row.board, way, row.place, first]))
