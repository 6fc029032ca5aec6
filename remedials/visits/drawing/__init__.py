"""The diary as a drawing: engineers as rows, days as columns with hours. Values in, words out: no database, no request.

`layout` turns clock times into places, `sheet` says what is drawn, `svg` writes it. Only classes and presentation
attributes are used, so that the content policy, the dark scheme and the printer all hold.
"""

from remedials.visits.drawing.layout import Axis, Box, Grid, axis_for, lanes, part_on
from remedials.visits.drawing.sheet import Block, Cell, Drive, Gap, Sheet
from remedials.visits.drawing.svg import draw

__all__ = [
    "Axis",
    "Block",
    "Box",
    "Cell",
    "Drive",
    "Gap",
    "Grid",
    "Sheet",
    "axis_for",
    "draw",
    "lanes",
    "part_on",
]
