"""Sites recorded twice, handed over; boards changed for new ones; what was taken out and comes back."""

from datetime import date, timedelta

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.models import Chain, Document, Entry, Hold
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import faults, heads
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises import operations, queries
from jobsite.premises.models import Board, Circuit, Feed, Site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY, recorded
from tests.faults.world import everything
from tests.jobsite.premises import refusal, text_of
from tests.remedials.desk import statements

pytestmark = pytest.mark.django_db
SAME = "The same door, seen on site"


def merged(gone, into, *, names=None, reason=SAME, **who):
    return operations.merge_sites(gone, into=into, names=names or {}, reason=reason, **who)


@pytest.fixture
def twice(who):
    """One house, recorded twice for one customer, each with a board; told in the ledger."""
    customer = make.make_party()
    opened = [
        operations.open_site(id=new_id(), name=name, address="3 Kiln Row", customer=customer, **who)
        for name in ("Kiln Row 3", "3 Kiln Row")
    ]
    for site, board in zip(opened, ("Hall", "Shed"), strict=True):
        make.make_circuit(make.make_board(site, board))
    return opened


# --- recorded twice ---------------------------------------------------------------------------------------------------


def test_all_of_one_goes_over_to_the_other(twice, who) -> None:
    gone, into = twice
    report = make.make_inspection(gone)
    seen = make.make_observation(gone, code="C2", inspection=report)
    with recorded() as told:
        for _ in range(2):
            merged(gone, into, **who)
    unit = into.units.current().get()
    seen.refresh_from_db()
    report.refresh_from_db()
    assert (seen.site, seen.unit, report.site) == (into, unit, into)
    assert list(report.units.all()) == [unit]
    assert list(into.boards.order_by("sort").values_list("designation", flat=True)) == ["Hall", "Shed"]
    gone.refresh_from_db()
    assert (gone.merged_into, gone.archived_at is not None) == (into, True)
    verbs = sorted(t.verb for t in told if t.verb.startswith("site."))
    assert verbs == ["site.merged", "site.took-over"]
    assert into.supplies.current().count() == 1


def test_nothing_that_refers_to_a_site_is_forgotten(who) -> None:
    """Every kind of row there is, by a world that has one of each; and a kind with a plain key is known by name."""
    everything(who["by"])
    gone = Site.objects.get()
    into = make.make_site("The same", customer=gone.customer, nation=gone.nation)
    merged(gone, into, names={row.pk: f"{row} of old" for row in queries.clashing(gone, into)}, **who)
    for model in apps.get_models():
        for field in model._meta.fields:
            if field.related_model is Site and model._meta.managed and model is not Site:
                assert not model._base_manager.filter(**{field.name: gone}).exists(), (model, field.name)
    plain = {m for m in apps.get_models() for f in m._meta.fields if f.name == "site" and not f.is_relation}
    assert plain == {Message, PrivateLink, Document, Hold}, "tell merge_sites of the new one"
    assert not Message.objects.filter(site=gone.pk).exists()
    assert not PrivateLink.objects.filter(site=gone.pk).exists()
    assert not Document.objects.filter(site=gone.pk).exists()
    assert not Hold.objects.filter(site=gone.pk).exists()


def test_the_chain_is_closed_and_the_other_names_its_head(twice, who) -> None:
    gone, into = twice
    merged(gone, into, **who)
    chain = Chain.objects.get(pk=gone.pk)
    named = Entry.objects.get(chain=into.pk, verb="site.took-over").facts
    assert chain.closed_into == into.pk
    assert (named["closes"], named["length"], named["head"]) == (str(gone.pk), chain.length, bytes(chain.head).hex())
    assert list(faults(heads())) == []
    with pytest.raises(RuntimeError, match="was closed"):
        tell_of(gone, who)
    Chain.objects.filter(pk=gone.pk).update(closed_into=make.make_site("Else").pk)
    assert list(faults()) == [f"Chain {gone.pk}: it was closed, but the chain it went over to does not name it."]


@operation
def tell_of(site, who) -> None:
    record("site.changed", site=site.pk, subject=site, **who)


def test_names_that_clash_are_asked_for(twice, who) -> None:
    gone, into = twice
    other = make.make_board(gone, "Shed", fed=False)
    assert [str(row) for row in queries.clashing(gone, into)] == ["Shed"]
    with pytest.raises(Refused) as raised:
        merged(gone, into, **who)
    assert "has this" in refusal(raised)[0]
    gone.refresh_from_db()
    assert gone.merged_into is None
    names = {row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}
    merged(gone, into, names=names, **who)
    assert into.boards.get(pk=other.pk).designation == "Shed (2)"


def test_sites_in_parts_keep_their_units(who) -> None:
    customer = make.make_party()
    gone, into = make.make_site("A", customer=customer), make.make_site("B", customer=customer)
    make.make_unit(gone, "Flat 1")
    gone.units.update(whole_site=False)
    names = {row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}
    merged(gone, into, names=names, **who)
    assert into.units.current().filter(whole_site=True).count() == 0
    assert into.units.current().count() == 3


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"customer": "other"}, "They belong to different customers: hand one of them over first."),
        ({"nation": "wales"}, "They lie in different nations: put that right first."),
        ({"archived_at": NOON}, "B is archived: bring it back first."),
    ],
)
def test_what_cannot_be_one_site(who, change, sentence) -> None:
    customer = make.make_party()
    gone, into = make.make_site("A", customer=customer), make.make_site("B", customer=customer)
    for name, value in change.items():
        setattr(into, name, make.make_party("Else") if value == "other" else value)
    into.save()
    with recorded() as told, pytest.raises(Refused) as raised:
        merged(gone, into, **who)
    assert refusal(raised)[0] == sentence
    assert told == []


def test_an_engineer_makes_no_two_sites_one(twice, worker) -> None:
    with pytest.raises(NotAllowed):
        merged(*twice, **worker)


def test_the_old_address_and_the_old_name_lead_to_the_other(twice, who, at_desk) -> None:
    gone, into = twice
    merged(gone, into, names={row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}, **who)
    assert at_desk.get(reverse("desk:site", args=[gone.pk]))["Location"] == reverse("desk:site", args=[into.pk])
    assert "Kiln Row 3" in text_of(at_desk.get(reverse("desk:search"), {"q": "Kiln Row 3"}))
    assert "all of it is at 3 Kiln Row" in text_of(at_desk.get(reverse("premises:premises", args=[gone.pk])))
    shown = text_of(at_desk.get(reverse("desk:history", args=[into.pk])))
    assert "history of Kiln Row 3, site" in shown
    assert "site recorded twice" in text_of(at_desk.get(reverse("desk:history", args=[gone.pk])))
    with pytest.raises(Refused, match="nothing of it is left"):
        operations.bring_back_site(gone, **who)


def test_the_pages_ask_first(twice, at_desk) -> None:
    gone, into = twice
    where = reverse("premises:site_merge", args=[gone.pk])
    assert at_desk.post(where, {"other": str(into.pk)})["Location"] == f"{where}?into={into.pk}"
    shown = text_of(at_desk.get(f"{where}?into={into.pk}"))
    assert "This cannot be undone." in shown
    assert "1 board" in shown
    shed = make.make_board(gone, "Shed", fed=False)
    assert at_desk.post(f"{where}?into={into.pk}", {f"name-{shed.pk}": "Old shed"}).status_code == 422
    at_desk.post(f"{where}?into={into.pk}", {f"name-{shed.pk}": "Old shed", "reason": SAME})
    assert into.boards.filter(designation="Old shed").exists()


@pytest.mark.django_db(transaction=True)
def test_a_board_added_at_the_same_time_is_at_one_of_the_two(office, now) -> None:
    customer = make.make_party()
    gone, into = make.make_site("A", customer=customer), make.make_site("B", customer=customer)
    names = {row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}
    who = {"by": office, "now": now}
    at_once(
        lambda: merged(gone, into, names=names, **who),
        lambda: operations.add_board(gone, id=new_id(), designation="New", phases=["L1"], **who),
    )
    gone.refresh_from_db()
    assert gone.merged_into == into
    assert not gone.boards.exists()
    assert list(faults()) == []


def test_after_it_went_over_an_issued_report_is_as_frozen_as_before(twice, who) -> None:
    gone, into = twice
    report = make.make_inspection(gone)
    seen = make.make_observation(gone, code="C2", inspection=report)
    merged(gone, into, **who)
    other = make.make_unit(into, "Barn")
    for change in ({"unit": other}, {"text": "Else"}):
        with pytest.raises(IntegrityError, match="frozen"), transaction.atomic():
            type(seen).objects.filter(pk=seen.pk).update(**change)


@pytest.mark.parametrize(
    ("mine", "theirs", "sentence"),
    [
        ({"earthing": "TT"}, {"earthing": "TN-S"}, "The two records give different earthing arrangements"),
        ({"phases": ["L1", "L2", "L3"]}, {}, "The two records give different phases"),
    ],
)
def test_two_records_of_one_intake_that_contradict_each_other(twice, who, mine, theirs, sentence) -> None:
    for site, fields in zip(twice, (mine, theirs), strict=True):
        site.supplies.update(**fields)
    with recorded() as told, pytest.raises(Refused, match=sentence):
        merged(*twice, **who)
    assert told == []


def test_what_only_one_record_knows_is_kept(twice, who) -> None:
    gone, into = twice
    gone.supplies.update(earthing="TT", ze_ohm="21.5")
    merged(gone, into, **who)
    supply = into.supplies.current().get()
    assert (supply.earthing, str(supply.ze_ohm), supply.version) == ("TT", "21.500", 2)


def test_where_units_stay_apart_a_link_to_the_whole_ends(who) -> None:
    customer = make.make_party()
    gone, into = make.make_site("A", customer=customer), make.make_site("B", customer=customer)
    flat = make.make_unit(gone, "Flat 1")
    gone.units.update(whole_site=False)
    later = NOON + timedelta(days=90)
    whole, _ = make.make_link(gone, expires_at=later)
    one, _ = make.make_link(gone, unit=flat, expires_at=later)
    merged(gone, into, names={row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}, **who)
    for link in (whole, one):
        link.refresh_from_db()
    assert (whole.withdrawn_at, one.withdrawn_at, one.site) == (NOON, None, into.pk)


# --- handed over ------------------------------------------------------------------------------------------------------


def hand(site, to, *, on=TODAY, reason="Sold", roles=("owner",), version=1, **who):
    return operations.hand_over_site(site, to=to, on=on, reason=reason, roles=roles, version=version, **who)


def test_a_site_goes_to_another_customer(site, who) -> None:
    former, to = site.customer, make.make_party("Nora Newowner")
    unit = make.unit_of(site)
    for role in ("owner", "payer"):
        unit.parties.create(party=former, role=role, since=date(2020, 1, 1))
    link, _ = make.make_link(site, expires_at=NOON + timedelta(days=90))
    Message.objects.create(
        occasion="one", to_kind="customer", to_id=former.pk, address="a@example.com", subject="s", body="b",
        site=site.pk, written_at=NOON, next_try_at=NOON,
    )  # fmt: skip
    with recorded() as told:
        for _ in range(2):
            hand(site, to, **who)
    site.refresh_from_db()
    assert site.customer == to
    rows = unit.parties.order_by("since", "role").values_list("party__name", "role", "until")
    assert list(rows) == [
        (former.name, "owner", TODAY - timedelta(days=1)),
        (former.name, "payer", TODAY - timedelta(days=1)),
        ("Nora Newowner", "owner", None),
    ]
    link.refresh_from_db()
    assert link.withdrawn_at == NOON
    message = Message.objects.get()
    assert (message.state, message.error) == ("dropped", "The site went over to another customer.")
    facts = told[-1].facts
    assert (told[-1].verb, facts["links_withdrawn"], facts["messages_dropped"]) == ("site.handed-over", 1, 1)
    gone = former.former_sites.get()
    assert (gone.site, gone.until, gone.reason) == (site, TODAY - timedelta(days=1), "Sold")


@pytest.mark.parametrize(
    ("told", "field"), [({"reason": " "}, "reason"), ({"on": TODAY + timedelta(days=1)}, "on")]
)  # fmt: skip
def test_handing_over_says_when_and_why(site, who, told, field) -> None:
    with pytest.raises(Refused) as raised:
        hand(site, make.make_party("New"), **told, **who)
    assert refusal(raised)[1] == field


def test_not_from_before_the_former_customer(site, who) -> None:
    make.unit_of(site).parties.create(party=site.customer, role="owner", since=TODAY)
    with pytest.raises(Refused, match="choose a later day"):
        hand(site, make.make_party("New"), **who)


def test_two_people_hand_over_one_site(site, who) -> None:
    hand(site, make.make_party("New"), **who)
    with pytest.raises(ChangedMeanwhile):
        hand(site, make.make_party("Newer"), **who)


def test_the_page_hands_over_and_the_former_customer_says_so(site, at_desk) -> None:
    former, to = site.customer, make.make_party("Nora Newowner")
    where = reverse("premises:site_hand_over", args=[site.pk])
    assert "Private links of the former customer are withdrawn" in text_of(at_desk.get(where))
    at_desk.post(where, {"version": "1", "to": str(to.pk), "on": "2026-02-03", "reason": "Sold", "roles": ["owner"]})
    shown = text_of(at_desk.get(reverse("premises:party", args=[former.pk])))
    assert f"Handed over {site.name} until 2 Feb 2026: Sold" in shown


# --- a board changed for a new one ------------------------------------------------------------------------------------


@pytest.fixture
def board(site):
    board = make.make_board(site, "Consumer unit", place="hall")
    way = make.make_circuit(board, 1, designation="Feed to shed", verified_how="traced", verified_on=TODAY)
    shed = make.make_board(site, "Shed", fed=False)
    make.make_feed(shed, way)
    other = make.make_circuit(shed, 1)
    make.make_link_of_circuits(way, other)
    make.make_second_source(board, circuit=way)
    return board


def replaced(board, **who):
    return operations.replace_board(
        board, id=new_id(), designation="Consumer unit", main_switch="100 A", reason="Consumer unit changed", **who
    )


def test_the_new_board_stands_where_the_old_one_stood(board, worker) -> None:
    seen = make.make_observation(board.site, code="C2", board=board)
    key = new_id()
    for _ in range(2):
        new = operations.replace_board(
            board, id=key, designation="Consumer unit", main_switch="100 A", reason="changed", **worker
        )
    board.refresh_from_db()
    assert (board.retired_at, board.feeds.count(), board.second_sources.count()) == (NOON, 0, 0)
    assert (new.place, new.designation_verified, new.feeds.get().from_supply is not None) == ("hall", False, True)
    copy = new.circuits.get()
    assert (copy.designation, copy.verified_how, copy.device_type, copy.label_found) == ("Feed to shed", "", "", "")
    onward = Feed.objects.get(board__designation="Shed")  # verified at the old board, believed at the new one
    assert (onward.from_circuit, onward.verified, onward.verified_how, onward.version) == (copy, False, "", 2)
    assert new.second_sources.get().circuit == copy
    assert {copy.pk} < {pk for link in board.site.circuit_links.all() for pk in (link.one_id, link.other_id)}
    seen.refresh_from_db()
    assert (seen.board, seen.ended) == (board, "")
    assert Board.objects.filter(site=board.site).count() == 3


def test_a_board_that_was_replaced_stays_out(board, worker, on_site) -> None:
    with recorded() as told:
        new = replaced(board, **worker)
    assert [t.verb for t in told] == ["board.replaced", "board.added", "circuit.added"]
    board.refresh_from_db()
    assert board.replaced_by == new
    with pytest.raises(Refused, match="was changed for Consumer unit"):
        operations.bring_back_board(board, **worker)
    shown = text_of(on_site.get(reverse("premises:board", args=[board.pk])))
    assert "This board was changed for a new one" in shown
    assert "It is there after all" not in shown


def test_a_new_board_says_why(board, worker) -> None:
    with pytest.raises(Refused, match="Say what was done"):
        operations.replace_board(board, id=new_id(), designation="CU", main_switch="", reason="", **worker)
    assert Circuit.objects.current().filter(board=board).exists()


def test_the_page_of_a_new_board(board, on_site) -> None:
    where = reverse("premises:board_replace", args=[board.pk])
    assert "stands at the new board as believed" in text_of(on_site.get(where))
    key = str(new_id())
    answer = on_site.post(where, {"id": key, "designation": "New unit", "reason": "changed"})
    assert answer["Location"] == reverse("premises:board", args=[key])


# --- taken out and back -----------------------------------------------------------------------------------------------


def test_what_was_taken_out_is_listed_with_who_and_why_and_comes_back(site, at_desk, who) -> None:
    hall = make.make_board(site, "Hall")
    way = make.make_circuit(hall, 3)
    panels = make.make_second_source(hall)
    operations.retire_second_source(panels, reason="taken off the roof", **who)
    operations.retire_circuit(way, reason="cable removed", **who)
    flat = make.make_unit(site, "Flat 2")
    operations.retire_unit(flat, **who)
    where = reverse("premises:taken_out", args=[site.pk])
    shown = text_of(at_desk.get(where))
    assert "cable removed" in shown
    assert "taken off the roof" in shown
    assert "Olive Deskworth" in shown
    for name, row in (("circuit", way), ("source", panels), ("unit", flat)):
        at_desk.post(reverse(f"premises:{name}_retire", args=[row.pk]), {"back": "yes"})
        row.refresh_from_db()
    assert (way.retired_at, panels.retired_at, flat.retired_at) == (None, None, None)
    assert "Nothing was taken out" in text_of(at_desk.get(where))


def test_nothing_comes_back_to_a_board_that_is_gone(site, worker) -> None:
    hall = make.make_board(site, "Hall")
    way = make.make_circuit(hall, 3)
    operations.retire_circuit(way, **worker)
    operations.retire_board(hall, **worker)
    with pytest.raises(Refused, match="Hall was taken out"):
        operations.bring_back_circuit(way, **worker)


def test_a_way_that_is_taken_is_not_given_back(site, worker) -> None:
    hall = make.make_board(site, "Hall")
    way = make.make_circuit(hall, 3)
    operations.retire_circuit(way, **worker)
    make.make_circuit(hall, 3)
    with pytest.raises(Refused, match="already a circuit on this way"):
        operations.bring_back_circuit(way, **worker)


@pytest.mark.parametrize("size", [1, 9])
def test_the_list_costs_the_same_at_any_size(site, at_desk, who, size) -> None:
    """Session, person, heartbeat, the site, five kinds, the ledger, its words, names."""
    for number in range(size):
        operations.retire_board(make.make_board(site, f"B{number}", fed=False), reason="gone", **who)
    with statements() as sql:
        at_desk.get(reverse("premises:taken_out", args=[site.pk]))
    assert len(sql) == 12
