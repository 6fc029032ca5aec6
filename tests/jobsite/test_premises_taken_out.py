"""What was taken out is kept as it was: nothing of it is changed, and nothing new hangs on it."""

import pytest

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.models import Unit
from jobsite.refused import Refused
from tests import factories as make
from tests.factories import recorded

pytestmark = pytest.mark.django_db


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def shed(site):
    """A board, its one circuit and a battery at it."""
    board = make.make_board(site, "Shed")
    make.make_circuit(board, 1)
    battery = make.make_second_source(board, name="Battery")
    return board, board.circuits.get(), battery


VERIFY = {"id": new_id(), "designation": "Shed", "how": "traced", "version": 1}


def refusal(call) -> str:
    with recorded() as told, pytest.raises(Refused) as refused:
        call()
    assert told == []
    return refused.value.sentence


def test_a_board_is_changed_and_verified_only_while_it_is_there(site, who) -> None:
    board = make.make_board(site, "Shed")
    operations.retire_board(board, **who)
    sentence = "Shed was taken out."
    assert refusal(lambda: operations.edit_board(board, version=1, phases=["L2"], **who)) == sentence
    assert refusal(lambda: operations.verify(board, **VERIFY, **who)) == sentence
    operations.bring_back_board(board, **who)
    assert operations.edit_board(board, version=1, place="in the loft", **who).place == "in the loft"


def test_a_circuit_taken_out_is_neither_changed_nor_linked(shed, who) -> None:
    board, circuit, battery = shed
    other = make.make_circuit(board, 2)
    operations.retire_circuit(circuit, **who)
    sentence = "Way 1L1 was taken out."
    assert refusal(lambda: operations.edit_circuit(circuit, version=1, points=3, **who)) == sentence
    assert refusal(lambda: operations.link_circuits(other, circuit, id=new_id(), kind="neutral", **who)) == sentence
    # `circuit` is as a page fetched it before somebody took it out
    assert refusal(lambda: operations.edit_second_source(battery, version=1, circuit=circuit, **who)) == sentence


def test_a_second_source_taken_out_is_not_changed(shed, who) -> None:
    _, _, battery = shed
    operations.retire_second_source(battery, **who)
    asked = refusal(lambda: operations.edit_second_source(battery, version=1, wait_minutes=5, **who))
    assert asked == "Battery was taken out."


def test_a_unit_and_a_supply_taken_out_are_not_changed(site, who) -> None:
    unit = operations.add_unit(site, id=new_id(), name="Flat 2", **who)
    supply = operations.add_supply(site, id=new_id(), name="Yard", phases=["L1"], **who)
    operations.retire_unit(unit, **who)
    operations.retire_supply(supply, **who)
    assert refusal(lambda: operations.edit_unit(unit, version=1, tenure="let", **who)) == "Flat 2 was taken out."
    assert refusal(lambda: operations.edit_supply(supply, version=1, voltage=400, **who)) == "Yard was taken out."
    assert Unit.objects.get(pk=unit.pk).tenure == unit.tenure


def test_the_name_of_a_unit_or_a_supply_taken_out_is_free_again(site, who) -> None:
    for _ in range(2):
        unit = operations.add_unit(site, id=new_id(), name="Flat 2", **who)
        supply = operations.add_supply(site, id=new_id(), name="Yard", phases=["L1"], **who)
        sentence = refusal(lambda: operations.add_unit(site, id=new_id(), name="flat 2", **who))
        assert sentence == "Another unit of this site has this name."
        sentence = refusal(lambda: operations.add_supply(site, id=new_id(), name="yard", phases=["L1"], **who))
        assert sentence == "Another supply of this site has this name."
        operations.retire_unit(unit, **who)
        operations.retire_supply(supply, **who)
    assert Unit.objects.filter(site=site, name="Flat 2").count() == 2
