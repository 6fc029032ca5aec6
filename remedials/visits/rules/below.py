"""What is below what in a supply: which live tests lie below a lock-off, which boards an outage takes along."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from uuid import UUID

from jobsite.premises.graph import led_to


@dataclass(frozen=True)
class Fed:
    """That `child` is fed, or may be fed, by the circuit `circuit` of `board`."""

    board: UUID
    child: UUID
    circuit: UUID


@dataclass(frozen=True)
class LockOff:
    """What is locked off: a whole board, or one circuit of it; in words."""

    words: str
    board: UUID | None
    circuit: UUID | None = None


def boards_below(boards: Iterable[UUID], feeds: Iterable[Fed]) -> set[UUID]:
    """`boards` and every board that any feed leads to from them, whichever way it is switched now."""
    steps = [(str(feed.board), str(feed.child)) for feed in feeds]
    return {UUID(key) for key in led_to([str(board) for board in boards], steps)}


def below_lock(lock: LockOff, tested: Collection[tuple[UUID, UUID]], feeds: Collection[Fed]) -> bool:
    """Whether any of `tested` (circuit, its board) may be dead by `lock`: whatever feed could reach it counts."""
    if lock.board is None:
        return False
    if lock.circuit is None:
        return any(board in boards_below([lock.board], feeds) for _, board in tested)
    below = boards_below([feed.child for feed in feeds if feed.circuit == lock.circuit], feeds)
    return any(circuit == lock.circuit or board in below for circuit, board in tested)
