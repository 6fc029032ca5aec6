"""Changes to boards and circuits: what they write, record and refuse."""

from datetime import date
from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.models import Board, Circuit
from jobsite.refused import ChangedMeanwhile, Refused
from tests import factories as make
from tests.factories import TODAY, Told, recorded
from tests.jobsite.premises import refusal

pytestmark = pytest.mark.django_db


# --- boards -----------------------------------------------------------------------------------------------------------


def test_add_board_is_believed_until_somebody_says_how_it_was_verified(worker, engineer, site) -> None:
    key = new_id()
    with recorded() as told:
        board = operations.add_board(site, id=key, designation="DB A", phases=["L1"], label_found="Main", **worker)
    assert (board.designation_verified, board.verified_by) == (False, None)
    assert told == [Told("board.added", key, {"phases": ["L1"]}, {"designation": "DB A", "label_found": "Main"})]
    with recorded() as told:
        again = {"id": new_id(), "designation": "DB A", "how": "traced", "version": 1} | worker
        board = operations.verify(board, **again)
        operations.verify(board, **again)
    assert (board.designation_verified, board.verified_by, board.verified_on) == (True, engineer, TODAY)
    assert [t.verb for t in told] == ["board.verified"]


def test_new_designation_is_not_verified_by_the_old_stamp(worker, site) -> None:
    board = make.make_board(site, "DB A")
    board = operations.edit_board(board, version=1, designation="DB B", **worker)
    assert (board.designation_verified, board.verified_how, board.verified_on) == (False, "", None)


def test_new_designation_with_a_way_of_verifying_is_stamped_anew(worker, engineer, site) -> None:
    board = make.make_board(site, "DB A", verified_on=date(2020, 1, 1))
    board = operations.edit_board(board, version=1, designation="DB B", verified_how="traced", **worker)
    assert (board.verified_by, board.verified_on) == (engineer, TODAY)


def test_other_change_leaves_the_stamp(worker, site) -> None:
    board = make.make_board(site, "DB A", verified_on=date(2020, 1, 1))
    board = operations.edit_board(board, version=1, place="Hall", verified_how="traced", **worker)
    assert (board.designation_verified, board.verified_on) == (True, date(2020, 1, 1))


def test_two_boards_of_one_name_are_refused_but_not_with_one_taken_out(worker, site) -> None:
    first = make.make_board(site, "DB A", fed=False)
    fields = {"designation": "db  a", "phases": ["L1"]}
    with pytest.raises(Refused) as raised:
        operations.add_board(site, id=new_id(), **fields, **worker)
    assert refusal(raised) == ("Another board of this site has this designation.", "designation")
    operations.retire_board(first, **worker)
    operations.add_board(site, id=new_id(), **fields, **worker)
    with pytest.raises(Refused):
        operations.bring_back_board(first, **worker)


def test_add_board_to_two_units(worker, site) -> None:
    flat = make.make_unit(site, "Flat 2")
    board = operations.add_board(
        site, id=new_id(), designation="Shared", phases=["L1"], units=[flat, make.unit_of(site)], **worker
    )
    assert board.units.count() == 2


def test_board_serves_no_unit_of_another_site(worker, site) -> None:
    elsewhere = make.unit_of(make.make_site("Elsewhere"))
    with pytest.raises(Refused) as raised:
        operations.add_board(site, id=new_id(), designation="DB A", phases=["L1"], units=[elsewhere], **worker)
    assert refusal(raised) == ("A board serves units of its own site only.", "units")


def test_change_of_units_alone_is_recorded_and_counts_as_a_change(worker, site) -> None:
    board, flat = make.make_board(site), make.make_unit(site, "Flat 2")
    with recorded() as told:
        board = operations.edit_board(board, version=1, units=[flat], **worker)
    assert (told[0].facts, board.version) == ({"units": [str(flat.pk)]}, 2)
    with pytest.raises(ChangedMeanwhile):
        operations.edit_board(board, version=1, units=[], **worker)
    assert list(board.units.all()) == [flat]


def test_add_fed_board_writes_board_and_feed_in_one_step(worker, site) -> None:
    board = operations.add_fed_board(
        site,
        id=new_id(),
        feed_id=new_id(),
        from_supply=make.supply_of(site),
        feed_verified_how="traced",
        designation="DB A",
        phases=["L1"],
        **worker,
    )
    feed = board.feeds.get()
    assert (feed.verified, feed.verified_on, feed.kind) == (True, TODAY, "normal")


def test_add_fed_board_with_a_phase_too_many_leaves_no_board(worker, site) -> None:
    with pytest.raises(Refused, match="has a phase that its feed lacks"):
        operations.add_fed_board(
            site,
            id=new_id(),
            feed_id=new_id(),
            from_supply=make.supply_of(site),
            designation="DB A",
            phases=["L1", "L2"],
            **worker,
        )
    assert Board.objects.count() == 0


def test_retire_board_takes_its_circuits_and_feeds_with_it(worker, site) -> None:
    board = make.make_board(site)
    circuit, supply = make.make_circuit(board), make.supply_of(site)
    with recorded() as told:
        operations.retire_board(board, reason="burnt out", **worker)
        operations.retire_board(board, reason="burnt out", **worker)
    assert told == [Told("board.retired", board.pk, {"fed_from": [str(supply.pk)]}, {"reason": "burnt out"})]
    circuit.refresh_from_db()
    assert circuit.retired_at is not None
    assert board.feeds.count() == 0
    operations.bring_back_board(board, **worker)
    circuit.refresh_from_db()
    assert circuit.retired_at is None


def test_retire_board_that_feeds_another_is_refused(worker, site) -> None:
    board = make.make_board(site)
    shed = make.make_board(site, "Shed", fed=False)
    make.make_feed(shed, make.make_circuit(board))
    with pytest.raises(Refused, match="Board 1 still feeds Shed"):
        operations.retire_board(board, **worker)


def test_retire_board_with_a_second_source_is_refused(worker, site) -> None:
    board = make.make_board(site)
    make.make_second_source(board)
    with pytest.raises(Refused, match="Roof panels still comes in at Board 1"):
        operations.retire_board(board, **worker)


# --- circuits ---------------------------------------------------------------------------------------------------------


def test_add_circuit_keeps_label_and_truth_apart(worker, engineer, site) -> None:
    board, key = make.make_board(site), new_id()
    with recorded() as told:
        circuit = operations.add_circuit(
            board,
            id=key,
            way=5,
            phase="L1",
            label_found="Cooker",
            designation="Shed lights",
            verified_how="switched",
            rating_a=Decimal("6.0"),
            **worker,
        )
    assert (circuit.verified_by, circuit.verified_on) == (engineer, TODAY)
    facts = {"way": 5, "phase": "L1", "board": str(board.pk), "verified_how": "switched", "rating_a": "6.0"}
    assert told == [Told("circuit.added", key, facts, {"label_found": "Cooker", "designation": "Shed lights"})]


def test_circuit_on_a_taken_way_is_refused(worker, site) -> None:
    board = make.make_board(site)
    make.make_circuit(board, 1)
    with pytest.raises(Refused) as raised:
        operations.add_circuit(board, id=new_id(), way=1, phase="L1", **worker)
    assert refusal(raised) == ("There is already a circuit on this way and phase.", "way")


@pytest.mark.parametrize(
    ("phase", "sentence"), [("L2", "Board 1 has no L2."), ("3", "Board 1 has not all three phases.")]
)
def test_circuit_on_a_phase_that_the_board_lacks_is_refused(worker, site, phase, sentence) -> None:
    with pytest.raises(Refused) as raised:
        operations.add_circuit(make.make_board(site), id=new_id(), way=1, phase=phase, **worker)
    assert refusal(raised) == (sentence, "phase")


@pytest.mark.parametrize(
    ("fields", "sentence", "field"),
    [
        ({"way": 0}, "A way number is between 1 and 999.", "way"),
        ({"rating_a": Decimal(0)}, "A rating is more than 0 A.", "rating_a"),
        ({"breaking_capacity_ka": Decimal(0)}, "A breaking capacity is more than 0 kA.", "breaking_capacity_ka"),
        ({"length_m": Decimal(0)}, "A length is more than 0 m.", "length_m"),
        ({"rcd_ma": 0}, "A rated residual current is more than 0 mA.", "rcd_ma"),
        ({"verified_how": "traced"}, "Enter the designation that was verified.", "designation"),
    ],
)
def test_circuit_that_cannot_be_is_refused_in_words(worker, site, fields, sentence, field) -> None:
    board = make.make_board(site)
    with pytest.raises(Refused) as raised:
        operations.add_circuit(board, **{"id": new_id(), "way": 1, "phase": "L1", **fields, **worker})
    assert refusal(raised) == (sentence, field)
    assert Circuit.objects.count() == 0


def test_a_voltage_operated_breaker_has_no_rated_residual_current(worker, site) -> None:
    board = make.make_board(site, "DB A")
    fields = {"way": 1, "phase": "L1", "rcd_kind": "voltage-operated"}
    with recorded() as told, pytest.raises(Refused) as raised:
        operations.add_circuit(board, id=new_id(), **fields, rcd_ma=30, **worker)
    assert refusal(raised) == ("A voltage-operated breaker has no rated residual current: leave it empty.", "rcd_ma")
    assert told == []
    circuit = operations.add_circuit(board, id=new_id(), **fields, **worker)
    with pytest.raises(Refused):
        operations.edit_circuit(circuit, version=1, rcd_ma=30, **worker)
    assert Circuit.objects.get().rcd_ma is None


def test_circuit_serves_no_unit_of_another_site(worker, site) -> None:
    elsewhere = make.unit_of(make.make_site("Elsewhere"))
    with pytest.raises(Refused) as raised:
        operations.add_circuit(make.make_board(site), id=new_id(), way=1, phase="L1", unit=elsewhere, **worker)
    assert refusal(raised) == ("A circuit serves a unit of its own site only.", "unit")


def test_board_taken_out_takes_no_circuit(worker, site) -> None:
    board = operations.retire_board(make.make_board(site), **worker)
    with pytest.raises(Refused, match="was taken out"):
        operations.add_circuit(board, id=new_id(), way=1, phase="L1", **worker)


def test_edit_circuit_by_two_people(worker, site) -> None:
    circuit = make.make_circuit(make.make_board(site))
    operations.edit_circuit(circuit, version=1, points=4, **worker)
    with pytest.raises(ChangedMeanwhile) as raised:
        operations.edit_circuit(circuit, version=1, points=5, **worker)
    assert raised.value.theirs.points == 4


def test_edit_circuit_so_that_its_board_loses_a_phase_is_refused(worker) -> None:
    site = make.make_site(phases=("L1", "L2", "L3"))
    way = make.make_circuit(make.make_board(site), phase="3")
    shed = make.make_board(site, "Shed", phases=("L1", "L2"), fed=False)
    make.make_feed(shed, way)
    with pytest.raises(Refused) as raised:
        operations.edit_circuit(way, version=1, phase="L1", **worker)
    assert refusal(raised) == ("Shed has a phase that its feed lacks.", "phases")


def test_board_keeps_the_phases_that_its_circuits_are_on(worker) -> None:
    site = make.make_site(phases=("L1", "L2"))
    board = make.make_board(site)
    make.make_circuit(board, 4, phase="L2")
    with pytest.raises(Refused) as raised:
        operations.edit_board(board, version=1, phases=["L1"], **worker)
    assert refusal(raised) == ("Board 1, way 4 is on a phase that its board lacks.", "phase")


def test_retire_circuit_that_feeds_a_board_is_refused(worker, site) -> None:
    way = make.make_circuit(make.make_board(site))
    make.make_feed(make.make_board(site, "Shed", fed=False), way)
    with pytest.raises(Refused, match="Way 1L1 still feeds Shed"):
        operations.retire_circuit(way, **worker)


def test_retire_circuit_frees_its_way(worker, site) -> None:
    board = make.make_board(site)
    circuit = make.make_circuit(board, 1)
    with recorded() as told:
        operations.retire_circuit(circuit, reason="cut back", **worker)
        operations.retire_circuit(circuit, reason="cut back", **worker)
    assert told == [Told("circuit.retired", circuit.pk, {}, {"reason": "cut back"})]
    assert operations.add_circuit(board, id=new_id(), way=1, phase="L1", **worker).way == 1
