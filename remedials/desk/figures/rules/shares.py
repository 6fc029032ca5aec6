"""Shares of few: what a part of a whole says, and how little of ten. Pure."""

from dataclasses import dataclass
from math import sqrt

FEW = 10
"""Below so many cases no share is shown: one more or less would move it by ten percent or more. Our own choice."""
Z95 = 1.959963984540054


@dataclass(frozen=True)
class Share:
    """`part` of `whole`, in whole percent with the range that the chance of so few cases leaves; None of too few."""

    part: int
    whole: int

    @property
    def percent(self) -> int | None:
        """To the nearest whole, half to even; None below `FEW`."""
        return round(100 * self.part / self.whole) if self.whole >= FEW else None

    @property
    def low(self) -> int | None:
        """The lower end of the range of 95 %, in whole percent."""
        return None if self.percent is None else round(100 * wilson(self.part, self.whole)[0])

    @property
    def high(self) -> int | None:
        """The upper end of it."""
        return None if self.percent is None else round(100 * wilson(self.part, self.whole)[1])

    @property
    def remark(self) -> str:
        """What is to be said beside it where it says nothing."""
        return "" if self.percent is not None else "too few to say" if self.whole else "none"


def wilson(part: int, whole: int, *, z: float = Z95) -> tuple[float, float]:
    """The range, 0 to 1, in which the true share lies by Wilson's score interval (1927, from memory), `z` wide.

    Raises ValueError without a whole, or where the part is none of it.
    """
    if not 0 <= part <= whole or whole == 0:
        raise ValueError(f"{part} is no part of {whole}")
    share, squared = part / whole, z * z
    middle = share + squared / (2 * whole)
    spread = z * sqrt(share * (1 - share) / whole + squared / (4 * whole * whole))
    scale = 1 + squared / whole
    return max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale)
