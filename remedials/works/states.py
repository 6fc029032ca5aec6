"""The stages of a remedial and the moves between them: the one table that decides what may happen next."""

from enum import StrEnum


class Stage(StrEnum):
    TO_PRICE = "to-price"
    QUOTED = "quoted"
    APPROVED = "approved"
    BOOKED = "booked"
    DONE = "done"
    REVIEWED = "reviewed"
    DECLINED = "declined"
    CANCELLED = "cancelled"
    BY_OTHERS = "by-others"


class Move(StrEnum):
    QUOTE = "quote"
    REVISE = "revise quote"
    APPROVE = "approve"
    BOOK = "book"
    UNBOOK = "cancel visit"
    CLOSE = "close with proof"
    PART_DONE = "part done"
    REVIEW = "review"
    SEND_BACK = "send back"
    REOPEN = "reopen"
    DECLINE = "decline"
    OFFER_AGAIN = "offer again"
    CANCEL = "cancel"
    TAKE_OVER = "done by others"
    TAKE_BACK = "take an answer back"


S, M = Stage, Move

MOVES: dict[tuple[Stage, Move], Stage] = {
    (S.TO_PRICE, M.QUOTE): S.QUOTED,
    (S.QUOTED, M.REVISE): S.TO_PRICE,
    (S.TO_PRICE, M.APPROVE): S.APPROVED,
    (S.QUOTED, M.APPROVE): S.APPROVED,
    (S.APPROVED, M.BOOK): S.BOOKED,
    (S.BOOKED, M.BOOK): S.BOOKED,
    (S.BOOKED, M.UNBOOK): S.APPROVED,
    (S.BOOKED, M.PART_DONE): S.APPROVED,
    (S.BOOKED, M.CLOSE): S.DONE,
    (S.APPROVED, M.CLOSE): S.DONE,
    (S.DONE, M.REVIEW): S.REVIEWED,
    (S.DONE, M.SEND_BACK): S.APPROVED,
    (S.DONE, M.REOPEN): S.APPROVED,
    (S.REVIEWED, M.REOPEN): S.APPROVED,
    (S.TO_PRICE, M.DECLINE): S.DECLINED,
    (S.QUOTED, M.DECLINE): S.DECLINED,
    (S.APPROVED, M.DECLINE): S.DECLINED,
    (S.DECLINED, M.OFFER_AGAIN): S.TO_PRICE,
    (S.TO_PRICE, M.CANCEL): S.CANCELLED,
    (S.QUOTED, M.CANCEL): S.CANCELLED,
    (S.APPROVED, M.CANCEL): S.CANCELLED,
    (S.BOOKED, M.CANCEL): S.CANCELLED,
    (S.APPROVED, M.TAKE_BACK): S.QUOTED,
    (S.DECLINED, M.TAKE_BACK): S.QUOTED,
    (S.TO_PRICE, M.TAKE_OVER): S.BY_OTHERS,
    (S.QUOTED, M.TAKE_OVER): S.BY_OTHERS,
    (S.APPROVED, M.TAKE_OVER): S.BY_OTHERS,
    (S.DECLINED, M.TAKE_OVER): S.BY_OTHERS,
    (S.BY_OTHERS, M.REOPEN): S.TO_PRICE,
    (S.CANCELLED, M.REOPEN): S.TO_PRICE,
}

WORDS: dict[Stage, str] = {
    S.TO_PRICE: "to price",
    S.QUOTED: "quoted",
    S.APPROVED: "approved",
    S.BOOKED: "booked",
    S.DONE: "done",
    S.REVIEWED: "reviewed",
    S.DECLINED: "declined",
    S.CANCELLED: "cancelled",
    S.BY_OTHERS: "done by others",
}

# What a person asked for, in the sentence that refuses it.
PASSIVE: dict[Move, str] = {
    M.QUOTE: "be quoted",
    M.REVISE: "have its quote revised",
    M.APPROVE: "be approved",
    M.BOOK: "be booked",
    M.UNBOOK: "be taken off a visit",
    M.CLOSE: "be closed",
    M.PART_DONE: "be part done",
    M.REVIEW: "have its proof accepted",
    M.SEND_BACK: "be sent back",
    M.REOPEN: "be reopened",
    M.DECLINE: "be declined",
    M.OFFER_AGAIN: "be offered again",
    M.CANCEL: "be cancelled",
    M.TAKE_OVER: "be done by others",
    M.TAKE_BACK: "have its answer taken back",
}

# A remedial in one of these carries the next step of its observations.
CARRYING = frozenset({S.TO_PRICE, S.QUOTED, S.APPROVED, S.BOOKED, S.DONE})
# The work itself is still to be done.
TO_DO = CARRYING - {S.DONE}


def after(stage: Stage, move: Move) -> Stage | None:
    """The stage that `move` leads to from `stage`; None where the table has no such move."""
    return MOVES.get((stage, move))


def moves_from(stage: Stage) -> list[Move]:
    """The moves that the table allows from `stage`, in its order."""
    return [move for (start, move) in MOVES if start == stage]


def starts_of(move: Move) -> list[Stage]:
    """The stages from which the table allows `move`, in its order."""
    return [start for (start, allowed) in MOVES if allowed == move]


def diagram() -> str:
    """The table as a Mermaid state diagram, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", "    direction LR"]
    lines += [f"    {_node(stage)}: {WORDS[stage]}" for stage in Stage]
    lines += [f"    [*] --> {_node(Stage.TO_PRICE)}"]
    lines += [f"    {_node(start)} --> {_node(end)}: {move}" for (start, move), end in MOVES.items()]
    return "\n".join(lines)


def _node(stage: Stage) -> str:
    return stage.replace("-", "_")
