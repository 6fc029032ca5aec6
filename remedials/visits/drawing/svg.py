"""The diary written as SVG."""

from collections.abc import Iterator

from jobsite.premises.drawing.symbols import code_shape
from jobsite.premises.drawing.text import safe, shorten, width, wrap
from remedials.visits.drawing.layout import HOUR, Box, Grid, placed
from remedials.visits.drawing.sheet import Block, Cell, Drive, Gap, Sheet

SMALL, LINE = 11, 13
PANEL = {"C1": 34, "C2": 34, "C3": 22, "FI": 32}
EDGE = 3.0  # between words and the edge of their block
OFF = "power off"


def draw(sheet: Sheet, grid: Grid, *, prefix: str = "diary") -> str:
    """The drawing as one <svg> at fixed scale: a unit is a CSS pixel."""
    last = grid.cell(max(len(sheet.rows) - 1, 0), max(len(sheet.columns) - 1, 0))
    wide, tall = last.x + last.width + 1, last.y + last.height + 1
    named, described = f"{prefix}-title", f"{prefix}-desc"
    across = ' data-across=""' if grid.across else ""
    head = (
        f'<svg class="drawing diary" xmlns="http://www.w3.org/2000/svg" width="{wide:g}" height="{tall:g}" '
        f'viewBox="0 0 {wide:g} {tall:g}" role="group" aria-labelledby="{named}" aria-describedby="{described}" '
        f'data-diary="" data-first="{grid.axis.first}" data-last="{grid.axis.last}" data-pad="{grid.pad:g}"'
        f"{across}>"
        f'<title id="{named}">{safe(sheet.title)}</title><desc id="{described}">{safe(sheet.description)}</desc>'
    )
    return "".join((head, *_heads(sheet, grid), *_names(sheet, grid), *_cells(sheet, grid), "</svg>"))


def _heads(sheet: Sheet, grid: Grid) -> Iterator[str]:
    for column, (day, note) in enumerate(sheet.columns):
        box = grid.cell(0, column)
        css = "name now" if column == sheet.today else "name"
        yield f'<text class="{css}" x="{box.x + grid.pad:g}" y="14" aria-hidden="true">{safe(day)}</text>'
        if note:
            at = box.x + grid.pad + width(day, 13, bold=True) + 6
            room = box.x + box.width - at
            yield f'<text class="place" x="{at:g}" y="14" aria-hidden="true">{safe(shorten(note, room, SMALL))}</text>'
        if grid.across:
            for hour in grid.axis.hours:
                x = box.x + grid.pad + grid.axis.at(hour)
                yield f'<text class="place" x="{x:g}" y="{grid.head - 4:g}" aria-hidden="true">{_clock(hour)}</text>'


def _names(sheet: Sheet, grid: Grid) -> Iterator[str]:
    for row, name in enumerate(sheet.rows):
        box = grid.cell(row, 0)
        for n, line in enumerate(wrap(name, grid.names - 4, 12, bold=True)):
            yield f'<text class="who" x="2" y="{box.y + 14 + n * 15:g}" aria-hidden="true">{safe(line)}</text>'
        if not grid.across:
            for hour in grid.axis.hours[3::2]:
                y = box.y + grid.pad + grid.axis.at(hour) + 4
                yield f'<text class="place hour" x="{grid.names - 4:g}" y="{y:g}" aria-hidden="true">{_clock(hour)}</text>'


def _clock(minute: int) -> str:
    return f"{minute // HOUR:02}:{minute % HOUR:02}"


def _cells(sheet: Sheet, grid: Grid) -> Iterator[str]:
    for row, cells in enumerate(sheet.cells):
        for column, cell in enumerate(cells):
            yield from _cell(cell, grid, row, column, now=column == sheet.today)


def _cell(cell: Cell, grid: Grid, row: int, column: int, *, now: bool) -> Iterator[str]:
    box = grid.cell(row, column)
    about = f'data-cell="" data-engineer="{safe(cell.engineer)}" data-day="{safe(cell.day)}" data-label="{safe(cell.label)}"'
    yield f"<g {about}>{_rect(box, 'cell now' if now else 'cell')}"
    yield from _shade(cell, grid, row, column)
    for gap in cell.gaps:
        yield _gap(gap, grid, row, column)
    for drive in cell.drives:
        yield from _drive(drive, grid, row, column)
    blocks = sorted(cell.blocks, key=lambda block: (block.start, block.end, block.key))
    places = placed([(block.start, block.end) for block in blocks], grid.axis)
    for block, (extent, (lane, of)) in zip(blocks, places, strict=True):
        yield _block(block, grid.block(row, column, extent, lane, of))
    yield "</g>"


def _shade(cell: Cell, grid: Grid, row: int, column: int) -> Iterator[str]:
    """The hours that nobody works, shaded; the reason in words where it is more than the usual."""
    axis = grid.axis
    works = cell.works or (axis.last, axis.last)
    for start, end in ((axis.first, works[0]), (works[1], axis.last)):
        if axis.at(end) > axis.at(start):
            yield _rect(grid.block(row, column, (axis.at(start), axis.at(end))), "shut")
    if cell.away:
        box = grid.cell(row, column)
        words = safe(shorten(cell.away, box.width - 12, SMALL))
        yield f'<text class="away" x="{box.x + 6:g}" y="{box.y + box.height - 8:g}">{words}</text>'


def _gap(gap: Gap, grid: Grid, row: int, column: int) -> str:
    box = grid.block(row, column, grid.axis.extent(gap.start, gap.end))
    return (
        f'<a class="free" href="{safe(gap.href)}" aria-label="{safe(gap.words)}">'
        f"<title>{safe(gap.words)}</title>{_rect(box, 'gap')}</a>"
    )


def _drive(drive: Drive, grid: Grid, row: int, column: int) -> Iterator[str]:
    """A line as long as the driving takes, up to where the next visit begins; its minutes beside it where there is room."""
    start, end = grid.axis.at(max(drive.start, drive.end - drive.minutes)), grid.axis.at(drive.end)
    if end <= start:
        return
    box = grid.block(row, column, (start, end))
    yield f'<g class="{"drive short" if drive.short else "drive"}"><title>{safe(drive.words)}</title>'
    x, y = box.x + box.width - 8, box.y + box.height / 2
    room = box.width if grid.across else grid.breadth / 2
    words = [f"{drive.minutes} min", f"{drive.minutes}"]
    if drive.short:
        words = [f"{one} short" for one in words] + words
    shown = next((one for one in words if width(one, SMALL) <= room), "")
    if grid.across:
        yield f'<path d="M{box.x:g} {y:g}h{box.width:g}"/>'
        yield f'<text class="place" x="{box.x + box.width - 2:g}" y="{y - 5:g}">{safe(shown)}</text>'
    else:
        yield f'<path d="M{x:g} {box.y:g}v{box.height:g}"/>'
        if box.height >= SMALL - 1:
            yield f'<text class="place" x="{x - 5:g}" y="{y + 4:g}">{safe(shown)}</text>'
    yield "</g>"


def _block(block: Block, box: Box) -> str:
    css = " ".join(["visit", *(name for name in ("earlier", "later", "proposed") if getattr(block, name))])
    data = "".join(f' data-{name}="{safe(value)}"' for name, value in (block.moves or {}).items())
    inner = Box(box.x + 1, box.y + 0.5, box.width - 2, box.height - 1)
    return (
        f'<a class="{css}" href="{safe(block.href)}" aria-label="{safe(block.words)}" data-visit="{safe(block.key)}"{data}>'
        f"<title>{safe(block.words)}</title>{_rect(inner, 'block')}{''.join(_inside(block, inner))}</a>"
    )


def _inside(block: Block, box: Box) -> Iterator[str]:
    """The words of a block: times, danger and outage on the first line, the site on the second; one line where it is low."""
    x, y, right = box.x + EDGE, box.y + 10.5, box.x + box.width - EDGE
    if block.code in PANEL and box.width > PANEL[block.code] + 2 * EDGE:
        right -= PANEL[block.code]
        yield _mark(block, right, box.y + 1)
        right -= 3
    low, tall = box.height < 2 * LINE, box.height >= 3 * LINE
    times, off = _first_line(block, right - x, low=low, tall=tall)
    if not times:
        return
    yield f'<text class="times" x="{x:g}" y="{y:g}">{safe(times)}</text>'
    after = x + width(times, SMALL, bold=True) + 4
    if off:
        yield f'<text class="off" x="{after:g}" y="{y:g}">{off}</text>'
        after += width(off, SMALL, bold=True) + 4
    if low:
        yield from _words(block.site, after, y, right)
    else:
        yield from _words(block.site, x, y + LINE, box.x + box.width - EDGE)
    if tall and block.off:
        yield f'<text class="off" x="{x:g}" y="{y + 2 * LINE:g}">{OFF}</text>'


def _first_line(block: Block, room: float, *, low: bool, tall: bool) -> tuple[str, str]:
    """The times and the sign of an outage, as much of both as fits: the sign is never left out for the end of the times.

    A `tall` block has a line of its own for the sign.
    """
    start = block.times.split("–", maxsplit=1)[0]
    signs = (("off",) if low else (OFF, "off")) if block.off and not tall else ("",)
    for sign in signs:
        for times in (start,) if low else (block.times, start):
            taken = width(times, SMALL, bold=True) + (width(sign, SMALL, bold=True) + 4 if sign else 0)
            if taken <= room:
                return times, sign
    return (start, "") if width(start, SMALL, bold=True) <= room else ("", "")


def _words(text: str, x: float, y: float, right: float) -> Iterator[str]:
    if right - x >= 2 * SMALL:
        yield f'<text class="site" x="{x:g}" y="{y:g}">{safe(shorten(text, right - x, SMALL))}</text>'


def _mark(block: Block, x: float, y: float) -> str:
    """The panel of a code with its letters always, and its sign: the same as on the supply drawing."""
    shape = code_shape(block.code, made_safe=block.held)
    css = f"{block.code.lower()} held" if block.held else block.code.lower()
    sign = f'<g transform="translate({x + 2.5:g} {y + 1.5:g})">{shape}</g>' if shape else ""
    return (
        f'<g class="mark {css}"><rect class="panel" x="{x:g}" y="{y:g}" width="{PANEL[block.code] - 1}" height="13" rx="2"/>'
        f'{sign}<text class="code" x="{x + (15 if shape else 3):g}" y="{y + 10.5:g}">{block.code}</text></g>'
    )


def _rect(box: Box, css: str) -> str:
    return f'<rect class="{css}" x="{box.x:g}" y="{box.y:g}" width="{box.width:g}" height="{box.height:g}"/>'
