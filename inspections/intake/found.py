"""What a check found, as it is kept with the upload and shown before it is taken in. No database in here."""

from __future__ import annotations

import re
from typing import Any

from .circuits import CircuitRow
from .devices import Device
from .observations import ObservationRow
from .plan import BoardRow, FeedRow
from .trouble import Checked, RefusedRow
from .ways import THREE

UNKEEPABLE = re.compile("[\0\ud800-\udfff]")
"""What a JSON column of PostgreSQL can't hold."""

SOURCES = {"pv": "solar (PV)", "battery": "battery", "generator": "generator", "wind": "wind turbine"}
Found = dict[str, Any]


def as_found(checked: Checked[Any]) -> Found:
    """The rows taken and refused, and the notes, as plain lists and dicts of text."""
    boards = sum(isinstance(row, BoardRow) for row in checked.accepted)
    circuits = sum(isinstance(row, CircuitRow) for row in checked.accepted)
    return keepable(
        {
            "accepted": [_accepted(row) for row in checked.accepted],
            "refused": [_refused(row) for row in checked.refused],
            "notes": checked.notes,
            "boards": boards,
            "circuits": circuits,
            "observations": len(checked.accepted) - boards - circuits,
        }
    )


def key_of(sheet: str, row: int) -> str:
    """The name of a row: "Circuits, row 5"."""
    return str(keepable(f"{sheet}, row {row}"))


def keepable(value: Any) -> Any:
    """The value with the characters replaced that the database can't hold."""
    if isinstance(value, str):
        return UNKEEPABLE.sub("\N{REPLACEMENT CHARACTER}", value)
    if isinstance(value, list):
        return [keepable(one) for one in value]
    if isinstance(value, dict):
        return {keepable(name): keepable(one) for name, one in value.items()}
    return value


def _refused(row: RefusedRow) -> Found:
    troubles = [{"column": one.column, "wrong": one.wrong, "expected": one.expected} for one in row.troubles]
    return {
        "row": key_of(row.sheet, row.row),
        "cells": [[head, said] for head, said in row.cells.items() if said],
        "troubles": troubles,
    }


def _accepted(row: BoardRow | CircuitRow | ObservationRow) -> Found:
    if isinstance(row, BoardRow):
        what, name, more = "board", row.designation, board_in_words(row)
    elif isinstance(row, CircuitRow):
        what, name, more = "circuit", circuit_name(row), circuit_in_words(row)
    else:
        what, name, more = row.code, row.text, where_in_words(row)
    return {"row": key_of(row.sheet, row.row), "what": what, "name": name, "more": more}


def board_in_words(row: BoardRow) -> str:
    """What is known of a board, in one line."""
    label = f"label “{row.label_found}”" if row.label_found else ""
    return "; ".join(filter(None, [row.place, ", ".join(row.phases), label, *map(feed_in_words, row.feeds)]))


def feed_in_words(feed: FeedRow) -> str:
    """A feed in words: “fed from Main intake, way 4L2”."""
    source = f"{feed.board}, way {feed.way}" if feed.board else feed.supply
    return f"{'other feed' if feed.alternative else 'fed'} from {source}"


def circuit_name(row: CircuitRow) -> str:
    """A circuit by its board, way and designation."""
    name = row.designation or (f"“{row.label_found}”" if row.label_found else "") or ("spare" if row.spare else "")
    return " ".join(filter(None, [f"{row.board}, way {row.way}", f"· {name}" if name else ""]))


def circuit_in_words(row: CircuitRow) -> str:
    """What is known of a circuit, in one line."""
    sizes = " + ".join(f"{size:f} mm²" for size in (row.line_mm2, row.cpc_mm2) if size is not None)
    rcd = f"RCD {row.rcd.ma} mA{' shared' if row.rcd.shared else ''}" if row.rcd else ""
    source = f"second source: {SOURCES[row.source.kind]}" if row.source else ""
    spare = ("spare, blanked" if row.blanked else "spare, not blanked") if row.spare else ""
    parts = [spare, device_in_words(row.device), rcd, row.arrangement, sizes, source]
    return "; ".join(filter(None, parts))


def device_in_words(device: Device) -> str:
    """A device as it is read: “BS EN 60898 B 32 A”."""
    rating = f"{device.rating_a:f} A" if device.rating_a is not None else ""
    return " ".join(filter(None, [device.standard, device.kind, rating]))


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
