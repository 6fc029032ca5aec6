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

# What a person asked for, in the sentence that refuses it.
PASSIVE: dict[Move, str] = {
    M.SEND: "be sent",
    M.ANSWER: "be answered",
    M.TAKE_BACK: "have an answer taken back",
    M.SUPERSEDE: "be superseded",
    M.WITHDRAW: "be withdrawn",
}


def after(state: State, move: Move) -> State | None:
    """The state that `move` leads to from `state`; None where the table has no such move."""
    return MOVES.get((state, move))


def diagram() -> str:
    """The table as a Mermaid state diagram, for DEVELOPERS.md."""
    lines = ["stateDiagram-v2", "    direction LR"]
    lines += [f"    {state}: {WORDS[state]}" for state in State]
    lines += [f"    [*] --> {State.DRAFT}"]
    lines += [f"    {start} --> {end}: {move}" for (start, move), end in MOVES.items()]
    return "\n".join(lines)


class Standing(StrEnum):
    """How an offer stands to whoever looks at a list: its state, with what follows from its last day and its answers."""

    DRAFT = "draft"
    SENT = "sent"
    PARTLY = "partly"
    LAPSED = "lapsed"
    ANSWERED = "answered"
    SUPERSEDED = "superseded"
    WITHDRAWN = "withdrawn"


STANDING_WORDS: dict[Standing, str] = {
    **{Standing(state.value): words for state, words in WORDS.items()},
    Standing.PARTLY: "partly answered",
    Standing.LAPSED: "lapsed",
}
# Those in which the customer can still say yes.
STANDING_OPEN = (Standing.SENT, Standing.PARTLY)
