"""The marks that carry danger and age, as SVG strings ready for a list, and the numbers behind them.

Colour and shape follow ISO 3864's safety colours and contrast colours, always with the code's letters; the colours
themselves are in the style sheets (classes, never a `style` attribute). Lists use `code_mark` and `age_line_svg`;
a template that has the numbers includes `_code.html` with `mark=mark_parts(...)` or `_age.html` with `age=age_line(...)`.
"""

from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache
from html import escape
from math import sqrt
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from jobsite.words import day, late

# What each code means in BS 7671's condition report (Appendix 6), for the tooltip.
MEANING = {
    "C1": "Danger present",
    "C2": "Potentially dangerous",
    "C3": "Improvement recommended",
    "FI": "Further investigation required without delay",
}
TRIANGLE = "M5 1 9.4 9H.6Z"
SHAPES = {
    "C1": f'<path d="{TRIANGLE}" fill="currentColor"/>',
    "C2": f'<path d="{TRIANGLE}" fill="none" stroke="currentColor" stroke-width="1.4"/>',
    "FI": '<circle cx="5" cy="5" r="4.2" fill="currentColor"/>',
    "tick": '<path d="M.7.7h8.6v8.6H.7Z" fill="none" stroke="currentColor"/>'
    '<path d="m2.5 5.3 1.8 1.9 3.3-4.3" fill="none" stroke="currentColor" stroke-width="1.4"/>',
    "padlock": '<path d="M2 4.6h6V9H2Z" fill="currentColor"/>'
    '<path d="M3.3 4.6V3.2a1.7 1.7 0 0 1 3.4 0v1.4" fill="none" stroke="currentColor" stroke-width="1.2"/>',
    "cross": '<path d="m1.5 1.5 7 7m0-7-7 7" fill="none" stroke="currentColor" stroke-width="1.6"/>',
}


def _svg(shape: str) -> str:
    drawn = SHAPES.get(shape, "")
    return f'<svg viewBox="0 0 10 10" aria-hidden="true">{drawn}</svg>' if drawn else ""


def mark_parts(code: str | None, held: bool = False, closed: bool = False, needed: bool = True) -> dict[str, str]:
    """What the mark of `code` is made of: css class, svg, letters, words for screen readers, tooltip.

    `held`: made safe, still open. `closed`: closed and reviewed. No code, or one unknown: "not coded".
    `needed` False: a qualified person found that it needs no code.
    """
    if not needed:
        return _parts("none", "", "no code needed", "", "A qualified person found that it needs no code")
    code = (code or "").upper()
    if code not in MEANING:
        return _parts("none", "", "not coded", "", "No competent person has coded this yet")
    if closed:
        return _parts("ok", _svg("tick"), code, "closed and reviewed", f"{MEANING[code]}: closed and reviewed")
    if held:
        return _parts(
            f"{code.lower()} held", _svg("padlock"), code, "made safe", f"{MEANING[code]}: made safe, still open"
        )
    return _parts(code.lower(), _svg(code), code, "", MEANING[code])


def _parts(css: str, svg: str, letters: str, more: str, title: str) -> dict[str, str]:
    return {"css": css, "svg": mark_safe(svg), "letters": letters, "more": more, "title": title}  # noqa: S308 - ours


@lru_cache(maxsize=64)
def code_mark(code: str | None, held: bool = False, closed: bool = False, needed: bool = True) -> SafeString:
    """The panel of an observation's code with its mark, ready to put in a row."""
    return _panel(mark_parts(code, held, closed, needed))


@lru_cache(maxsize=64)
def verdict_mark(passed: bool, words: str = "") -> SafeString:
    """How a reading or a check came out: green tick and "pass", or ink reversed with a cross and "fail"."""
    css, shape = ("ok", "tick") if passed else ("fail", "cross")
    return _panel(_parts(css, _svg(shape), words or ("pass" if passed else "fail"), "", ""))


def _panel(mark: dict[str, str]) -> SafeString:
    title = f' title="{escape(mark["title"])}"' if mark["title"] else ""
    more = f'<span class="vh"> {escape(mark["more"])}</span>' if mark["more"] else ""
    panel = f'<span class="code {mark["css"]}"{title}>{mark["svg"]}{escape(mark["letters"])}{more}</span>'
    return mark_safe(panel)  # noqa: S308 - words escaped above, the rest is ours


WIDTH = 216  # user units of the age line, its height 22
TODAY_AT = 190  # the past to its left, what is to come to its right
FARTHEST_BACK = timedelta(days=3 * 365 + 1)
FARTHEST_ON = timedelta(days=90)
Axis = tuple[date, date]


def common_axis(rows: Iterable[tuple[date, date | None]], today: date) -> Axis:
    """The axis for a list of (first recorded, remedy by): from the oldest, at most three years back, to the last
    date to come, at most ninety days on; older or later marks stand at the edge.
    """
    rows = list(rows)
    start = min([first for first, _ in rows], default=today)
    end = max([by for _, by in rows if by], default=today)
    start = max(min(start, today - timedelta(days=30)), today - FARTHEST_BACK)
    return start, min(max(end, today + timedelta(days=7)), today + FARTHEST_ON)


def age_line(first: date, remedy_by: date | None, today: date, axis_start: date, axis_end: date) -> dict[str, Any]:
    """Where the bar of one open item stands on the common axis, in user units 0 to WIDTH, and its words.

    `filled` runs from the first record to the remedy-by mark or today, `outlined` from the mark to today where that
    is past; each is (x, width). `by` is None where there is no date. What lies off the axis stands at its edge.
    The distance from today grows with the square root of the days, so that a week can be seen beside three years;
    `age_ruler_svg` marks that scale at the head of the column.
    """
    begin, now = _at(first, today, axis_start, axis_end), float(TODAY_AT)
    begin = min(begin, now - 2)  # so that what was recorded today can be seen
    turn = _at(remedy_by, today, axis_start, axis_end) if remedy_by and remedy_by < today else now
    turn = max(turn, begin)
    return {
        "filled": (begin, round(turn - begin, 1)),
        "outlined": (turn, round(now - turn, 1)),
        "by": _at(remedy_by, today, axis_start, axis_end) if remedy_by else None,
        "today": now,
        "words": _age_words(first, remedy_by, today),
    }


def _at(on: date, today: date, start: date, end: date) -> float:
    """The place of a day on the axis."""
    past = on <= today
    length = max(((today - start) if past else (end - today)).days, 1)
    share = sqrt(min(abs((on - today).days) / length, 1.0))
    return round(TODAY_AT - share * TODAY_AT if past else TODAY_AT + share * (WIDTH - TODAY_AT), 1)


def _age_words(first: date, remedy_by: date | None, today: date) -> str:
    by = f"remedy by {day(remedy_by)}" if remedy_by else "no date to remedy it by"
    return ", ".join(filter(None, [f"first recorded {day(first)}", by, late(remedy_by, today)]))


def age_line_svg(code: str | None, first: date, remedy_by: date | None, today: date, axis: Axis) -> SafeString:
    """The age line of one row as SVG in the colour of its code; `axis` from `common_axis`, one for the whole list."""
    age = age_line(first, remedy_by, today, *axis)
    (x, width), (turn, over) = age["filled"], age["outlined"]
    parts = [f'<line class="axis" x1="0" x2="{WIDTH}" y1="16" y2="16"/>']
    if width:
        parts.append(f'<rect class="in-time" x="{x}" y="8" width="{width}" height="8"/>')
    if over:
        parts.append(f'<rect class="over" x="{turn}" y="8" width="{over}" height="8"/>')
    if age["by"] is not None:
        parts.append(f'<line class="by" x1="{age["by"]}" x2="{age["by"]}" y1="2" y2="20"/>')
    parts.append(f'<line class="today" x1="{age["today"]}" x2="{age["today"]}" y1="14" y2="20"/>')
    return _age_svg(age_css(code), age["words"], parts)


def age_css(code: str | None) -> str:
    """The class that gives an age line the colour of its code."""
    return code.lower() if code and code.upper() in MEANING else "none"


RULER = ((3 * 365, "3 years"), (365, "1 year"), (91, "3 months"), (0, "now"))


def age_ruler_svg(today: date, axis: Axis) -> SafeString:
    """The scale of the age lines, for the head of their column: three years, a year, three months, now."""
    far = (today - axis[0]).days
    parts = []
    for days, label in RULER:
        if days <= far:
            x = _at(today - timedelta(days=days), today, *axis)
            anchor = "start" if x < 20 else "middle"
            parts.append(f'<line class="today" x1="{x}" x2="{x}" y1="16" y2="21"/>')
            parts.append(f'<text x="{x}" y="12" text-anchor="{anchor}">{label}</text>')
    return _age_svg("ruler", "scale: " + ", ".join(label for days, label in RULER if days <= far), parts)


def _age_svg(css: str, label: str, parts: list[str]) -> SafeString:
    head = f'<svg class="age {css}" viewBox="-1 0 {WIDTH + 2} 22" width="{WIDTH}" height="22" role="img"'
    return mark_safe(f'{head} aria-label="{escape(label)}">{"".join(parts)}</svg>')  # noqa: S308 - numbers and dates
