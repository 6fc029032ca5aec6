"""How boxes are written as SVG: origins, boards with their open items, second sources."""

from collections.abc import Iterator

from jobsite.premises.graph import Mark
from jobsite.premises.supply_words import CODE_ORDER

from .boxes import GRID, PANEL_GAP, PANEL_PAD, Box, panel_width, panel_words, words_at
from .symbols import ORIGIN, code_shape, source_symbol
from .text import safe


def face(box: Box, x: int, id_: str, hatch: str) -> Iterator[str]:
    """A box at its place, with all its words in full as its title; a link where it has a page.

    `hatch`: id of the pattern with which a box is filled that should go dead.
    """
    tag, href = ("a", f' href="{safe(box.href)}"') if box.href else ("g", "")
    states = {"retired": box.retired, "dead": box.dead, "live": box.live}
    kind = " ".join((f"{box.kind}-box", *(name for name, holds in states.items() if holds)))
    yield f'<{tag}{href} id="{id_}" class="{kind}" transform="translate({x} {box.top})">'
    yield f"<title>{safe(box.title)}</title>"
    if box.dead:
        yield f'<rect class="hatched" width="{box.width}" height="{box.height}" fill="url(#{hatch})"/>'
    yield from _FACES[box.kind](box)
    yield f"</{tag}>"


def _words(box: Box, first: int) -> Iterator[str]:
    for row, line in enumerate(box.lines):
        words = safe(line.shortened(box.room))
        yield f'<text class="{line.style}" x="{box.indent}" y="{first + 16 * row}">{words}</text>'


def _origin(box: Box) -> Iterator[str]:
    yield ORIGIN
    yield from _words(box, 50)


def _source(box: Box) -> Iterator[str]:
    yield source_symbol(box.symbol)
    yield from _words(box, 13)


def _board(box: Box) -> Iterator[str]:
    yield f'<rect class="board" width="{box.width}" height="{box.height}"/>'
    yield from _words(box, 17)
    y = box.height - GRID * len(box.panels) - 1
    for row in box.panels:
        x = box.indent
        for mark in row:
            yield _panel(mark, x, y)
            x += panel_width(mark) + PANEL_GAP
        y += GRID


def _panel(mark: Mark, x: int, y: int) -> str:
    wide = panel_width(mark)
    code = mark.code.lower() if mark.code in CODE_ORDER else "other"
    held = " held" if mark.made_safe else ""
    start = words_at(mark)
    words = safe(panel_words(mark).shortened(wide - start - PANEL_PAD))
    return (
        f'<g class="mark {code}{held}" transform="translate({x} {y})"><rect class="panel" width="{wide}" height="16"/>'
        f'<g transform="translate(5 3)">{code_shape(mark.code, made_safe=mark.made_safe)}</g>'
        f'<text class="code" x="{start}" y="12">{words}</text></g>'
    )


_FACES = {"origin": _origin, "board": _board, "source": _source}
