"""What is asked about an isolation, and what is answered: plain values, all of them by the record."""

from dataclasses import dataclass
from typing import Literal

from .network import Spot, Switch

WorkKind = Literal["circuit", "inside", "supply"]
Why = Literal["own", "feed", "alternative", "candidate", "source", "other-end", "back-feed", "neutral"]
Reason = Literal["feed", "not-recorded", "source", "neutral", "joined-neutral", "link", "supply-side", "own-side"]
CautionKind = Literal[
    "name-believed",
    "no-point",
    "not-recorded",
    "single-pole",
    "poles-not-recorded",
    "no-device",
    "all-live",
    "not-all-live",
    "control",
    "switch-not-known",
    "no-switch",
    "lines-only",
    "switch-believed",
    "believed",
    "changes-over",
    "no-isolator",
]


@dataclass(frozen=True)
class Work:
    """Work on a circuit (`id` that of the circuit), inside a board, or on a board's supply side."""

    kind: WorkKind
    id: str


@dataclass(frozen=True)
class Point:
    """Where to switch off and lock, and why there."""

    switch: Switch
    why: tuple[Why, ...]


@dataclass(frozen=True)
class StaysLive:
    """What may stay live when all the points are off, or is so by its nature.

    `path` leads from the power to the nearest spot of the work that it reaches; `reaches` are all the spots of the work,
    and below it, that it reaches. `wait_minutes`: for stored charge.
    """

    reason: Reason
    path: tuple[Spot, ...]
    reaches: frozenset[Spot] = frozenset()
    wait_minutes: int | None = None

    @property
    def power(self) -> Spot:
        """Where the power comes from."""
        return self.path[0]


@dataclass(frozen=True)
class Caution:
    """Something to be said beside the answer, about the thing with this id."""

    kind: CautionKind
    about: str


@dataclass(frozen=True)
class Sure:
    """The first point upstream whose own feed is verified and that lies before every candidate.

    A board (switch off at its main switch, or where it is fed), or an origin: then only the network or meter operator.
    """

    board: str
    upstream: Spot


@dataclass(frozen=True)
class Isolation:
    """The answer. `dead`: what should go dead, by the record; never a claim that it is.

    `around`: the spots of the work, all below it, and what is joined to them. `loses`: what may lose its power.
    `no_point`: origins at which nothing of the customer's isolates.
    """

    works: tuple[Work, ...]
    points: tuple[Point, ...]
    dead: frozenset[Spot]
    live: tuple[StaysLive, ...]
    around: frozenset[Spot]
    loses: frozenset[Spot]
    no_point: tuple[str, ...]
    sure: tuple[Sure, ...]
    cautions: tuple[Caution, ...]
