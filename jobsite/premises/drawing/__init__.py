"""The supply drawing of a site, as SVG made by the server.

`draw` gives the picture, `drawing_list` the same facts as a nested list, and `drawing_parts` all that the fragment
`premises/_drawing.html` shows; `drawing.css` has the look. Only classes and presentation attributes are used, so that
the content policy and the dark scheme both hold.
"""

from jobsite.premises.graph import Marks, SupplyGraph
from jobsite.premises.supply_words import key, summary

from .listing import drawing_list, nested
from .overlay import NOTHING, Overlay, overlay
from .svg import draw, draw_for_paper

__all__ = ["NOTHING", "Overlay", "draw", "draw_for_paper", "drawing_list", "drawing_parts", "nested", "overlay"]

OVERLAY_KEY = (
    "Grey hatching: should go dead, by the record.",
    "Thick red line and red words: may stay live.",
)


def drawing_parts(
    graph: SupplyGraph, marks: Marks | None = None, title: str = "How it is supplied", over: Overlay = NOTHING
) -> dict[str, object]:
    """Ready strings for the fragment: `svg`, `paper` (its parts where it is taller than a sheet), `list`, `key` (sentences)
    and `title`; `over`: an isolation laid over it."""
    svg, paper = draw_for_paper(graph, marks, title, summary(graph), over=over)
    return {
        "svg": svg,
        "paper": paper,
        "list": drawing_list(graph, marks, over),
        "key": (*(OVERLAY_KEY if over is not NOTHING else ()), *key(graph)),
        "title": title,
    }
