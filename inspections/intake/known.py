"""What the site already has: the names that a file's rows may refer to, and the nearest ones where they don't."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from .cells import fold
from .trouble import Unfit
from .ways import LINES, THREE, Way

MOST_LIKENED = 300
"""Comparing names is slow; beyond this many names or misses, near ones aren't looked for."""


@dataclass(frozen=True, slots=True)
class KnownBoard:
    """A board on record, with its phases and the ways that have a circuit."""

    name: str
    phases: tuple[str, ...] = LINES
    ways: frozenset[Way] = frozenset()


@dataclass(frozen=True, slots=True)
class KnownSupply:
    """A supply on record."""

    name: str
    phases: tuple[str, ...] = LINES


@dataclass(frozen=True, slots=True)
class KnownSite:
    """What is on record of the site that a file is for."""

    boards: tuple[KnownBoard, ...] = ()
    supplies: tuple[KnownSupply, ...] = (KnownSupply("Supply"),)


class Names:
    """Finds a name as it is spelt elsewhere, whatever its case, spaces and punctuation."""

    def __init__(self, names: Iterable[str]) -> None:
        self._by_fold = {fold(name): name for name in names}
        self._misses: dict[str, str] = {}

    def find(self, said: str) -> str | None:
        """The name as it is on record, or None."""
        return self._by_fold.get(fold(said))

    def near(self, said: str) -> str:
        """What is expected in place of an unknown name: the names most like it, else the first few there are."""
        folded = fold(said)
        if folded not in self._misses:
            self._misses[folded] = self._look_near(folded)
        return self._misses[folded]

    def _look_near(self, folded: str) -> str:
        if not self._by_fold:
            return "no board is known yet: take in the boards first, or add a sheet of them"
        close: list[str] = []
        if max(len(self._misses), len(self._by_fold)) < MOST_LIKENED:
            close = get_close_matches(folded, self._by_fold, n=3, cutoff=0.6)
        if close:
            return "did you mean " + " or ".join(f"“{self._by_fold[name]}”" for name in close) + "?"
        some = list(self._by_fold.values())[:5]
        return "one of " + ", ".join(f"“{name}”" for name in some) + (" …" if len(self._by_fold) > 5 else "")


def find_way(asked: Way, ways: Iterable[Way], board: str) -> Way:
    """The way on record that `asked` means; its phase may be left unsaid where only one circuit has the number."""
    numbered = sorted(way for way in ways if way.number == asked.number)
    exact = [way for way in numbered if way.phase == asked.phase]
    if exact or (len(numbered) == 1 and not asked.phase):
        return (exact or numbered)[0]
    if len(numbered) == 1 and numbered[0].phase == THREE:
        raise Unfit(f"way {asked} of “{board}” is a three-phase circuit.", f"{asked.number}, without a phase")
    if numbered:
        raise Unfit(f"“{board}” has no way {asked}.", " or ".join(map(str, numbered)))
    have = sorted(set(ways))
    some = ", ".join(map(str, have[:8])) + (" …" if len(have) > 8 else "")
    raise Unfit(
        f"“{board}” has no way {asked}.",
        f"one of its ways {some}" if have else "a way that is listed among its circuits",
    )
