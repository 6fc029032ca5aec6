"""A whole list of boards and circuits at once: the same rows and entries as one by one, all of them or none."""

from collections.abc import Callable

import pytest

from jobsite.ids import new_id
from jobsite.ledger.rows import RefusedRow
from jobsite.premises import operations
from jobsite.premises.models import Board, Circuit, Feed, SecondSource
from jobsite.refused import NotAllowed, Refused
from tests.factories import NOON, make_site, make_unit, make_user, recorded, supply_of, unit_of

pytestmark = pytest.mark.django_db

LINES = ["L1", "L2", "L3"]


@pytest.fixture
def site():
    return make_site("Orrin Reach boatyard", phases=tuple(LINES))


def listed(site) -> operations.Listed:
    """A main board on the supply, a shed fed from its way 1, panels on its way 2."""
    main = Board(id=new_id(), site=site, designation="Main", phases=LINES, label_found="DB1", notes="seen")
    shed = Board(id=new_id(), site=site, designation="Shed", phases=["L1"])
    feeder = Circuit(id=new_id(), site=site, board=main, way=1, phase="L1", designation="Shed", rating_a=32)
    panels = Circuit(id=new_id(), site=site, board=main, way=2, phase="L2", spare=False)
    source = SecondSource(
        id=new_id(), site=site, board=main, circuit=panels, name="Panels", kind="pv", phases=["L2"], wait_minutes=5
    )
    feeds = [
        Feed(id=new_id(), site=site, board=main, from_supply=supply_of(site)),
        Feed(id=new_id(), site=site, board=shed, from_circuit=feeder),
    ]
    return operations.Listed([main, shed], [feeder, panels], [source], feeds)


def add(site, rows: operations.Listed, by, **more) -> None:
    operations.add_list(site, rows, **{"units": [unit_of(site)], "by": by, "now": NOON} | more)


def counts() -> list[int]:
    return [model.objects.count() for model in (Board, Circuit, SecondSource, Feed)]


def test_a_list_leaves_the_entries_that_each_row_alone_would_leave(site, office) -> None:
    rows = listed(site)
    with recorded() as told:
        add(site, rows, office)
    other = make_site("Elsewhere", phases=tuple(LINES))
    mirror = listed(other)
    with recorded() as alone:
        _one_by_one(other, mirror, office)
    same = {str(a.pk): str(b.pk) for a, b in zip(_all(mirror), _all(rows), strict=True)}
    same |= {str(supply_of(other).pk): str(supply_of(site).pk), str(unit_of(other).pk): str(unit_of(site).pk)}
    assert [(e.verb, str(e.subject), e.facts, e.words) for e in told] == [
        (e.verb, same[str(e.subject)], _renamed(e.facts, same), e.words) for e in alone
    ]
    assert [board.sort for board in Board.objects.filter(site=site).order_by("sort")] == ["main", "shed"]
    assert list(Board.objects.get(pk=rows.boards[0].pk).units.all()) == [unit_of(site)]


def _all(rows: operations.Listed) -> list:
    return [*rows.boards, *rows.circuits, *rows.sources, *rows.feeds]


def _renamed(value, same):
    if isinstance(value, dict):
        return {name: _renamed(one, same) for name, one in value.items()}
    if isinstance(value, list):
        return [_renamed(one, same) for one in value]
    return same.get(value, value) if isinstance(value, str) else value


def _one_by_one(site, rows: operations.Listed, by) -> None:
    who = {"by": by, "now": NOON}
    (main, shed), (feeder, panels), (source,), (one, two) = rows.boards, rows.circuits, rows.sources, rows.feeds
    units = {"units": [unit_of(site)]} | who
    operations.add_board(site, id=main.pk, designation="Main", phases=LINES, label_found="DB1", notes="seen", **units)
    operations.add_board(site, id=shed.pk, designation="Shed", phases=["L1"], **units)
    operations.add_circuit(main, id=feeder.pk, way=1, phase="L1", designation="Shed", rating_a=32, **who)
    operations.add_circuit(main, id=panels.pk, way=2, phase="L2", **who)
    operations.add_second_source(
        main, id=source.pk, name="Panels", kind="pv", phases=["L2"], circuit=panels, wait_minutes=5, **who
    )
    operations.set_feed(main, id=one.pk, from_supply=supply_of(site), **who)
    operations.set_feed(shed, id=two.pk, from_circuit=feeder, **who)


def _twice(rows: operations.Listed) -> Board:
    again = Board(id=new_id(), site=rows.boards[0].site, designation="SHED", phases=["L1"])
    rows.boards.append(again)
    return again


def _same_way(rows: operations.Listed) -> Circuit:
    again = Circuit(id=new_id(), site=rows.boards[0].site, board=rows.boards[0], way=2, phase="L2")
    rows.circuits.append(again)
    return again


def _no_phase(rows: operations.Listed) -> Circuit:
    wrong = Circuit(id=new_id(), site=rows.boards[0].site, board=rows.boards[1], way=1, phase="L3")
    rows.circuits.append(wrong)
    return wrong


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_twice, "Another board of this site has this designation."),
        (_same_way, "There is already a circuit on this way and phase."),
        (_no_phase, "Shed has no L3."),
    ],
)
def test_the_row_that_cannot_be_added_is_named_and_nothing_is(site, office, spoil: Callable, said: str) -> None:
    rows = listed(site)
    wrong = spoil(rows)
    with recorded() as told, pytest.raises(RefusedRow) as refused:
        add(site, rows, office)
    assert (refused.value.row, refused.value.sentence) == (wrong, said)
    assert (told, counts()) == ([], [0, 0, 0, 0])


def test_nothing_in_a_list_counts_as_verified_whatever_its_rows_say(site, office) -> None:
    rows = listed(site)
    claim = {"verified_how": "traced", "verified_on": NOON.date(), "verified_by": office}
    for row in (*rows.boards, *rows.circuits, *rows.feeds):
        for name, value in claim.items():
            setattr(row, name, value)
    for board, feed in zip(rows.boards, rows.feeds, strict=True):
        board.designation_verified = feed.verified = True
    add(site, rows, office)
    kept = [row for model in (Board, Circuit, Feed) for row in model.objects.all()]
    assert [row.proven for row in kept] == [False] * 6
    assert {(row.verified_how, row.verified_on, row.verified_by) for row in kept} == {("", None, None)}
    assert not Board.objects.filter(designation_verified=True).exists()
    assert not Feed.objects.filter(verified=True).exists()


def test_feeds_that_would_form_a_loop_are_refused(site, office) -> None:
    rows = listed(site)
    back = Circuit(id=new_id(), site=site, board=rows.boards[1], way=1, phase="L1")
    rows.circuits.append(back)
    rows.boards[0].phases = ["L1"]
    rows.circuits[1].phase, rows.sources[0].phases = "L1", ["L1"]
    rows.feeds[0] = Feed(id=new_id(), site=site, board=rows.boards[0], from_circuit=back)
    with pytest.raises(Refused, match="would feed itself"):
        add(site, rows, office)
    assert counts() == [0, 0, 0, 0]


def test_a_unit_of_another_site_and_somebody_without_the_right_are_refused(site, office) -> None:
    with pytest.raises(Refused, match="its own site only"):
        add(site, listed(site), office, units=[make_unit(make_site("Elsewhere"))])
    with pytest.raises(NotAllowed):
        add(site, listed(site), make_user("Sam Subber", "engineer", subcontractor=True))
    assert counts() == [0, 0, 0, 0]


def test_how_many_rows_are_written_is_told(site, office, monkeypatch) -> None:
    monkeypatch.setattr("jobsite.premises.operations.lists.AT_ONCE", 1)
    told: list[int] = []
    add(site, listed(site), office, written=told.append)
    assert told == [1, 2, 3, 4, 5, 6, 7]
