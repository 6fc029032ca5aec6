"""Changes to customers, sites, units, supplies, boards and circuits: what they write, record and refuse."""

from datetime import date
from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.premises import operations
from jobsite.premises.models import Board, Circuit, Party, Site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.factories import TODAY, Told, recorded

pytestmark = pytest.mark.django_db


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def worker(engineer, now):
    return {"by": engineer, "now": now}


def refusal(raised) -> tuple[str, str | None]:
    return raised.value.sentence, raised.value.field


# --- customers --------------------------------------------------------------------------------------------------------


def test_add_party_records_its_words_beside_the_facts(who) -> None:
    key = new_id()
    with recorded() as told:
        operations.add_party(id=key, name="Ada Invented", organisation=True, email="ada@example.org", **who)
    words = {"name": "Ada Invented", "email": "ada@example.org"}
    assert told == [Told("party.added", key, {"organisation": True}, words)]


def test_add_party_twice_with_the_same_key_makes_one(who) -> None:
    key = new_id()
    first = operations.add_party(id=key, name="Ada Invented", **who)
    with recorded() as told:
        again = operations.add_party(id=key, name="Ada Invented", **who)
    assert (again, told, Party.objects.count()) == (first, [], 1)


def test_add_party_is_the_offices(worker) -> None:
    with pytest.raises(NotAllowed):
        operations.add_party(id=new_id(), name="Ada Invented", **worker)


def test_edit_party_records_before_and_after(who) -> None:
    party = make.make_party("Ada Invented", phone="01632 960001")
    with recorded() as told:
        operations.edit_party(party, version=1, name="Ada Invented", phone="01632 960002", organisation=True, **who)
    words = {"phone": "01632 960002", "phone_before": "01632 960001"}
    assert told == [Told("party.changed", party.pk, {"organisation": [False, True]}, words)]
    party.refresh_from_db()
    assert (party.phone, party.version) == ("01632 960002", 2)


def test_edit_party_with_nothing_new_records_nothing(who) -> None:
    party = make.make_party("Ada Invented")
    with recorded() as told:
        operations.edit_party(party, version=1, name="Ada Invented", **who)
    assert told == []


def test_edit_party_by_two_people_gives_the_second_both_versions(who) -> None:
    party = make.make_party("Ada Invented")
    operations.edit_party(party, version=1, phone="01632 960002", **who)
    with pytest.raises(ChangedMeanwhile) as raised:
        operations.edit_party(party, version=1, phone="01632 960003", **who)
    assert raised.value.theirs.phone == "01632 960002"


def test_edit_party_sent_twice_is_no_change_meanwhile(who) -> None:
    party = make.make_party("Ada Invented")
    operations.edit_party(party, version=1, phone="01632 960002", **who)
    again = operations.edit_party(party, version=1, phone="01632 960002", **who)
    assert again.version == 2


def test_archive_party_with_a_site_is_refused(who, site) -> None:
    with pytest.raises(Refused, match="still has a site"):
        operations.archive_party(site.customer, **who)


def test_archive_party_and_bring_it_back(who) -> None:
    party = make.make_party("Ada Invented")
    with recorded() as told:
        operations.archive_party(party, **who)
        operations.archive_party(party, **who)
        operations.bring_back_party(party, **who)
    assert told == [Told("party.archived", party.pk), Told("party.brought-back", party.pk)]


# --- sites ------------------------------------------------------------------------------------------------------------


def open_site(who, **fields) -> Site:
    customer = make.make_party()
    fields = {"id": new_id(), "name": "Kiln Row", "address": "3 Kiln Row", "customer": customer} | fields
    return operations.open_site(**fields, **who)


def test_open_site_makes_its_one_unit_and_its_one_supply(who) -> None:
    with recorded() as told:
        site = open_site(who, kind="industrial", tenure="not-a-home", phases=("L1", "L2", "L3"), main_fuse_a=100)
    unit, supply = site.units.get(), site.supplies.get()
    assert (unit.name, unit.whole_site, unit.kind) == ("Kiln Row", True, "industrial")
    assert (supply.name, supply.phases, supply.earthing) == ("Intake", ["L1", "L2", "L3"], "unknown")
    facts = {"number": site.number, "nation": "england", "customer": str(site.customer_id), "kind": "industrial"}
    facts |= {"tenure": "not-a-home", "phases": ["L1", "L2", "L3"], "earthing": "unknown", "main_fuse_a": 100}
    facts |= {"unit": str(unit.pk), "supply": str(supply.pk)}
    assert told == [Told("site.opened", site.pk, facts, {"name": "Kiln Row", "address": "3 Kiln Row"})]


def test_open_site_twice_takes_one_number(who) -> None:
    key = new_id()
    first = open_site(who, id=key)
    assert open_site(who, id=key) == first
    assert open_site(who).number == first.number + 1


def test_open_site_without_a_name_says_so(who) -> None:
    with pytest.raises(Refused) as raised:
        open_site(who, name="")
    assert refusal(raised) == ("Enter a name for the site.", "name")


def test_open_site_without_a_phase_says_so(who) -> None:
    with pytest.raises(Refused) as raised:
        open_site(who, phases=())
    assert refusal(raised) == ("A supply has at least one of the phases L1, L2 and L3.", "phases")


def test_open_site_for_a_new_customer_is_one_operation(who) -> None:
    from jobsite.ledger.models import Entry

    key = new_id()
    customer = {"name": "Ada Invented", "email": "", "phone": ""}
    fields = {"id": new_id(), "name": "Kiln Row", "address": "3 Kiln Row"}
    site = operations.open_site_for_new_customer(customer_id=key, customer=customer, **fields, **who)
    assert site.customer_id == key
    assert Entry.objects.values("operation").distinct().count() == 1


def test_open_site_for_a_new_customer_leaves_nobody_behind_when_refused(who) -> None:
    fields = {"id": new_id(), "name": "", "address": "3 Kiln Row"}
    with pytest.raises(Refused):
        operations.open_site_for_new_customer(customer_id=new_id(), customer={"name": "Ada"}, **fields, **who)
    assert Party.objects.count() == 0


def test_edit_site_renames_the_one_unit_with_it(who, site) -> None:
    operations.edit_site(site, version=1, name="New Name", **who)
    assert site.units.get().name == "New Name"


def test_edit_site_sorts_by_its_new_name(who, site) -> None:
    operations.edit_site(site, version=1, name="Mill 9", **who)
    site.refresh_from_db()
    assert site.sort == "mill 00000009"


def test_edit_plain_site_changes_three_rows_or_none(who, site) -> None:
    board = make.make_board(site)
    assert board.phases == ["L1"]
    versions = {"version": 1, "unit_version": 1, "supply_version": 1}
    with pytest.raises(Refused) as raised:
        operations.edit_plain_site(
            site, **versions, name="New", of_unit={"kind": "shop"}, of_supply={"phases": ["L2"]}, **who
        )
    assert refusal(raised) == ("Board 1 has a phase that its feed lacks.", "phases")
    site.refresh_from_db()
    assert (site.name, site.units.get().kind) == ("Sample House", "house")
    with recorded() as told:
        operations.edit_plain_site(
            site, **versions, name="New", of_unit={"kind": "shop"}, of_supply={"earthing": "TT"}, **who
        )
    assert [(t.verb, t.facts) for t in told] == [
        ("site.changed", {}),
        ("unit.changed", {"kind": ["house", "shop"]}),
        ("supply.changed", {"earthing": ["unknown", "TT"]}),
    ]


def test_edit_plain_site_notices_a_change_of_its_supply(who, worker, site) -> None:
    operations.edit_supply(site.supplies.get(), version=1, ze_ohm=Decimal("0.35"), **worker)
    with pytest.raises(ChangedMeanwhile):
        operations.edit_plain_site(
            site,
            version=1,
            unit_version=1,
            supply_version=1,
            of_unit={},
            of_supply={"earthing": "TT"},
            **who,
        )


def test_edit_site_is_not_the_engineers(worker, site) -> None:
    with pytest.raises(NotAllowed):
        operations.edit_site(site, version=1, name="New Name", **worker)


def test_archived_site_takes_no_changes_until_it_is_brought_back(who, worker, site) -> None:
    with recorded() as told:
        operations.archive_site(site, **who)
        operations.archive_site(site, **who)
    assert told == [Told("site.archived", site.pk)]
    with pytest.raises(Refused, match="bring it back"):
        operations.add_board(site, id=new_id(), designation="New", phases=["L1"], **worker)
    operations.bring_back_site(site, **who)
    operations.add_board(site, id=new_id(), designation="New", phases=["L1"], **worker)


def test_grant_access_shows_a_subcontractor_one_site(site, subcontractor, now) -> None:
    make.make_site("Elsewhere")
    assert list(Site.objects.visible_to(subcontractor)) == []
    operations.grant_access(site, subcontractor, now=now)
    operations.grant_access(site, subcontractor, now=now)
    assert list(Site.objects.visible_to(subcontractor)) == [site]


def test_subcontractor_changes_only_what_they_see(site, subcontractor, now) -> None:
    board = make.make_board(site)
    with pytest.raises(NotAllowed):
        operations.edit_board(board, version=1, place="Hall", by=subcontractor, now=now)
    operations.grant_access(site, subcontractor, now=now)
    assert operations.edit_board(board, version=1, place="Hall", by=subcontractor, now=now).place == "Hall"


# --- units ------------------------------------------------------------------------------------------------------------


def test_second_unit_ends_the_plain_site(who, site) -> None:
    with recorded() as told:
        flat = operations.add_unit(site, id=new_id(), name="Flat 2", tenure="private-rented", **who)
    assert [unit.whole_site for unit in site.units.all()] == [False, False]
    facts = {"kind": "house", "tenure": "private-rented"}
    assert told == [Told("unit.added", flat.pk, facts, {"name": "Flat 2"})]


def test_two_units_of_one_name_are_refused_whatever_the_case(who, site) -> None:
    operations.add_unit(site, id=new_id(), name="Flat 2", **who)
    with pytest.raises(Refused) as raised:
        operations.add_unit(site, id=new_id(), name="FLAT 2", **who)
    assert refusal(raised) == ("Another unit of this site has this name.", "name")


def test_retire_unit_but_never_the_last(who, site) -> None:
    flat = operations.add_unit(site, id=new_id(), name="Flat 2", **who)
    assert operations.retire_unit(flat, **who).retired_at
    with pytest.raises(Refused, match="only one left"):
        operations.retire_unit(site.units.current().get(), **who)


def test_give_role_with_a_standing_limit(who, site) -> None:
    unit, party, key = site.units.get(), make.make_party("Ada Invented"), new_id()
    with recorded() as told:
        operations.give_role(
            unit, id=key, party=party, role="approver", since=TODAY, limit_pounds=Decimal("250.00"), **who
        )
    facts = {"unit": str(unit.pk), "party": str(party.pk), "role": "approver", "since": "2026-02-03"}
    assert told == [Told("role.given", key, facts | {"limit_pounds": "250.00"})]


@pytest.mark.parametrize(
    ("role", "limit", "sentence"),
    [
        ("owner", Decimal(1), "Only a party that approves work has a limit."),
        ("approver", Decimal(-1), "A limit cannot be less than nothing."),
    ],
)
def test_give_role_refuses_a_limit_that_means_nothing(who, site, role, limit, sentence) -> None:
    with pytest.raises(Refused) as raised:
        operations.give_role(
            site.units.get(), id=new_id(), party=site.customer, role=role, since=TODAY, limit_pounds=limit, **who
        )
    assert refusal(raised) == (sentence, "limit_pounds")


def test_same_role_from_the_same_day_is_refused(who, site) -> None:
    role = {"party": site.customer, "role": "owner", "since": TODAY}
    operations.give_role(site.units.get(), id=new_id(), **role, **who)
    with pytest.raises(Refused) as raised:
        operations.give_role(site.units.get(), id=new_id(), **role, **who)
    assert refusal(raised) == ("This party is already entered in this part from that day.", "party")


def test_end_role_not_before_it_began(who, site) -> None:
    role = operations.give_role(site.units.get(), id=new_id(), party=site.customer, role="owner", since=TODAY, **who)
    with pytest.raises(Refused) as raised:
        operations.end_role(role, until=date(2026, 2, 2), **who)
    assert refusal(raised) == ("The last day cannot be before the first.", "until")
    with recorded() as told:
        operations.end_role(role, until=TODAY, **who)
        operations.end_role(role, until=TODAY, **who)
    assert told == [Told("role.ended", role.pk, {"until": "2026-02-03"})]


# --- supplies ---------------------------------------------------------------------------------------------------------


def test_add_supply(worker, site) -> None:
    key = new_id()
    with recorded() as told:
        operations.add_supply(
            site, id=key, name="Yard", phases=["L1"], earthing="TT", ze_ohm=Decimal("21.0"), main_fuse_a=63, **worker
        )
    facts = {"phases": ["L1"], "voltage": 230, "main_fuse_a": 63, "earthing": "TT", "ze_ohm": "21.0"}
    assert told == [Told("supply.added", key, facts, {"name": "Yard"})]


def test_retire_supply_only_when_it_feeds_nothing_and_is_not_the_last(worker, site) -> None:
    board, first = make.make_board(site), make.supply_of(site)
    with pytest.raises(Refused, match="still feeds Board 1"):
        operations.retire_supply(first, **worker)
    board.feeds.get().delete()
    with pytest.raises(Refused, match="only one left"):
        operations.retire_supply(first, **worker)
    operations.add_supply(site, id=new_id(), name="Yard", phases=["L1"], **worker)
    assert operations.retire_supply(first, **worker).retired_at


# --- boards -----------------------------------------------------------------------------------------------------------


def test_add_board_is_believed_until_somebody_says_how_it_was_verified(worker, engineer, site) -> None:
    key = new_id()
    with recorded() as told:
        board = operations.add_board(site, id=key, designation="DB A", phases=["L1"], label_found="Main", **worker)
    assert (board.designation_verified, board.verified_by) == (False, None)
    assert told == [Told("board.added", key, {"phases": ["L1"]}, {"designation": "DB A", "label_found": "Main"})]
    with recorded() as told:
        board = operations.verify_board(board, how="traced", **worker)
        operations.verify_board(board, how="traced", **worker)
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
