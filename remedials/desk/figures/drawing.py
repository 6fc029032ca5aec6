"""Drawings of figures: bars in rows, and the curve of time to remedy. Server-made SVG with classes, no style in it.

Each says what it shows in a title and a description, stands beside a table with the same facts, and is told apart by shape,
not by colour: filled and outlined bars, a line in a band with edges.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from django.utils.safestring import SafeString, mark_safe

from remedials.desk.figures.rules.survival import Step

WIDTH, ROW, LABEL, LONGEST = 344, 22, 144, 74
"""Of bars, in units of the drawing: the whole, the height of a row, the room for labels, the longest bar."""


@dataclass(frozen=True)
class Bar:
    """A row: its label, the part that is drawn filled, the part that is drawn outlined, the words at its end."""

    label: str
    filled: int
    outlined: int
    words: str

    @property
    def all(self) -> int:
        """Both parts."""
        return self.filled + self.outlined


def bars(title: str, rows: Iterable[Bar], *, most: int, head: str, css: str = "none") -> SafeString:
    """`rows` as bars on one scale, of which `most` has the full length. `title`: all of it in a sentence; `head`: above it."""
    rows = list(rows)
    drawn = [_bar(at, row, most) for at, row in enumerate(rows)]
    told = "; ".join(f"{row.label}: {row.words}" for row in rows)
    head_line = f'<text class="head" x="0" y="15">{escape(head)}</text>'
    height = ROW * (len(rows) + 1) + 2
    return _svg(f"bars {css}", WIDTH, height, title, told, [head_line, *drawn])


def _bar(at: int, row: Bar, most: int) -> str:
    top = ROW * (at + 1)
    filled, outlined = (_length(part, most) for part in (row.filled, row.outlined))
    parts = [f'<text x="0" y="{top + 15}">{escape(row.label)}</text>']
    if row.filled:
        parts.append(f'<rect class="part" x="{LABEL}" y="{top + 4}" width="{filled}" height="14"/>')
    if row.outlined:
        parts.append(f'<rect class="past" x="{LABEL + filled}" y="{top + 4}" width="{outlined}" height="14"/>')
    end = round(LABEL + filled + outlined + 5, 1)
    parts.append(f'<text class="count" x="{end}" y="{top + 15}">{escape(row.words)}</text>')
    return "".join(parts)


def _length(part: int, most: int) -> float:
    """Of a part in proportion; what is there at all can be seen."""
    return max(round(LONGEST * part / most, 1), 2.0) if part and most else 0.0


LEFT, RIGHT, TOP, BOTTOM, HIGH = 46, 330, 30, 190, 218
"""Of the curve: where its field begins and ends, and the height of the whole."""
MOST_TICKS = 60


def curve(
    title: str, told: str, steps: Sequence[Step], *, head: str, until: int, last: int, open_on: Iterable[int],
    css: str = "none", few_from: int = 0, limit: int | None = None,
) -> SafeString:  # fmt: skip
    """The share that is not remedied yet by days, from 0 to `until`, drawn up to `last`, the longest that any item was seen.

    `open_on`: after how many days items that are still open were seen last, each a tick. `few_from`: the day from which it rests
    on few, and is dashed. `limit`: the firm's own limit in days.
    """
    last = min(last, until)
    points = [(0, 1.0), *((step.day, step.share) for step in steps if step.day <= last)]
    inside = [step for step in steps if step.low is not None and step.day <= last]
    parts = [*_grid(until), *_band(inside, steps, last, until)]
    if limit is not None and limit <= until:
        at = _x(limit, until)
        parts.append(f'<line class="limit" x1="{at}" x2="{at}" y1="{TOP}" y2="{BOTTOM}"/>')
    parts += _line(points, last, few_from, until)
    parts += _ticks(points, open_on, last, until)
    head_line = f'<text class="head" x="0" y="14">{escape(head)}</text>'
    return _svg(f"curve-of {css}", WIDTH, HIGH, title, told, [head_line, *parts])


def _grid(until: int) -> list[str]:
    parts = []
    for percent in (0, 50, 100):
        y = _y(percent / 100)
        parts.append(f'<line class="axis" x1="{LEFT}" x2="{RIGHT}" y1="{y}" y2="{y}"/>')
        parts.append(f'<text x="{LEFT - 4}" y="{y + 4}" text-anchor="end">{percent} %</text>')
    for days, words in (
        (0, "0"),
        *((until * n // 4, str(until * n // 4)) for n in (1, 2)),
        (until, f"{until} days"),
    ):
        anchor = "end" if days == until else "middle"
        parts.append(
            f'<line class="axis" x1="{_x(days, until)}" x2="{_x(days, until)}" y1="{BOTTOM}" y2="{BOTTOM + 4}"/>'
        )
        parts.append(f'<text x="{_x(days, until)}" y="{BOTTOM + 18}" text-anchor="{anchor}">{words}</text>')
    return parts


def _band(inside: Sequence[Step], steps: Sequence[Step], last: int, until: int) -> list[str]:
    """The band as an area with its edges; it ends where nothing is left and there is none."""
    if not inside:
        return []
    end = next((step.day for step in steps if step.low is None and step.day > inside[0].day), last)
    high = _corners([(step.day, step.high or 0.0) for step in inside], min(end, last), until)
    low = _corners([(step.day, step.low or 0.0) for step in inside], min(end, last), until)
    return [f'<path class="band" d="M{"L".join([*high, *reversed(low)])}Z"/>']


def _corners(points: Sequence[tuple[int, float]], last: int, until: int) -> list[str]:
    found, before = [], None
    for day, share in _thinned(points, until):
        if before is not None:
            found.append(f"{_x(day, until)} {_y(before)}")
        found.append(f"{_x(day, until)} {_y(share)}")
        before = share
    return [*found, f"{_x(last, until)} {_y(before or 0.0)}"]


def _thinned(points: Sequence[tuple[int, float]], until: int) -> list[tuple[int, float]]:
    """The first, and of those that fall on the same place of the axis the last."""
    return [*points[:1], *{round(_x(day, until)): (day, share) for day, share in points[1:]}.values()]


def _line(points: Sequence[tuple[int, float]], last: int, few_from: int, until: int) -> list[str]:
    """The curve itself, and what of it rests on few."""
    turn = min(few_from, last)
    many = [point for point in points if point[0] < turn] or points[:1]
    few = [(turn, many[-1][1]), *(point for point in points if point[0] >= turn)]
    drawn = [("curve", _corners(many, turn, until))] if turn else []
    drawn += [("curve few", _corners(few, last, until))] if turn < last else []
    return [f'<path class="{css}" d="M{"L".join(corners)}"/>' for css, corners in drawn]


def _ticks(points: Sequence[tuple[int, float]], open_on: Iterable[int], last: int, until: int) -> list[str]:
    """A tick on the curve for each day after which items that are still open were seen last; thinned where they crowd."""
    places = {round(_x(day, until) / (RIGHT - LEFT) * MOST_TICKS): day for day in sorted(open_on) if day <= last}
    days = [day for day, _ in points]
    marks = [(_x(day, until), _y(points[bisect_right(days, day) - 1][1])) for day in places.values()]
    return [f'<line class="tick" x1="{x}" x2="{x}" y1="{round(y - 4, 1)}" y2="{round(y + 4, 1)}"/>' for x, y in marks]


def _x(day: int, until: int) -> float:
    return round(LEFT + (RIGHT - LEFT) * day / until, 1)


def _y(share: float) -> float:
    return round(BOTTOM - (BOTTOM - TOP) * share, 1)


def _svg(css: str, width: int, height: int, title: str, told: str, parts: Iterable[str]) -> SafeString:
    head = (
        f'<svg class="figure {escape(css)}" viewBox="0 0 {width} {height}" width="{width}" height="{height}" role="img"'
    )
    words = f"<title>{escape(title)}</title><desc>{escape(told)}</desc>"
    label = f"{title}. {told}"
    return mark_safe(f'{head} aria-label="{escape(label)}">{words}{"".join(parts)}</svg>')  # noqa: S308 - escaped above
