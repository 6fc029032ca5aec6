"""Where the diary draws things: by properties, and by hand at the edges of days and on the nights of the clock changes."""

import xml.etree.ElementTree as ET
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite.words import LONDON
from remedials.visits.drawing import Axis, Block, Cell, Drive, Gap, Grid, Sheet, axis_for, draw, lanes, part_on
from remedials.visits.drawing.layout import DAY, EARLIEST, LATEST, LEAST, Part, placed


# Around both changes of the clock of 2026: 29 March and 25 October (The Summer Time Order 2002: last Sundays, 01:00 UTC).
def instants(first: datetime, last: datetime):
    return st.integers(0, int((last - first).total_seconds() // 60)).map(lambda n: first + timedelta(minutes=n))


INSTANTS = st.one_of(
    instants(datetime(2026, 3, 27, tzinfo=UTC), datetime(2026, 4, 1, tzinfo=UTC)),
    instants(datetime(2026, 10, 23, tzinfo=UTC), datetime(2026, 10, 28, tzinfo=UTC)),
)
LASTS = st.integers(1, 3 * 24 * 60).map(lambda n: timedelta(minutes=n))


def london(day: int, hour: int, minute: int = 0, month: int = 2, fold: int = 0) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=LONDON, fold=fold).astimezone(UTC)


@pytest.mark.parametrize(
    ("start", "end", "on", "part"),
    [
        (london(3, 9), london(3, 11), date(2026, 2, 3), Part(540, 660)),
        (london(3, 9), london(3, 11), date(2026, 2, 4), None),
        (london(3, 9), london(4, 0), date(2026, 2, 3), Part(540, DAY)),
        (london(3, 9), london(4, 0), date(2026, 2, 4), None),  # it ends as that day begins
        (london(3, 22), london(4, 2), date(2026, 2, 4), Part(0, 120, earlier=True)),
        (london(2, 9), london(5, 9), date(2026, 2, 4), Part(0, DAY, earlier=True, later=True)),
        # The night of 29 March has no hour from 01:00: 00:30 to 02:30 lasts one hour, and stands where the clock shows it.
        (london(29, 0, 30, 3), london(29, 2, 30, 3), date(2026, 3, 29), Part(30, 150)),
        # The night of 25 October has it twice: from the first 01:40 to the second 01:10 is half an hour.
        (london(25, 1, 40, 10), london(25, 1, 10, 10, fold=1), date(2026, 10, 25), Part(100, 130)),
    ],
)
def test_what_falls_on_a_day(start, end, on, part) -> None:
    assert part_on(start, end, on) == part


@given(INSTANTS, LASTS)
def test_every_day_that_it_touches_has_its_part(start: datetime, lasts: timedelta) -> None:
    end = start + lasts
    days = [date(2026, 3, 20) + timedelta(days=n) for n in range(250)]
    parts = {on: part for on in days if (part := part_on(start, end, on))}
    first, last = start.astimezone(LONDON).date(), (end - timedelta(microseconds=1)).astimezone(LONDON).date()
    assert list(parts) == [first + timedelta(days=n) for n in range((last - first).days + 1)]
    assert all(0 <= part.start < part.end <= DAY for part in parts.values())
    assert [part.earlier for part in parts.values()] == [on != first for on in parts]
    assert [part.later for part in parts.values()] == [on != last for on in parts]


MINUTES = st.integers(0, DAY - 1)
SPANS = st.tuples(MINUTES, st.integers(1, 600)).map(lambda pair: (pair[0], min(DAY, pair[0] + pair[1])))
AXES = st.tuples(st.integers(6, 10), st.integers(15, 20), st.integers(100, 1200)).map(
    lambda three: Axis(three[0] * 60, three[1] * 60, three[2])
)


@given(AXES, SPANS)
def test_what_is_drawn_stays_in_the_day_and_can_be_read(axis: Axis, span: tuple[int, int]) -> None:
    low, high = axis.extent(*span)
    assert -1e-9 <= low < high <= axis.length + 1e-9
    assert high - low >= LEAST - 1e-9
    if (
        axis.first <= span[0]
        and span[1] <= axis.last
        and (span[1] - span[0]) * axis.length / (axis.last - axis.first) >= LEAST
    ):
        assert (low, high) == (axis.at(span[0]), axis.at(span[1]))


@given(AXES, MINUTES, MINUTES)
def test_later_is_never_drawn_before(axis: Axis, one: int, other: int) -> None:
    assert (one <= other) <= (axis.at(one) <= axis.at(other))


@given(st.lists(SPANS, max_size=12))
def test_the_hours_drawn_take_in_all_between_the_earliest_and_the_latest(times: list[tuple[int, int]]) -> None:
    axis = axis_for(times, a_minute=0.25)
    assert axis.first % 60 == axis.last % 60 == 0
    assert EARLIEST <= axis.first <= 8 * 60
    assert 17 * 60 <= axis.last <= LATEST
    for start, end in times:
        if end > EARLIEST and start < LATEST:
            assert axis.first <= max(start, EARLIEST)
            assert min(end, LATEST) <= axis.last
    assert axis.length == (axis.last - axis.first) * 0.25


@given(st.lists(SPANS, max_size=20))
def test_nothing_lies_over_something_else(times: list[tuple[int, int]]) -> None:
    extents = sorted((float(low), float(high)) for low, high in times)
    found = lanes(extents)
    grid = Grid(Axis(0, DAY, DAY), across=False, names=0, head=0, breadth=200)
    boxes = [grid.block(0, 0, extent, *lane) for extent, lane in zip(extents, found, strict=True)]
    assert all(0 <= lane < of for lane, of in found)
    for n, a in enumerate(boxes):
        for b in boxes[n + 1 :]:
            beside = a.x + a.width <= b.x + 1e-6 or b.x + b.width <= a.x + 1e-6
            assert beside or a.y + a.height <= b.y + 1e-6


@given(st.lists(SPANS, min_size=1, max_size=20))
def test_no_more_lanes_than_stand_at_one_moment(times: list[tuple[int, int]]) -> None:
    extents = sorted((float(low), float(high)) for low, high in times)
    most = max(sum(low <= at < high for low, high in extents) for at, _ in extents)
    assert max(of for _, of in lanes(extents)) == most


@given(AXES, st.lists(SPANS, max_size=12))
def test_what_is_placed_lies_in_the_day_and_over_nothing_else(axis: Axis, times: list[tuple[int, int]]) -> None:
    grid = Grid(axis, across=False, names=0, head=0, breadth=200)
    found = placed(sorted(times), axis)
    boxes = [grid.block(0, 0, extent, *lane) for extent, lane in found]
    assert all(-1e-9 <= low < high <= axis.length + 1e-9 for (low, high), _ in found)
    for n, a in enumerate(boxes):
        for b in boxes[n + 1 :]:
            beside = a.x + a.width <= b.x + 1e-6 or b.x + b.width <= a.x + 1e-6
            below = a.y + a.height <= b.y + 1e-6 or b.y + b.height <= a.y + 1e-6
            assert beside or below


def test_short_ones_that_only_touch_stand_under_each_other_at_full_width() -> None:
    """At 15 pixels an hour 45 minutes are 11.25: each is drawn 15 high, so the second begins 3.75 lower than its time."""
    axis = Axis(480, 1020, 135)
    found = placed([(780, 825), (825, 870)], axis)
    assert found == [((75.0, 90.0), (0, 1)), ((90.0, 105.0), (0, 1))]
    assert [lane for _, lane in placed([(780, 825), (810, 870)], axis)] == [(0, 2), (1, 2)]


@pytest.mark.parametrize("across", [True, False])
def test_blocks_lie_inside_their_cell(across: bool) -> None:
    grid = Grid(Axis(480, 1020, 300), across=across, names=100, head=20, breadth=60)
    for row, column, lane in [(0, 0, 0), (3, 6, 1)]:
        cell, box = grid.cell(row, column), grid.block(row, column, grid.axis.extent(0, DAY), lane, 2)
        assert cell.x <= box.x
        assert box.x + box.width <= cell.x + cell.width
        assert cell.y <= box.y
        assert box.y + box.height <= cell.y + cell.height


def sheet_of(*blocks: Block, **more) -> Sheet:
    cell = Cell("e1", "2026-02-03", "Edwin, Tue 3 Feb", works=(480, 990), blocks=blocks, **more)
    return Sheet("Diary", "Rows and columns.", ("Edwin",), (("Tue 3 Feb", ""),), ((cell,),))


@pytest.mark.parametrize("across", [True, False])
def test_the_drawing_is_sound_xml_with_no_style_and_every_fact(across: bool) -> None:
    block = Block(
        "v1",
        540,
        660,
        "09:00–11:00",
        "A & B <Ltd>",
        "Visit 1, A & B <Ltd>, C1",
        "/visits/1/",
        "C1",
        off=True,
        moves={"move": "/m/"},
    )
    drive, gap = Drive(770, 780, 20, True, "20 minutes to drive"), Gap(800, 900, "/gap/?a=1&b=2", "Edwin is free")
    axis = Axis(480, 1020, 900 if across else 140)
    grid = Grid(axis, across=across, names=100, head=34, breadth=58 if across else 159)
    written = draw(sheet_of(block, drives=(drive,), gaps=(gap,)), grid)
    tree = ET.fromstring(written)
    assert not [one for one in tree.iter() if "style" in one.attrib]
    words = " ".join(text for one in tree.iter() if (text := one.text))
    for fact in (
        "A & B <Ltd>",
        "C1",
        "power off" if across else "off",
        "20 minutes to drive",
        "Edwin is free",
        "09:00",
    ):
        assert fact in words
    names = [one.get("aria-label") for one in tree.iter() if one.get("aria-label")]
    assert names == ["Edwin is free", "Visit 1, A & B <Ltd>, C1"]
