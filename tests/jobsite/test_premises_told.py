"""What somebody was told is kept with who and when, and proves nothing: it counts as believed wherever somebody relies on it."""

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.charts import Sheet
from jobsite.premises.isolation import Caution, Work, isolate
from jobsite.premises.queries import at_the_board
from jobsite.premises.queries.boards import board_page
from jobsite.premises.queries.chart import chart_facts
from jobsite.premises.queries.disagreements import count_disagreements
from jobsite.premises.queries.graph import isolation_graph, supply_graph
from jobsite.premises.queries.wiring import ground_of
from jobsite.refused import Refused
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.jobsite.premises import posted, text_of

pytestmark = pytest.mark.django_db
HOWS = [("traced", True), ("switched", True), ("read", True), ("told", False)]


def known(how: str) -> dict:
    return {"verified_how": how, "verified_on": TODAY}


@pytest.fixture
def hall(site):
    return make.make_board(site, "Hall")


@pytest.fixture
def shed(site, hall):
    """A shed of which everything is known by being told: its name, its feed, what its only way is."""
    board = make.make_board(site, "Shed", fed=False, label_found="Barn", **known("told"))
    make.make_feed(board, make.make_circuit(hall, 1, designation="Shed", **known("told")), **known("told"))
    make.make_circuit(board, 1, designation="Lights", label_found="Heater", **known("told"))
    return board


@pytest.mark.parametrize(("how", "proves"), HOWS)
def test_what_proves(site, how, proves) -> None:
    board = make.make_board(site, "Barn", fed=False, **known(how))
    way = make.make_circuit(board, 1, **known(how))
    feed = make.make_feed(board, make.supply_of(site), **known(how))
    assert (board.proven, way.proven, feed.proven) == (proves, proves, proves)
    assert board.feeds.proven().exists() is proves


def test_nothing_is_proven_of_which_nobody_said_how(site) -> None:
    board = make.make_board(site, "Barn", fed=False, designation_verified=False)
    assert (board.proven, make.make_circuit(board, 1).proven) == (False, False)
    assert make.make_feed(board, make.supply_of(site), verified=False).proven is False


@pytest.mark.parametrize(("how", "proves"), HOWS)
def test_isolation_relies_on_a_feed_only_where_somebody_saw_it(site, hall, how, proves) -> None:
    board = make.make_board(site, "Barn", fed=False)
    make.make_feed(board, make.make_circuit(hall, 1), **known(how))
    answer = isolate(isolation_graph(site), Work("inside", str(board.pk)))
    assert (Caution("believed", str(board.pk)) not in answer.cautions) is proves
    assert bool(answer.sure) is not proves  # the first verified point upstream is named where the feed is in doubt


def test_drawing_quotes_and_dashes_it(site, shed) -> None:
    graph = supply_graph(site)
    assert {board.name: board.name_verified for board in graph.boards} == {"Hall": True, "Shed": False}
    assert [feed.verified for feed in graph.feeds if feed.child == str(shed.pk)] == [False]


def test_tracing_still_asks_and_takes_over_what_was_seen(site, hall, shed, worker) -> None:
    true = make.make_circuit(hall, 2)
    operations.name_candidates(shed, [true], **worker)
    board = ground_of(site).wiring.at[str(shed.pk)]
    assert (board.verified, len(board.candidates)) == (False, 2)
    make.make_switching_test(true, dead=[shed])
    operations.take_over_certain(site, {shed.pk: true.pk}, **worker)
    feed = shed.feeds.get()
    assert (feed.from_circuit, feed.verified_how, feed.proven) == (true, "switched", True)


def test_feed_that_was_told_and_then_seen_becomes_proven(site, shed, worker) -> None:
    feed = shed.feeds.get()
    make.make_switching_test(feed.from_circuit, dead=[shed])
    operations.take_over_certain(site, {shed.pk: feed.from_circuit_id}, **worker)
    feed.refresh_from_db()
    assert (feed.verified_how, feed.proven) == ("switched", True)


def test_chart_marks_it(shed) -> None:
    facts = chart_facts(shed)
    assert (facts["board"], facts["verified"], facts["doubts"]) == ("“Shed”", False, 1)
    assert [(way["what"], way["verified"]) for way in facts["ways"]] == [("“Lights”", False)]
    assert ("Fed from", "“Hall, way 1L1 · B32”", False) in facts["particulars"]


def test_no_label_is_printed_of_it(shed, on_site) -> None:
    who = {"by": make.anybody(), "now": NOON}
    with pytest.raises(Refused) as raised:
        operations.make_labels(shed, id=new_id(), circuits=shed.circuits.all(), sheet=Sheet(38, 21, 5, 13), **who)
    assert str(raised.value).endswith("so verify first. What somebody was told of 1L1 is no proof.")
    with pytest.raises(Refused, match="Nobody has verified that this is Shed"):
        operations.make_board_label(
            shed, id=new_id(), kind="board-label", width_mm=70, height_mm=37, copies=1, **who
        )  # fmt: skip
    page = text_of(on_site.get(reverse("premises:circuit_labels", args=[shed.pk])))
    assert "Not verified, so not offered here: 1L1 “Lights”." in page


def test_it_is_never_held_against_a_label(site, shed) -> None:
    assert count_disagreements(site, supply_graph(site)) == 0
    shed.circuits.update(verified_how="traced")
    assert count_disagreements(site, supply_graph(site)) == 1


def test_pages_say_told_not_seen(shed, on_site) -> None:
    said = "told, not seen: believed, noted on 3 Feb 2026"
    page = board_page(shed)
    assert ("Designation", said) in page["facts"]
    assert page["feeds"][0]["seen"] == said
    assert page["feed_unsure"] is True
    there = text_of(on_site.get(reverse("premises:at_the_board", args=[shed.pk])))
    assert f"“Shed” {said}" in there
    assert f"“Lights” {said}" in there
    assert "told, not seen: believed only" in there  # as the choice is offered


def test_progress_counts_what_proves(shed) -> None:
    lamp = make.make_circuit(shed, 2, designation="Lamp", **known("switched"))
    shown = at_the_board(shed)
    assert (shown["progress"], shown["next"]["way"]) == ("1 of 2 ways verified", "1L1")
    shed.circuits.exclude(pk=lamp.pk).update(verified_how="read")
    assert at_the_board(shed)["progress"] == "2 of 2 ways verified"


def test_whoever_says_that_they_were_told_is_told_what_it_counts_for(hall, on_site) -> None:
    way = make.make_circuit(hall, 4, label_found="Cooker", designation="")
    address = reverse("premises:circuit_verify", args=[way.pk])
    form = posted(on_site.get(address)) | {"designation": "Cooker"}
    done = on_site.post(address, form | {"verified_how": "told"}, follow=True)
    assert "Way 4L1: kept as told, not seen. It counts as believed." in text_of(done)
    way.refresh_from_db()
    assert (way.verified_how, way.verified_by is not None, way.proven) == ("told", True, False)
