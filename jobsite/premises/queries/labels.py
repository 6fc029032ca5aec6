"""Short words for circuits, devices and what is not verified."""

from jobsite.premises.models import Board, Circuit, Feed
from jobsite.premises.supply_words import quoted
from jobsite.words import day


def board_label(board: Board) -> str:
    """The designation; in quotes where it is believed only."""
    return board.designation if board.proven else quoted(board.designation)


def circuit_words(circuit: Circuit) -> str:
    """What the circuit is: its designation, in quotes where believed only; else the label found, in quotes; else spare."""
    if circuit.designation:
        return circuit.designation if circuit.proven else quoted(circuit.designation)
    if circuit.label_found:
        return quoted(circuit.label_found)
    return "spare" if circuit.spare else "not described"


def circuit_label(circuit: Circuit) -> str:
    """A circuit in a list to choose from: "4L2 · Boiler · B32"."""
    return " · ".join(filter(None, (circuit.way_name, circuit_words(circuit), circuit.device)))


def way_words(circuit: Circuit) -> str:
    """A way in the supply drawing: "way 4L2 · B40"."""
    return " · ".join(filter(None, (f"way {circuit.way_name}", circuit.device)))


def how_known(row: Board | Circuit | Feed) -> str:
    """Who verified it, when and how; of what somebody was only told, that it is believed. For what is marked verified."""
    by = f" by {row.verified_by}" if row.verified_by else ""
    if row.proven:
        return f"verified{by} on {day(row.verified_on)}: {row.get_verified_how_display()}"
    return f"told, not seen: believed, noted{by} on {day(row.verified_on)}"
