"""The states of an offer, which is one version of a quote, and the moves between them."""

from enum import StrEnum


class State(StrEnum):
    DRAFT = "draft"
    SENT = "sent"
    ANSWERED = "answered"
    SUPERSEDED = "superseded"
    WITHDRAWN = "withdrawn"


class Move(StrEnum):
    SEND = "send"
    ANSWER = "answer the last line"
    TAKE_BACK = "take an answer back"
    SUPERSEDE = "supersede"
    WITHDRAW = "withdraw"


S, M = State, Move

MOVES: dict[tuple[State, Move], State] = {
    (S.DRAFT, M.SEND): S.SENT,
    (S.SENT, M.ANSWER): S.ANSWERED,
    (S.ANSWERED, M.TAKE_BACK): S.SENT,
    (S.SENT, M.SUPERSEDE): S.SUPERSEDED,
    (S.SENT, M.WITHDRAW): S.WITHDRAWN,
}

# Whether an offer has lapsed is no state: it follows from its last day, without anybody doing anything.
WORDS: dict[State, str] = {
    S.DRAFT: "draft",
    S.SENT: "with the customer",
    S.ANSWERED: "answered",
    S.SUPERSEDED: "superseded",
    S.WITHDRAWN: "withdrawn",
}


def after(state: State, move: Move) -> State | None:
    """The state that `move` leads to from `state`; None where the table has no such move."""
    return MOVES.get((state, move))
