"""Where a drawing that is taller than a sheet of paper is cut, so that no board lies on two sheets if that can be helped."""

from collections.abc import Iterable

from .boxes import GRID

LARGE = 1100  # wider than this in pixels, it takes paper lying across
# Of A4 with the print's margins 277 × 190 mm are left, either way; some of the height goes to the line above each part.
# A drawing is made smaller to fit the width, never larger: upright paper is 718 pixels wide.
ACROSS, UPRIGHT, UPRIGHT_WIDE = 0.58, 1.25, 718
LEAST = 0.5  # a part is at least this much of what goes on a sheet
FIRST = 0.75  # the head of the page stands above the first part


def tallest(wide: int) -> int:
    """How tall a part of a drawing may be, in pixels of the drawing, that is `wide`."""
    return int(wide * ACROSS if wide > LARGE else max(wide, UPRIGHT_WIDE) * UPRIGHT)


def parts(spans: Iterable[tuple[int, int]], top: int, bottom: int, wide: int) -> list[tuple[int, int]]:
    """The parts from `top` to `bottom` as (top, bottom), each no taller than a sheet on which the drawing is `wide`.

    `spans`: from where to where each box reaches. Cut is where the fewest boxes are, the lowest of such places. One part
    where all goes on one sheet.
    """
    boxes, whole = list(spans), tallest(wide)
    most = int(whole * FIRST)
    found: list[tuple[int, int]] = []
    while bottom - top > whole:
        first = (top + int(most * LEAST)) // GRID * GRID + GRID // 2
        places = range(first, top + most + 1, GRID)  # in the middle of a step: boxes begin and end on whole ones
        cut = min(places, key=lambda y: (sum(upper < y < lower for upper, lower in boxes), -y))
        found.append((top, cut))
        top, most = cut, whole
    return [*found, (top, bottom)]
