"""The pages of remedials: what they show, what they refuse in place, who may see them, what they cost."""

import csv
import io
import re
from datetime import date, timedelta
from html import unescape

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobsite.ids import new_id
from remedials.works.models import Approval, Remedial, Waiting, WayOut
from remedials.works.operations import wait_on
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.pages import at, refused
from tests.remedials.work import ask_reading, close, on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
PDF = b"%PDF-1.7 invented"


# --- the list ---------------------------------------------------------------------------------------------------------


def test_list_shows_what_is_to_come_the_earliest_first(at_desk, office) -> None:
    site = make.make_site("Old Pottery")
    late = make.make_remedial(make.make_observation(site, code="C1"), work="Lock it", step_by=date(2026, 1, 30))
    later = make.make_remedial(make.make_observation(site), work="Fit a cover", stage="approved")
    make.make_remedial(make.make_observation(site), work="Done with", stage="reviewed", step_by=None)
    shown = text_of(at_desk.get("/remedials/"))
    assert shown.index(f"{late.number} Lock it Old Pottery to price") < shown.index(f"{later.number} Fit a cover")
    assert "yesterday" not in shown
    assert "4 days late" in shown
    assert "Done with" not in shown


@pytest.mark.parametrize(
    ("query", "works"),
    [
        ({}, ["Alpha", "Beta", "Gamma"]),
        ({"stage": ""}, ["Alpha", "Beta", "Gamma", "Delta"]),
        ({"stage": "approved"}, ["Beta"]),
        ({"q": "pottery alpha"}, ["Alpha"]),
        ({"q": "nothing of it"}, []),
        ({"owner": "nobody"}, ["Gamma"]),
        ({"owner": "nonsense", "stage": "nonsense"}, ["Alpha", "Beta", "Gamma", "Delta"]),
    ],
)
def test_list_narrowed(at_desk, query, works) -> None:
    site = make.make_site("Old Pottery")
    for work, fields in (
        ("Alpha", {}),
        ("Beta", {"stage": "approved"}),
        ("Gamma", {"owner": None}),
        ("Delta", {"stage": "done", "owner": None, "step_by": None}),
    ):
        make.make_remedial(make.make_observation(site, code="C3"), work=work, **fields)
    found = re.findall("Alpha|Beta|Gamma|Delta", text_of(at_desk.get("/remedials/", query)))
    assert sorted(found) == sorted(works)


def test_list_finds_by_number_and_owner(at_desk, office) -> None:
    site = make.make_site()
    mine = make.make_remedial(make.make_observation(site), work="Alpha", owner=office)
    make.make_remedial(make.make_observation(site), work="Beta")
    assert "Beta" not in text_of(at_desk.get("/remedials/", {"q": str(mine.number)}))
    assert "Beta" not in text_of(at_desk.get("/remedials/", {"owner": str(office.pk)}))


def test_list_as_htmx_is_the_list_alone(at_desk) -> None:
    make.make_remedial(make.make_observation(make.make_site()))
    part = at_desk.get("/remedials/", headers={"HX-Request": "true"})
    assert (b"<html" in part.content, b"<table" in part.content) == (False, True)


def test_list_as_a_file_is_what_is_shown(at_desk) -> None:
    site = make.make_site("Old Pottery")
    one, two = make.make_observation(site, code="C2"), make.make_observation(site, code="C1")
    kept = make.make_remedial(one, two, work="=Fit", stage="approved")
    make.make_remedial(make.make_observation(site), work="Left out")
    got = at_desk.get("/remedials/", {"stage": "approved", "as": "csv"}).content.decode("utf-8-sig")
    numbers = f"{two.number} {one.number}"
    assert list(csv.reader(io.StringIO(got))) == [
        ["Number", "Stage", "Codes", "Site", "Work", "Owner", "Next step by", "Observations"],
        [str(kept.number), "approved", "C1 C2", "Old Pottery", "'=Fit", "Anymanager Body", "2026-02-03", numbers],
    ]
    book = at_desk.get("/remedials/", {"stage": "approved", "as": "xlsx"})
    assert book.content[:2] == b"PK"


def test_list_goes_on_behind_the_last_row(at_desk) -> None:
    site = make.make_site()
    for number in range(52):
        make.make_remedial(make.make_observation(site), work=f"Work {number:02}.")
    first = at_desk.get("/remedials/")
    further = re.search(r'rel="next" href="([^"]+)"', first.content.decode())
    assert further is not None
    second = at_desk.get(unescape(further[1]))
    works = [re.findall(r"Work \d\d\.", text_of(page)) for page in (first, second)]
    assert [len(found) for found in works] == [50, 2]
    assert len(set(works[0] + works[1])) == 52


@pytest.mark.parametrize("count", [1, 10])
def test_statements_of_the_list(at_desk, django_assert_num_queries, count) -> None:
    for number in range(count):
        site = make.make_site(f"Site {number}")
        make.make_remedial(make.make_observation(site), make.make_observation(site, code="C3"))
    at_desk.get("/remedials/")
    with django_assert_num_queries(LIST_STATEMENTS):
        assert at_desk.get("/remedials/").status_code == 200


# Session, person, names for the filter, rows, observations, and the banner of the clockwork for the office.
LIST_STATEMENTS = 6


@pytest.mark.parametrize("after", ["!", "AAAA", "W10", "WzFd"])
def test_a_damaged_page_address_is_a_bad_request(at_desk, after) -> None:
    assert at_desk.get("/remedials/", {"after": after}).status_code == 400


def test_reviews_show_what_waits_for_one(client, qualified, engineer) -> None:
    remedial = on_the_way("C2", site=make.make_site("Old Pottery"), work="Lock it")
    close(remedial, by=engineer)
    close(on_the_way("C3", site=remedial.site, work="Label it"), by=engineer)
    client.force_login(qualified)
    shown = text_of(client.get("/reviews/"))
    assert f"{remedial.number} Lock it Old Pottery Edwin Wireman, 3 Feb 2026, 12:00 Quentin Prover" in shown
    assert "Label it" not in shown


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_the_reviews(client, qualified, engineer, django_assert_num_queries, count) -> None:
    for _ in range(count):
        close(on_the_way("C2", "C3"), by=engineer)
    client.force_login(qualified)
    client.get("/reviews/")
    with django_assert_num_queries(8):
        assert client.get("/reviews/").status_code == 200


# --- making -----------------------------------------------------------------------------------------------------------


def make_data(*observations, **more) -> dict:
    return {
        "id": str(new_id()),
        "observations": [o.pk for o in observations],
        "work": "Fit a cover",
        "power_off": "no",
    } | more


def test_make_from_chosen_observations(at_desk, office) -> None:
    site = make.make_site("Old Pottery")
    board = make.make_board(site, "Kiln board")
    circuit = make.make_circuit(board, designation="Kiln 1")
    one, two = make.make_observation(site, "Cover missing", board=board), make.make_observation(site, "Loose neutral")
    make.make_observation(site, "Not chosen")
    address = f"{at('make', site)}?observation={one.pk}&observation={two.pk}"
    shown = at_desk.get(address)
    assert "Not chosen" not in text_of(shown)
    assert shown.content.decode().count("checked") >= 2
    sent = make_data(
        one,
        two,
        circuits=[str(circuit.pk)],
        quantities=["loop-impedance"],
        minutes="45",
        photo_required="on",
        notifiable="on",
    )
    done = at_desk.post(address, sent)
    remedial = Remedial.objects.get()
    assert (done.status_code, done["Location"]) == (302, f"/remedials/{remedial.pk}/")
    assert (set(remedial.observations.all()), remedial.minutes, remedial.owner) == ({one, two}, 45, office)
    assert [need.circuit for need in remedial.required_readings.all()] == [circuit]


def test_make_offers_what_no_remedial_carries(at_desk) -> None:
    site = make.make_site()
    make.make_observation(site, "Free one")
    make.make_remedial(make.make_observation(site, "Carried one"))
    make.make_remedial(make.make_observation(site, "Free again"), stage="cancelled")
    shown = text_of(at_desk.get(at("make", site)))
    assert ("Free one" in shown, "Carried one" in shown, "Free again" in shown) == (True, False, True)


def test_make_where_nothing_is_open(at_desk) -> None:
    assert "Nothing here waits for a remedial" in text_of(at_desk.get(at("make", make.make_site())))


def test_make_says_what_is_wrong_and_keeps_what_was_typed(at_desk) -> None:
    observation = make.make_observation(make.make_site())
    address = at("make", observation.site)
    answer = at_desk.post(address, make_data(observation, work="", skill="Jointer", step_by="2026-02-02"))
    assert refused(answer, "Needed: fill this in.")
    assert 'value="Jointer"' in answer.content.decode()
    assert refused(at_desk.post(address, make_data(observation, step_by="2026-02-02")), "This day is past")
    assert refused(at_desk.post(address, make_data()), "Choose at least one.")
    assert Remedial.objects.count() == 0


def test_make_asks_whether_power_goes_off_and_presumes_nothing(at_desk) -> None:
    observation = make.make_observation(make.make_site())
    address = f"{at('make', observation.site)}?observation={observation.pk}"
    radios = re.findall(r'<input type="radio" name="power_off"[^>]*>', at_desk.get(address).content.decode())
    assert (len(radios), sum("checked" in radio for radio in radios)) == (3, 0)
    sent = make_data(observation)
    del sent["power_off"]
    assert refused(at_desk.post(address, sent), "Must power go off for it? : Choose one.")
    at_desk.post(address, sent | {"power_off": "unknown"})
    remedial = Remedial.objects.get()
    assert remedial.power_off is None
    assert "not known yet whether it must go off" in text_of(at_desk.get(f"/remedials/{remedial.pk}/"))
    shown = at_desk.get(at("edit", remedial)).content.decode()
    assert re.search(r'name="power_off" value="unknown"[^>]* checked', shown) is not None


@pytest.mark.parametrize(("field", "most"), [("work", 2_000), ("skill", 200), ("see_to_first", 200)])
def test_make_says_what_is_too_long_and_keeps_it(at_desk, field, most) -> None:
    observation = make.make_observation(make.make_site())
    long = "x" * (most + 1)
    answer = at_desk.post(at("make", observation.site), make_data(observation, **{field: long}))
    assert refused(answer, f"This is longer than {most} characters.")
    assert (long in answer.content.decode(), Remedial.objects.count()) == (True, 0)
    sent = make_data(observation, **{field: "x" * most})
    assert at_desk.post(at("make", observation.site), sent).status_code == 302


def test_make_asks_for_the_unit_where_there_are_several(at_desk) -> None:
    site = make.make_site()
    flat = make.make_unit(site, "Flat 2")
    both = [make.make_observation(site), make.make_observation(site, unit=flat)]
    assert refused(at_desk.post(at("make", site), make_data(*both)), "several units")
    at_desk.post(at("make", site), make_data(*both, unit=str(flat.pk)))
    assert Remedial.objects.get().unit == flat


def test_edit_keeps_both_versions_when_two_people_save(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()), work="Fit a cover")
    data = {"version": "1", "work": "Fit two covers", "power_off": "yes"}
    assert at_desk.post(at("edit", remedial), data).status_code == 302
    answer = at_desk.post(at("edit", remedial), data | {"work": "Fit three"})
    assert refused(answer, "Somebody else changed this remedial meanwhile.")
    assert ("Fit two covers" in text_of(answer), "Fit three" in text_of(answer)) == (True, True)


def test_edit_changes_the_readings_and_keeps_an_entered_limit(at_desk) -> None:
    remedial = on_the_way("C2", stage="to-price")
    first = ask_reading(remedial, designation="Sockets")
    remedial.required_readings.update(limit_entered="1.5", limit_source="maker's data")
    second = make.make_circuit(first.board, designation="Cooker")
    data = {"version": "1", "work": remedial.work, "power_off": "no", "circuits": [str(first.pk), str(second.pk)]}
    data |= {"quantities": ["loop-impedance"]}
    at_desk.post(at("edit", remedial), data)
    kept = {n.circuit: (n.limit_entered, n.limit_source) for n in remedial.required_readings.all()}
    assert (float(kept[first][0]), kept[first][1], kept[second]) == (1.5, "maker's data", (None, ""))


def test_circuits_to_read_need_something_to_read(at_desk) -> None:
    remedial = on_the_way("C2", stage="to-price")
    circuit = make.make_circuit(make.make_board(remedial.site), designation="Cooker", rcd_ma=30)
    data = {"version": "1", "work": remedial.work, "power_off": "no", "circuits": [str(circuit.pk)]}
    assert refused(at_desk.post(at("edit", remedial), data), "Choose what is read on these circuits")
    at_desk.post(at("edit", remedial), data | {"retest": "device"})
    asked = set(remedial.required_readings.values_list("quantity", flat=True))
    assert asked == {"polarity", "loop-impedance", "rcd-time", "functional-check"}


def test_what_was_taken_off_one_circuit_stays_off_when_another_is_added(at_desk) -> None:
    """Circuit one is asked for two readings, two for one: a third circuit gets both, and the second no more than it had."""
    remedial = on_the_way("C2", stage="to-price")
    one = ask_reading(remedial, designation="Sockets")
    two = ask_reading(remedial, designation="Cooker")
    remedial.required_readings.create(circuit=one, quantity="polarity")
    three = make.make_circuit(one.board, designation="Lights")
    data = {"version": "1", "work": remedial.work, "power_off": "no"}
    data |= {"circuits": [str(c.pk) for c in (one, two, three)], "quantities": ["loop-impedance", "polarity"]}
    assert at_desk.post(at("edit", remedial), data).status_code == 302
    asked = {(n.circuit, n.quantity) for n in remedial.required_readings.all()}
    both = {(c, q) for c in (one, three) for q in ("loop-impedance", "polarity")}
    assert asked == both | {(two, "loop-impedance")}


# --- deciding ---------------------------------------------------------------------------------------------------------


def test_approve_page(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    assert 'value="2026-02-03"' in at_desk.get(at("approve", remedial)).content.decode()
    data = {"given_by": "Petra Landlady", "how": "phone", "given_on": "2026-02-03", "pounds": "£120.50".strip("£")}
    assert at_desk.post(at("approve", remedial), data)["Location"] == f"/remedials/{remedial.pk}/"
    assert str(Approval.objects.get().pounds) == "120.50"
    assert refused(at_desk.post(at("approve", on_the_way("C2", stage="done")), data), "cannot be approved")


def test_a_name_of_three_thousand_letters_is_refused_in_a_sentence(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    data = {"given_by": "P" * 3_000, "how": "phone", "given_on": "2026-02-03"}
    assert refused(at_desk.post(at("approve", remedial), data), "This is longer than 200 characters.")
    assert Approval.objects.count() == 0


def test_decline_page_leads_to_the_danger_notice(at_desk) -> None:
    observation = make.make_observation(make.make_site(), code="C1")
    remedial = make.make_remedial(observation)
    shown = at_desk.get(at("decline", remedial)).content.decode()
    assert reverse("inspections:notice", args=[observation.pk]) in shown
    data = {"who": "Petra Landlady", "reason": "Too dear", "offer_again_on": "2026-05-01"}
    assert refused(at_desk.post(at("decline", remedial), data), "Give a danger notice first")
    assert WayOut.objects.count() == 0


def test_decline_and_offer_again(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site(), code="C3"))
    assert at_desk.post(at("decline", remedial), {"who": "Petra"}).status_code == 302
    assert at_desk.get(at("offer_again", remedial)).status_code == 200
    assert at_desk.post(at("offer_again", remedial)).status_code == 302
    remedial.refresh_from_db()
    assert remedial.stage == "to-price"
    assert at_desk.post(at("offer_again", remedial)).status_code == 302  # pressed twice: no error


def test_cancel_and_reopen(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    assert refused(at_desk.post(at("cancel", remedial), {"reason": ""}), "Needed: fill this in.")
    assert at_desk.post(at("cancel", remedial), {"reason": "It was made twice by mistake"}).status_code == 302
    assert at_desk.post(at("reopen", remedial), {"reason": "It was not"}).status_code == 302
    remedial.refresh_from_db()
    assert remedial.stage == "to-price"


def test_by_others_keeps_their_paper(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    data = {"who": "Another Firm", "on": "2026-02-01"}
    assert refused(at_desk.post(at("by_others", remedial), data), "Name their certificate or letter")
    wrong = SimpleUploadedFile("paper.pdf", b"<html>")
    assert refused(at_desk.post(at("by_others", remedial), data | {"file": wrong}), "This file is not a PDF.")
    assert at_desk.post(at("by_others", remedial), data | {"file": SimpleUploadedFile("a.pdf", PDF)}).status_code == 302
    assert WayOut.objects.get().file.size == len(PDF)


def test_take_on_page(at_desk, engineer) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    data = {"owner": str(engineer.pk), "step_by": "2026-02-10"}
    assert at_desk.post(at("take_on", remedial), data).status_code == 302
    remedial.refresh_from_db()
    assert (remedial.owner, remedial.step_by) == (engineer, date(2026, 2, 10))


def test_part_done_page(on_site) -> None:
    remedial = on_the_way("C2", stage="booked")
    assert (
        on_site.post(
            at("part_done", remedial),
            {
                "id": new_id(),
                "came": "part-done",
                "because": "Second fix",
                "minutes": "20",
                "used": "2 m cable\n3 x clips\nSealant",
            },
        ).status_code
        == 302
    )
    remedial.refresh_from_db()
    assert remedial.stage == "approved"


def test_waiting_pages(at_desk, office) -> None:
    observation = make.make_observation(make.make_site())
    remedial = make.make_remedial(observation)
    data = {
        "on_whom": "Network operator",
        "for_what": "New cut-out",
        "asked_on": "2026-02-03",
        "chase_on": "2026-02-17",
    }
    for name, thing in (("wait", remedial), ("wait_observation", observation)):
        assert at_desk.get(at(name, thing)).status_code == 200
        assert at_desk.post(at(name, thing), data | {"id": str(new_id())}).status_code == 302
    first, second = Waiting.objects.order_by("remedial")
    called = {"id": str(new_id()), "chase_on": "2026-03-01"}
    assert at_desk.post(at("chase", first), called)["Location"] == f"/remedials/{remedial.pk}/"
    assert at_desk.post(at("end_waiting", second), {"how": "Came"})["Location"] == f"/observations/{observation.pk}/"
    assert refused(at_desk.post(at("chase", second), called), "This waiting has ended.")


# --- who may ----------------------------------------------------------------------------------------------------------

OFFICES = ["edit", "take_on", "approve", "decline", "offer_again", "cancel", "by_others", "wait"]


@pytest.mark.parametrize("name", OFFICES)
def test_planning_is_the_offices(on_site, name) -> None:
    assert on_site.get(at(name, on_the_way("C2"))).status_code == 403


@pytest.mark.parametrize("name", ["close", "part_done"])
def test_closing_is_the_engineers(at_desk, name) -> None:
    assert at_desk.get(at(name, on_the_way("C2"))).status_code == 403


@pytest.mark.parametrize("name", ["close", "review", "reopen"])
def test_a_subcontractor_sees_only_the_sites_of_their_visits(client, subcontractor, name) -> None:
    remedial = on_the_way("C2")
    client.force_login(subcontractor)
    assert client.get(at(name, remedial)).status_code == 404


def test_reopening_by_an_engineer_is_refused(on_site) -> None:
    remedial = on_the_way("C2")
    close(remedial)
    assert on_site.post(at("reopen", remedial), {"reason": "x"}).status_code == 403


def test_an_observation_unseen_is_404(client, office, subcontractor) -> None:
    observation = make.make_observation(make.make_site())
    waiting = wait_on(
        id=new_id(), observation=observation, on_whom="a", for_what="b", asked_on=make.TODAY,
        chase_on=make.TODAY + timedelta(days=1), by=office, now=make.NOON,
    )  # fmt: skip
    subcontractor.roles = ["engineer", "office"]
    subcontractor.save()
    client.force_login(subcontractor)
    assert client.get(at("wait_observation", observation)).status_code == 404
    assert client.get(at("chase", waiting)).status_code == 404


@pytest.mark.parametrize("name", ["power", "photo_add"])
def test_what_changes_is_only_posted(on_site, name) -> None:
    assert on_site.get(at(name, on_the_way("C2"))).status_code == 405
