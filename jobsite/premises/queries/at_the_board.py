"""A board as somebody stands in front of it: its ways in order, what is written, what is verified, by whom and how."""

from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Subquery
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises.models import Board, Circuit, Verification
from jobsite.premises.queries.boards import boards_fed, feeds_words
from jobsite.premises.queries.labels import board_label, circuit_words, how_known
from jobsite.premises.supply_words import quoted
from jobsite.words import day, many, when

HISTORY = 50


def at_the_board(board: Board) -> dict[str, Any]:
    """The board's own label and its ways in order, with how far verifying has come. Four statements whatever the size.

    `board` is best read with `select_related("site", "verified_by", "label_noted_by")`.
    """
    circuits = list(_ways(board))
    feeding = boards_fed(board)
    ways = [_way(circuit, feeds_words(feeding.get(circuit.pk, []))) for circuit in circuits]
    last = _standing(board=board.pk).values_list("pk", flat=True).first()
    return {
        "name": board_label(board),
        "own": _own(board, last),
        "ways": ways,
        "blank": _blank(),
        "group": f"board:{board.pk}",
        "history": verification_lines(board),
        "next_way": max((circuit.way for circuit in circuits), default=0) + 1,
        **_progress(circuits),
    }


def way_at_the_board(circuit: Circuit) -> dict[str, Any]:
    """One way of that page as it is now, and the progress of its board. Three statements."""
    board = circuit.board
    circuits = list(_ways(board))
    row = next(row for row in circuits if row.pk == circuit.pk)
    way = _way(row, feeds_words(boards_fed(board).get(row.pk, [])))
    return {"way": way, "board": board, "group": f"board:{board.pk}", **_progress(circuits)}


def board_itself(board: Board) -> dict[str, Any]:
    """What that page says of the board itself, as it is now. One statement."""
    last = _standing(board=board.pk).values_list("pk", flat=True).first()
    return {"name": board_label(board), "own": _own(board, last), "board": board, "group": f"board:{board.pk}"}


def next_unverified(board: Board, after: Circuit) -> UUID | None:
    """The next way of the board that nobody has seen to be what it is, from `after` on and then from the first. One statement."""
    rows = [circuit for circuit in board.circuits.current().order_by("way", "phase") if _asks(circuit)]
    behind = [row for row in rows if (row.way, row.phase) > (after.way, after.phase)]
    found = (behind or rows)[:1]
    return found[0].pk if found else None


def _ways(board: Board) -> Any:
    last = _standing(circuit=OuterRef("pk")).values("pk")[:1]
    rows = board.circuits.current().select_related("verified_by", "label_noted_by")
    return rows.annotate(last_verification=Subquery(last)).order_by("way", "phase")


def _standing(**about: Any) -> Any:
    return Verification.objects.filter(taken_back_at__isnull=True, **about).order_by("-at", "-pk")


def _asks(circuit: Circuit) -> bool:
    """Whether somebody should still find out what it is: spare ways are seen at a glance."""
    return not circuit.spare and not circuit.proven


def _progress(circuits: list[Circuit]) -> dict[str, Any]:
    used = [circuit for circuit in circuits if not circuit.spare]
    left = [circuit for circuit in used if not circuit.proven]
    open_ways = [circuit.way_name for circuit in circuits if circuit.spare and not circuit.blanked]
    return {
        "progress": f"{len(used) - len(left)} of {many(len(used), 'way')} verified" if used else "",
        "next": {"way": left[0].way_name, "at": f"#way-{left[0].pk}"} if left else None,
        "open_ways": ", ".join(open_ways),
    }


def _own(board: Board, last: UUID | None) -> dict[str, Any]:
    """The board's own label beside what it is called."""
    back = last if board.designation_verified else None
    return {
        "say": board.designation,
        "version": board.version,
        "fresh": new_id(),
        "label": quoted(board.label_found) if board.label_found else "",
        "noted": _noted(board),
        "seen": how_known(board) if board.designation_verified else "",
        "same": board.label_found == board.designation,
        "verify": reverse("premises:board_verify", args=[board.pk]),
        **_taking_back(back),
    }


def _way(circuit: Any, feeding: str) -> dict[str, Any]:
    verified = circuit.verified
    return {
        "id": circuit.pk,
        "way": circuit.way_name,
        "what": "" if circuit.spare and not circuit.designation else circuit_words(circuit),
        "label": quoted(circuit.label_found) if circuit.label_found else "",
        "label_text": circuit.label_found,
        "tap": bool(circuit.label_found) and not circuit.proven,
        "say": circuit.designation or circuit.label_found,
        "about": f"Way {circuit.way_name}",
        "on": f"on way {circuit.way_name}",
        "noted": _noted(circuit),
        "seen": how_known(circuit) if verified else "",
        "device": circuit.device,
        "feeding": feeding,
        "spare": ("spare, blanked" if circuit.blanked else "spare, not blanked") if circuit.spare else "",
        "open": circuit.spare and not circuit.blanked,
        "proven": circuit.proven,
        "spare_ticked": circuit.spare,
        "blanked": circuit.blanked,
        "version": circuit.version,
        "fresh": new_id(),
        "verify": reverse("premises:circuit_verify", args=[circuit.pk]),
        "spare_at": reverse("premises:circuit_spare", args=[circuit.pk]),
        "edit": reverse("premises:circuit_edit", args=[circuit.pk]),
        **_taking_back(circuit.last_verification if verified else None),
    }


def _taking_back(last: UUID | None) -> dict[str, str]:
    if last is None:
        return {"back": "", "back_hold": ""}
    return {"back": reverse("premises:verification_take_back", args=[last]), "back_hold": f"take-back:{last}"}


def _blank() -> dict[str, Any]:
    """A way that a phone entered and no server knows yet: its key, number and label are filled in there."""
    way = Circuit(id=UUID(int=0), way=0, phase="L1", version=1, label_found="")
    way.last_verification = None  # type: ignore[attr-defined]
    return _way(way, "") | {"tap": True, "what": ""}


def _noted(row: Board | Circuit) -> str:
    if not row.label_found or row.label_noted_on is None:
        return ""
    by = f" by {row.label_noted_by}" if row.label_noted_by else ""
    return f"label noted{by} on {day(row.label_noted_on)}"


def verification_lines(board: Board) -> list[str]:
    """What was verified at the board and its circuits, the latest first, what was taken back too. One statement."""
    rows = Verification.objects.filter(site=board.site_id).filter(board=board) | Verification.objects.filter(
        site=board.site_id, circuit__board=board
    )
    rows = rows.select_related("circuit", "by", "taken_back_by").order_by("-at", "-pk")
    return [_line(row) for row in rows[:HISTORY]]


def _line(row: Verification) -> str:
    what = f"way {row.circuit.way_name}" if row.circuit else "the board"
    was = f", before: {quoted(row.designation_before)}" if row.designation_before not in ("", row.designation) else ""
    by = f" by {row.by}" if row.by else ""
    later = f", on record since {when(row.at)}" if row.done_at else ""
    back = f"; taken back {when(row.taken_back_at)}" if row.taken_back_at else ""
    by_whom = f" by {row.taken_back_by}" if row.taken_back_at and row.taken_back_by else ""
    said = f"{what} is {row.designation}{by}, {row.get_how_display()}{was}{later}{back}{by_whom}"
    return f"{when(row.done_at or row.at)}: {said}"
