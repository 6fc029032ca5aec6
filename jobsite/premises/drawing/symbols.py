"""Graphical symbols after IEC 60617, drawn from memory of the standard; the words beside them carry the meaning.

Each is drawn around the middle of a 40-pixel square whose top left corner is the point 0, 0.
"""

ORIGIN = (
    '<circle class="symbol" cx="14" cy="20" r="13" fill="none"/>'
    '<path class="symbol" d="M6 20q4-9 8 0t8 0" fill="none"/>'
)
ORIGIN_OUT = 27  # where the line leaves it, from its left edge

_FRAME = (
    '<rect class="source" x="0.5" y="0.5" width="39" height="39" fill="none"/>'
    '<rect class="source" x="3.5" y="3.5" width="33" height="33" fill="none"/>'
)
# A cell: the long line is the positive pole.
_CELL = '<path class="symbol" d="M7 {y}H17M17 {a}V{b}M22 {c}V{d}M22 {y}H33" fill="none"/>'
# Photovoltaic cell: a cell, and two arrows of light falling on it.
_PV = (
    _CELL.format(y=26, a=18, b=34, c=22, d=30)
    + '<path class="symbol" d="M9 8l6 6m0-4v4h-4M18 8l6 6m0-4v4h-4" fill="none"/>'
)
# Battery: two cells and the broken line for those between.
_BATTERY = (
    '<path class="symbol" d="M6 20H11M11 12V28M15 16V24M15 20H17M19 20H21M23 20H25M25 12V28M29 16V24M29 20H34" '
    'fill="none"/>'
)
# Rotating generator: G in a circle, with the sign for alternating current.
_GENERATOR = (
    '<circle class="symbol" cx="20" cy="20" r="13" fill="none"/>'
    '<text class="letter" x="20" y="21" text-anchor="middle">G</text>'
    '<path class="symbol" d="M14 26q3-5 6 0t6 0" fill="none"/>'
)

_SOURCES = {"pv": _PV, "battery": _BATTERY, "generator": _GENERATOR, "wind": _GENERATOR}


def source_symbol(kind: str) -> str:
    """A second source in its double border; wind is a rotating generator, told apart by the words."""
    return _FRAME + _SOURCES[kind]


def code_shape(code: str, *, made_safe: bool) -> str:
    """The sign beside a code, 10 pixels high: triangle, outlined triangle, disc, padlock, or none."""
    if made_safe:
        return (
            '<path class="sign" d="M1 4.6h8V10H1Z"/>'
            '<path class="sign-line" d="M2.8 4.6V3a2.2 2.2 0 0 1 4.4 0v1.6" fill="none"/>'
        )
    return _SIGNS.get(code, "")


_SIGNS = {
    "C1": '<path class="sign" d="M5 0.5 9.8 9.5H.2Z"/>',
    "C2": '<path class="sign-line" d="M5 1.2 9.2 9H.8Z" fill="none"/>',
    "FI": '<circle class="sign" cx="5" cy="5" r="4.5"/>',
}
