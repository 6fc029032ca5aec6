"""Who does things: a person, the clock, or the party behind a private link. All three can be a `by`."""

from typing import Protocol
from uuid import UUID


class Actor(Protocol):
    """What an operation needs to know of the one who acts."""

    @property
    def actor_kind(self) -> str:
        """ "person", "clock" or "link"."""

    @property
    def actor_id(self) -> UUID:
        """The key of the person or the link; the nil UUID for the clock."""

    def may(self, right: str) -> bool:
        """Whether this actor's roles carry `right` (a value of `people.rights.Right`)."""


class Clock:
    """The clock itself: sweeps and workers act in its name. It holds every right that an operation may ask it for."""

    actor_kind = "clock"
    actor_id = UUID(int=0)

    def may(self, right: str) -> bool:
        return True


CLOCK = Clock()
