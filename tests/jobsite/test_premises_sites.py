"""Changes to customers, sites, units and supplies: what they write, record and refuse."""

from datetime import date
from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.models import Party, Site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.factories import TODAY, Told, recorded
from tests.jobsite.premises import refusal

pytestmark = pytest.mark.django_db


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
    due = {"unit": str(flat.pk), "next_due_before": None, "next_due": TODAY.isoformat()}  # a let home without a report
    assert told == [
        Told("unit.added", flat.pk, facts, {"name": "Flat 2"}),
        Told("observation.recounted", flat.pk, due, {}),
    ]


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
