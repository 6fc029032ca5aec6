"""The supply drawing of a site, as SVG made by the server.

`draw` gives the picture, `drawing_list` the same facts as a nested list; `drawing.css` has the look. Only classes and
presentation attributes are used, so that the content policy and the dark scheme both hold.
"""

from .listing import drawing_list
from .svg import draw

__all__ = ["draw", "drawing_list"]
