"""The marks of danger and of age: shapes and letters, and where a bar stands."""

from datetime import date, timedelta
from xml.etree import ElementTree as ET

import pytest
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st

from jobsite import marks

TODAY = date(2026, 11, 24)
SVG_SHAPES = {"C1": 'd="M5 1 9.4 9H.6Z" fill="currentColor"', "C2": 'fill="none"', "FI": "<circle"}


@pytest.mark.parametrize("code", ["C1", "C2", "FI"])
def test_code_mark_has_letters_and_its_shape(code):
    mark = marks.code_mark(code)
    assert f'class="code {code.lower()}"' in mark
    assert SVG_SHAPES[code] in mark
    assert f"</svg>{code}</span>" in mark


def test_c3_has_letters_and_no_shape():
    assert marks.code_mark("C3") == '<span class="code c3" title="Improvement recommended">C3</span>'


def test_held_says_made_safe_and_shows_a_padlock():
    mark = marks.code_mark("C1", held=True)
    assert 'class="code c1 held"' in mark
    assert marks.SHAPES["padlock"] in mark
    assert marks.SHAPES["C1"] not in mark
    assert '<span class="vh"> made safe</span>' in mark


def test_closed_wins_over_held_and_shows_a_tick():
    mark = marks.code_mark("C2", held=True, closed=True)
    assert 'class="code ok"' in mark
    assert marks.SHAPES["tick"] in mark
    assert "closed and reviewed" in mark


@pytest.mark.parametrize("code", [None, "", "C9"])
def test_uncoded_says_so(code):
    assert ">not coded</span>" in marks.code_mark(code)


@pytest.mark.parametrize(("passed", "css", "said"), [(True, "ok", "pass"), (False, "fail", "fail")])
def test_verdict(passed, css, said):
    assert f'class="code {css}"' in marks.verdict_mark(passed)
    assert marks.verdict_mark(passed).endswith(f"</svg>{said}</span>")


def test_verdict_escapes_its_words():
    assert "&lt;b&gt;" in marks.verdict_mark(False, "<b>")


@pytest.mark.parametrize(("held", "closed"), [(False, False), (True, False), (False, True)])
@pytest.mark.parametrize("code", ["C1", "C2", "C3", "FI", None])
def test_template_and_string_are_the_same(code, held, closed):
    shown = render_to_string("_code.html", {"mark": marks.mark_parts(code, held, closed)})
    assert shown.strip() == marks.code_mark(code, held, closed)


# --- age --------------------------------------------------------------------------------------------------------------

START, END = TODAY - timedelta(days=1000), TODAY + timedelta(days=50)
DAYS = st.dates(date(2015, 1, 1), date(2030, 1, 1))


def test_age_line_of_a_late_item():
    age = marks.age_line(TODAY - timedelta(days=1000), TODAY - timedelta(days=250), TODAY, START, END)
    assert age["filled"] == (0.0, 95.0)  # 190 × (1 − √(250/1000))
    assert age["outlined"] == (95.0, 95.0)
    assert age["by"] == 95.0
    assert age["words"] == "first recorded 28 Feb 2024, remedy by 19 Mar 2026, 8 months late"


def test_age_line_in_time_has_nothing_outlined():
    age = marks.age_line(TODAY - timedelta(days=10), TODAY + timedelta(days=50), TODAY, START, END)
    assert age["filled"] == (171.0, 19.0)
    assert age["outlined"] == (190.0, 0.0)
    assert age["by"] == 216.0


def test_age_line_due_today_is_not_late():
    age = marks.age_line(TODAY - timedelta(days=10), TODAY, TODAY, START, END)
    assert age["outlined"][1] == 0.0
    assert "late" not in age["words"]


def test_age_line_without_a_date_has_no_mark():
    age = marks.age_line(TODAY, None, TODAY, START, END)
    assert age["by"] is None
    assert age["filled"] == (188.0, 2.0)  # two units wide, so that today's can be seen
    assert age["words"] == "first recorded 24 Nov 2026, no date to remedy it by"


@given(first=DAYS, by=st.none() | DAYS, today=DAYS)
def test_age_line_stays_on_the_axis_and_joins_up(first, by, today):
    start, end = marks.common_axis([(first, by)], today)
    age = marks.age_line(first, by, today, start, end)
    (x, width), (turn, over) = age["filled"], age["outlined"]
    assert 0 <= x <= turn <= age["today"] <= marks.WIDTH
    assert x + width == pytest.approx(turn)
    assert turn + over == pytest.approx(age["today"])
    assert (over > 0) <= (by is not None and by < today)
    assert age["by"] is None or 0 <= age["by"] <= marks.WIDTH


@given(st.lists(DAYS, min_size=2, max_size=2), DAYS)
def test_the_older_item_never_begins_to_the_right(firsts, today):
    axis = marks.common_axis([(first, None) for first in firsts], today)
    older, newer = (marks.age_line(first, None, today, *axis)["filled"][0] for first in sorted(firsts))
    assert older <= newer


def test_common_axis_ends_are_kept_in_bounds():
    rows = [(date(2001, 1, 1), date(2040, 1, 1))]
    assert marks.common_axis(rows, TODAY) == (TODAY - timedelta(days=1096), TODAY + timedelta(days=90))
    assert marks.common_axis([], TODAY) == (TODAY - timedelta(days=30), TODAY + timedelta(days=7))


@given(first=DAYS, by=st.none() | DAYS, code=st.sampled_from(["C1", "C2", "C3", "FI", None]))
def test_age_template_and_string_draw_the_same(first, by, code):
    axis = marks.common_axis([(first, by)], TODAY)
    age = marks.age_line(first, by, TODAY, *axis) | {"css": marks.age_css(code)}
    string, template = marks.age_line_svg(code, first, by, TODAY, axis), render_to_string("_age.html", {"age": age})
    assert drawn(string) == drawn(template)


def drawn(svg: str) -> list[tuple[str, dict[str, str]]]:
    return [(part.tag, part.attrib) for part in ET.fromstring(svg.strip()).iter()]


def test_age_line_carries_its_facts_in_words():
    axis = marks.common_axis([(date(2026, 10, 6), None)], TODAY)
    svg = ET.fromstring(marks.age_line_svg("C2", date(2026, 10, 6), date(2026, 11, 2), TODAY, axis))
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-label"] == "first recorded 6 Oct 2026, remedy by 2 Nov 2026, 22 days late"


def test_ruler_marks_only_what_the_axis_holds():
    short = marks.age_ruler_svg(TODAY, (TODAY - timedelta(days=100), TODAY))
    long = marks.age_ruler_svg(TODAY, (TODAY - timedelta(days=1096), TODAY))
    assert [part.text for part in ET.fromstring(short).iter("text")] == ["3 months", "now"]
    assert [part.text for part in ET.fromstring(long).iter("text")] == ["3 years", "1 year", "3 months", "now"]


def test_no_mark_has_a_style_attribute():
    axis = (START, END)
    everything = [marks.code_mark(c, h) for c in ("C1", "C2", "C3", "FI", None) for h in (True, False)]
    everything += [marks.age_line_svg("C1", START, TODAY, TODAY, axis), marks.age_ruler_svg(TODAY, axis)]
    assert [mark for mark in everything if "style" in mark] == []


def test_needing_no_code_is_not_the_same_as_not_coded():
    mark = marks.code_mark("", needed=False)
    assert ">no code needed</span>" in mark
    assert "A qualified person found that it needs no code" in mark
