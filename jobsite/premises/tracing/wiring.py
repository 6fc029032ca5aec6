"""What is known and what is not of how boards are fed, and what was seen when something was switched off. Values only.

Ids are strings, unique over boards and over devices of one wiring. Nothing here says that anything is dead: a test says
what somebody saw, and the rest follows from the record.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Device:
    """What can be switched off: the device of a circuit on `board`, or the customer's isolator of a supply (`board` None).

    `also_fed_from`: other circuits that, by the record, feed what this one feeds. `keep`: the load on this very circuit
    that must not lose power, in words.
    """

    id: str
    board: str | None = None
    also_fed_from: tuple[str, ...] = ()
    keep: str = ""


@dataclass(frozen=True)
class Board:
    """A board and every device that its normal feed may come from; one candidate: known, none: nobody knows any.

    `other_feeds` are devices of alternative feeds, `sources` says that it may stay alive by a second source, here or at a
    board that it feeds, since power can come back up; `stand_by` that one here takes the place of the normal feed (a
    generator), so that the board can be without either.
    """

    id: str
    candidates: tuple[str, ...] = ()
    verified: bool = False
    other_feeds: tuple[str, ...] = ()
    sources: bool = False
    stand_by: bool = False
    circuits: int = 0


@dataclass(frozen=True)
class Switching:
    """One switching test: `off` was switched off alone, and these boards were seen dead, those alive.

    `others_off`: second sources and other feeds were switched off as well, changeovers stood on the normal feed.
    """

    id: str
    off: str
    dead: frozenset[str] = frozenset()
    alive: frozenset[str] = frozenset()
    others_off: bool = False


@dataclass(frozen=True)
class Wiring:
    """One site's boards and devices. Raises ValueError, naming the culprit, where a reference leads nowhere."""

    boards: tuple[Board, ...] = ()
    devices: tuple[Device, ...] = ()
    at: dict[str, Board] = field(init=False, repr=False, compare=False)
    device: dict[str, Device] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", {board.id: board for board in self.boards})
        object.__setattr__(self, "device", {device.id: device for device in self.devices})
        if len(self.at) != len(self.boards) or len(self.device) != len(self.devices):
            raise ValueError("An id stands for two things in this wiring.")
        named = {d for board in self.boards for d in (*board.candidates, *board.other_feeds)}
        named |= {d for device in self.devices for d in device.also_fed_from}
        if stray := named - set(self.device):
            raise ValueError(f"No such device in this wiring: {min(stray)}.")
        if stray := {d.board for d in self.devices if d.board is not None} - set(self.at):
            raise ValueError(f"No such board in this wiring: {min(stray)}.")

    @property
    def unknown(self) -> tuple[Board, ...]:
        """The boards with more than one candidate."""
        return tuple(board for board in self.boards if len(board.candidates) > 1)
