"""Changes to links of circuits and to second sources: what they write, record and refuse."""

from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.premises import operations
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, recorded
from tests.jobsite.premises import refusal

pytestmark = pytest.mark.django_db


# --- links ------------------------------------------------------------------------------------------------------------


def test_link_circuits_once_whichever_is_named_first(worker, site) -> None:
    board = make.make_board(site)
    one, other = make.make_circuit(board), make.make_circuit(board)
    with recorded() as told:
        link = operations.link_circuits(other, one, id=new_id(), kind="neutral", **worker)
    assert told == [Told("circuits.linked", link.pk, {"one": str(one.pk), "other": str(other.pk), "kind": "neutral"})]
    with pytest.raises(Refused) as raised:
        operations.link_circuits(one, other, id=new_id(), kind="neutral", **worker)
    assert refusal(raised) == ("This link is already recorded.", "other")


def test_circuit_is_not_linked_with_itself(worker, site) -> None:
    one = make.make_circuit(make.make_board(site))
    with pytest.raises(Refused) as raised:
        operations.link_circuits(one, one, id=new_id(), kind="neutral", **worker)
    assert refusal(raised) == ("A circuit cannot be linked with itself.", "other")


def test_circuits_of_two_sites_are_not_linked(worker, site) -> None:
    one = make.make_circuit(make.make_board(site))
    other = make.make_circuit(make.make_board(make.make_site("Elsewhere")))
    with pytest.raises(Refused, match="of another site"):
        operations.link_circuits(one, other, id=new_id(), kind="neutral", **worker)


def test_links_are_a_persons_word(now, site) -> None:
    board = make.make_board(site)
    with pytest.raises(NotAllowed):
        operations.link_circuits(
            make.make_circuit(board), make.make_circuit(board), id=new_id(), kind="neutral", by=CLOCK, now=now
        )


def test_unlink_circuits_twice_is_harmless(worker, site) -> None:
    board = make.make_board(site)
    link = make.make_link_of_circuits(make.make_circuit(board), make.make_circuit(board))
    key = link.pk
    with recorded() as told:
        operations.unlink_circuits(link, **worker)
        operations.unlink_circuits(link, **worker)
    assert [(t.verb, t.subject) for t in told] == [("circuits.unlinked", key)]


# --- second sources ---------------------------------------------------------------------------------------------------


def test_add_second_source(worker, site) -> None:
    board, key = make.make_board(site), new_id()
    with recorded() as told:
        operations.add_second_source(
            board,
            id=key,
            name="Roof",
            kind="pv",
            phases=["L1"],
            rating_kw=Decimal("3.68"),
            isolate_source_side="loft",
            wait_minutes=5,
            **worker,
        )
    facts = {"kind": "pv", "board": str(board.pk), "rating_kw": "3.68", "phases": ["L1"], "wait_minutes": 5}
    assert told == [Told("source.added", key, facts, {"name": "Roof", "isolate_source_side": "loft"})]


def test_second_source_on_a_phase_that_the_board_lacks_is_refused(worker, site) -> None:
    with pytest.raises(Refused) as raised:
        operations.add_second_source(
            make.make_board(site), id=new_id(), name="Roof", kind="pv", phases=["L1", "L3"], **worker
        )
    assert refusal(raised) == ("Board 1 has no L3.", "phases")


def test_second_source_on_a_circuit_of_another_board_is_refused(worker, site) -> None:
    board = make.make_board(site)
    circuit = make.make_circuit(make.make_board(site, "Board 2"))
    with pytest.raises(Refused) as raised:
        operations.add_second_source(
            board, id=new_id(), name="Roof", kind="pv", phases=["L1"], circuit=circuit, **worker
        )
    assert refusal(raised) == ("That circuit is not on Board 1.", "circuit")


@pytest.mark.parametrize("said", ["none", "N/A", "Not known.", " ? ", "no isolator found"])
@pytest.mark.parametrize("side", ["isolate_supply_side", "isolate_source_side"])
def test_no_isolator_is_not_entered_as_one(worker, site, said, side) -> None:
    board = make.make_board(site)
    with pytest.raises(Refused) as raised:
        operations.add_second_source(
            board, id=new_id(), name="Roof", kind="pv", phases=["L1"], **{side: said}, **worker
        )
    told = (
        "Leave this empty where no isolator is known: words here are taken for one that can be switched off and locked."
    )
    assert refusal(raised) == (told, side)
    source = make.make_second_source(board)
    with pytest.raises(Refused) as raised:
        operations.edit_second_source(source, version=1, **{side: said}, **worker)
    assert refusal(raised) == (told, side)


def test_second_source_waits_no_negative_time(worker, site) -> None:
    source = make.make_second_source(make.make_board(site))
    with pytest.raises(Refused) as raised:
        operations.edit_second_source(source, version=1, wait_minutes=-1, **worker)
    assert refusal(raised) == ("The minutes to wait cannot be less than 0.", "wait_minutes")


def test_retire_second_source_twice_is_recorded_once(worker, site) -> None:
    source = make.make_second_source(make.make_board(site))
    with recorded() as told:
        operations.retire_second_source(source, reason="sold", **worker)
        operations.retire_second_source(source, reason="sold", **worker)
    assert told == [Told("source.retired", source.pk, {}, {"reason": "sold"})]


def test_key_used_at_one_site_is_refused_at_another(worker, site) -> None:
    board = make.make_board(site)
    with pytest.raises(Refused, match="already used for something else"):
        operations.add_board(make.make_site("Elsewhere"), id=board.pk, designation="DB A", phases=["L1"], **worker)
