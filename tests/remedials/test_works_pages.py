"""The pages of remedials: what they show, what they refuse in place, who may see them, what they cost."""

import csv
import io
import re
from datetime import date, timedelta
from html import unescape

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobsite.ids import new_id
from remedials.works.models import Approval, Proof, ProofPhoto, Remedial, Waiting, WayOut
from remedials.works.operations import add_proof_photo, review_proof, wait_on
from tests import factories as make
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7 invented"


@pytest.fixture(autouse=True)
def at_noon():
    """The clock of the pages stands at NOON, as that of the factories."""
    with time_machine.travel(make.NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def on_site(client, engineer):
    client.force_login(engineer)
    return client


def text_of(response) -> str:
    """What a person reads: no tags, single spaces."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def at(name: str, row) -> str:
    return reverse(f"works:{name}", args=[row.pk])


def refused(response, sentence: str) -> bool:
    assert response.status_code == 422
    assert sentence in text_of(response)
    return True


def photo_file(shade: int = 90) -> SimpleUploadedFile:
    return SimpleUploadedFile("after.jpg", photo_bytes(shade), content_type="image/jpeg")


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
    with django_assert_num_queries(6):
        assert client.get("/reviews/").status_code == 200


# --- making -----------------------------------------------------------------------------------------------------------


def make_data(*observations, **more) -> dict:
    return {"id": str(new_id()), "observations": [o.pk for o in observations], "work": "Fit a cover"} | more


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
    sent = make_data(one, two, circuits=[str(circuit.pk)], minutes="45", photo_required="on", notifiable="on")
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


def test_make_asks_for_the_unit_where_there_are_several(at_desk) -> None:
    site = make.make_site()
    flat = make.make_unit(site, "Flat 2")
    both = [make.make_observation(site), make.make_observation(site, unit=flat)]
    assert refused(at_desk.post(at("make", site), make_data(*both)), "several units")
    at_desk.post(at("make", site), make_data(*both, unit=str(flat.pk)))
    assert Remedial.objects.get().unit == flat


def test_edit_keeps_both_versions_when_two_people_save(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()), work="Fit a cover")
    data = {"version": "1", "work": "Fit two covers"}
    assert at_desk.post(at("edit", remedial), data).status_code == 302
    answer = at_desk.post(at("edit", remedial), data | {"work": "Fit three"})
    assert refused(answer, "Somebody else changed this remedial meanwhile.")
    assert ("Fit two covers" in text_of(answer), "Fit three" in text_of(answer)) == (True, True)


def test_edit_changes_the_readings_and_keeps_an_entered_limit(at_desk) -> None:
    remedial = on_the_way("C2", stage="to-price")
    first = ask_reading(remedial, designation="Sockets")
    remedial.required_readings.update(limit_entered="1.5", limit_source="maker's data")
    second = make.make_circuit(first.board, designation="Cooker")
    data = {"version": "1", "work": remedial.work, "circuits": [str(first.pk), str(second.pk)]}
    at_desk.post(at("edit", remedial), data)
    kept = {n.circuit: (n.limit_entered, n.limit_source) for n in remedial.required_readings.all()}
    assert (float(kept[first][0]), kept[first][1], kept[second]) == (1.5, "maker's data", (None, ""))


# --- deciding ---------------------------------------------------------------------------------------------------------


def test_approve_page(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    assert 'value="2026-02-03"' in at_desk.get(at("approve", remedial)).content.decode()
    data = {"given_by": "Petra Landlady", "how": "phone", "given_on": "2026-02-03", "pounds": "£120.50".strip("£")}
    assert at_desk.post(at("approve", remedial), data)["Location"] == f"/remedials/{remedial.pk}/"
    assert str(Approval.objects.get().pounds) == "120.50"
    assert refused(at_desk.post(at("approve", on_the_way("C2", stage="done")), data), "cannot be approved")


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
    assert refused(at_desk.post(at("offer_again", remedial)), "cannot be offered again")


def test_cancel_and_reopen(at_desk) -> None:
    remedial = make.make_remedial(make.make_observation(make.make_site()))
    assert refused(at_desk.post(at("cancel", remedial), {"reason": ""}), "Needed: fill this in.")
    assert at_desk.post(at("cancel", remedial), {"reason": "Made twice"}).status_code == 302
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
    assert on_site.post(at("part_done", remedial), {"left": "Second fix"}).status_code == 302
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
    assert at_desk.post(at("chase", first), {"chase_on": "2026-03-01"})["Location"] == f"/remedials/{remedial.pk}/"
    assert at_desk.post(at("end_waiting", second), {"how": "Came"})["Location"] == f"/observations/{observation.pk}/"
    assert refused(at_desk.post(at("chase", second), {"chase_on": "2026-03-01"}), "This waiting has ended.")


# --- closing ----------------------------------------------------------------------------------------------------------


def test_close_page_shows_what_to_do_and_what_is_missing(on_site) -> None:
    remedial = on_the_way("C2", photo_required=True, power_off=True, see_to_first="Asbestos register")
    ask_reading(remedial)
    make.make_instrument()
    shown = text_of(on_site.get(at("close", remedial)))
    assert "only your test says that it is dead" in shown
    assert "Power must go off for this work" in shown
    assert "See to first: Asbestos register" in shown
    assert "Limit 1.09" in shown  # 0.8 × 0.95 × 230 V ÷ (5 × 32 A) = 1.0925 Ω, rounded down; see tests/outside
    assert "Still missing to close A photo after the work" in shown


def test_close_with_a_photo_and_a_reading(on_site, engineer) -> None:
    remedial = on_the_way("C2", photo_required=True)
    ask_reading(remedial)
    need = remedial.required_readings.get()
    tool = make.make_instrument()
    assert on_site.post(at("photo_add", remedial), {"photo": photo_file()})["Location"].endswith("/close/#photos")
    sent = {f"{need.pk}-id": str(new_id()), f"{need.pk}-value": "0.64 Ω", f"{need.pk}-instrument": str(tool.pk)}
    assert on_site.post(at("reading", need), sent)["Location"].endswith(f"/close/#reading-{need.pk}")
    shown = text_of(on_site.get(at("close", remedial)))
    assert "pass 0.64 Ω against 1.09 Ω" in shown
    assert "Nothing is missing to close." in shown
    done = on_site.post(at("close", remedial), {"id": str(new_id()), "note": "New cover"})
    proof = Proof.objects.get()
    assert (done.status_code, done["Location"]) == (302, "/my-day/")
    assert (proof.done_by, proof.photos.count(), proof.readings.count()) == (engineer, 1, 1)


def test_close_is_refused_in_place_while_something_is_missing(on_site) -> None:
    remedial = on_the_way("C2", photo_required=True)
    answer = on_site.post(at("close", remedial), {"id": str(new_id()), "note": "Typed before"})
    assert refused(answer, "Still missing to close: A photo after the work")
    assert "Typed before" in text_of(answer)


def test_a_failing_reading_is_said_at_once_and_put_up_with_a_reason(on_site) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial)
    need, tool = remedial.required_readings.get(), make.make_instrument()
    sent = {f"{need.pk}-id": str(new_id()), f"{need.pk}-value": "1.30", f"{need.pk}-instrument": str(tool.pk)}
    part = on_site.post(at("reading", need), sent, headers={"HX-Request": "true"})
    assert (part.status_code, part["HX-Trigger"], b"<html" in part.content) == (200, "proof-changed", False)
    assert "fail 1.3 Ω against" in text_of(part)
    missing = {"exception_reason": ""}
    assert "fails" in text_of(on_site.post(at("missing", remedial), missing))
    missing = {"exception_reason": "New rod on Friday"}
    assert text_of(on_site.post(at("missing", remedial), missing)) == "Nothing is missing to close."
    on_site.post(at("close", remedial), {"id": str(new_id()), "exception_reason": "New rod on Friday"})
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.observations.get().ended) == ("done", "")


@pytest.mark.parametrize(
    ("value", "sentence"),
    [
        ("", "Needed: fill this in."),
        ("abc", "Enter ohms as the tester shows them"),
        ("640", "did you mean"),
    ],
)
def test_an_impossible_reading_is_refused_beside_its_field(on_site, value, sentence) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial)
    need, tool = remedial.required_readings.get(), make.make_instrument()
    sent = {f"{need.pk}-id": str(new_id()), f"{need.pk}-value": value, f"{need.pk}-instrument": str(tool.pk)}
    assert refused(on_site.post(at("reading", need), sent, headers={"HX-Request": "true"}), sentence)
    assert refused(on_site.post(at("reading", need), sent), "Close remedial")
    assert remedial.site.readings.count() == 0


def test_a_limit_that_is_not_computed_is_entered_with_its_source(on_site) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial, device_standard="BS 3036", device_type="")
    need, tool = remedial.required_readings.get(), make.make_instrument()
    shown = text_of(on_site.get(at("close", remedial)))
    assert "enter the limit from the standard or the maker, with its source" in shown
    sent = {f"{need.pk}-id": str(new_id()), f"{need.pk}-value": "0.70", f"{need.pk}-instrument": str(tool.pk)}
    assert refused(on_site.post(at("reading", need), sent), "enter the limit")
    sent |= {f"{need.pk}-limit_entered": "1.09", f"{need.pk}-limit_source": "the maker's data sheet"}
    assert on_site.post(at("reading", need), sent).status_code == 302
    reading = remedial.site.readings.get()
    assert (reading.verdict, reading.limit_entered, "maker's data sheet" in reading.basis) == ("pass", True, True)


def test_an_instrument_out_of_its_check_is_marked_and_blocks(on_site) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial)
    need, tool = remedial.required_readings.get(), make.make_instrument(check_due=date(2026, 1, 31))
    assert "(out of its check)" in text_of(on_site.get(at("close", remedial)))
    sent = {f"{need.pk}-id": str(new_id()), f"{need.pk}-value": "0.64", f"{need.pk}-instrument": str(tool.pk)}
    on_site.post(at("reading", need), sent)
    answer = on_site.post(at("close", remedial), {"id": str(new_id())})
    assert refused(answer, "from an instrument out of its check")
    assert "This instrument was out of its check." in text_of(answer)


def test_photos_are_shown_as_they_come(on_site) -> None:
    remedial = on_the_way("C2", "C3", photo_required=True)
    first, second = remedial.observations.order_by("number")
    part = on_site.post(
        at("photo_add", remedial),
        {"photo": photo_file(), "observation": str(first.pk)},
        headers={"HX-Request": "true"},
    )
    photo = ProofPhoto.objects.get()
    assert (part.status_code, part["HX-Trigger"], at("photo", photo) in part.content.decode()) == (
        200,
        "proof-changed",
        True,
    )
    assert text_of(on_site.post(at("missing", remedial))) == (
        f"Still missing to close A photo after the work: observation {second.number}, {second.text}."
    )
    assert on_site.post(at("photo_remove", photo))["Location"].endswith("/close/#photos")
    assert ProofPhoto.objects.count() == 0


@pytest.mark.parametrize(
    ("data", "sentence"),
    [(b"not a photo", "not a photo that can be read"), (b"", "This file is empty."), (None, "Choose a photo.")],
)
def test_a_bad_photo_is_refused_beside_its_field(on_site, data, sentence) -> None:
    remedial = on_the_way("C2", photo_required=True)
    files = {} if data is None else {"photo": SimpleUploadedFile("x.jpg", data)}
    assert refused(on_site.post(at("photo_add", remedial), files, headers={"HX-Request": "true"}), sentence)
    assert refused(on_site.post(at("photo_add", remedial), {k: v for k, v in files.items() if not v.seek(0)}), sentence)


def test_closing_again_is_filed_beside(on_site) -> None:
    remedial = on_the_way("C2")
    close(remedial)
    assert "is closed already" in text_of(on_site.get(at("close", remedial)))
    done = on_site.post(at("close", remedial), {"id": str(new_id())}, follow=False)
    assert done["Location"] == f"/remedials/{remedial.pk}/"
    assert sorted(Proof.objects.values_list("state", flat=True)) == ["beside", "stands"]


def test_close_keeps_the_certificate_and_gives_it_back(on_site, client) -> None:
    remedial = on_the_way("C3", certificate_kind="minor works certificate")
    file = SimpleUploadedFile("mw.pdf", PDF)
    on_site.post(at("close", remedial), {"id": str(new_id()), "certificate_file": file})
    proof = Proof.objects.get()
    got = on_site.get(at("certificate", proof))
    assert (got.content, got["Content-Type"]) == (PDF, "application/pdf")
    assert got["Content-Disposition"] == f'attachment; filename="certificate-of-remedial-{remedial.number}.pdf"'


def test_a_remedial_not_approved_says_so(on_site) -> None:
    shown = text_of(on_site.get(at("close", on_the_way("C2", stage="to-price"))))
    assert "Its stage is to price: it can be closed once it is approved." in shown


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_the_close_page(on_site, engineer, django_assert_num_queries, count) -> None:
    remedial = on_the_way(*["C2"] * count, photo_required=True)
    for number in range(count):
        take(ask_reading(remedial, designation=f"Sockets {number}"), "0.5", by=engineer)
        add_proof_photo(remedial, data=photo_bytes(number), by=engineer, now=make.NOON)
    on_site.get(at("close", remedial))
    with django_assert_num_queries(CLOSE_STATEMENTS):
        assert on_site.get(at("close", remedial)).status_code == 200


# Session, person, remedial; observations, made safe, photos; asked readings, taken ones, feeds, own earthing, policy,
# instruments.
CLOSE_STATEMENTS = 12


# --- pictures ---------------------------------------------------------------------------------------------------------


def test_a_photo_is_seen_by_whoever_sees_the_site(on_site, engineer, client, subcontractor) -> None:
    remedial = on_the_way("C2")
    photo = add_proof_photo(remedial, data=photo_bytes(), by=engineer, now=make.NOON)
    got = on_site.get(at("photo", photo))
    assert (got["Content-Type"], got.content[:3]) == ("image/jpeg", b"\xff\xd8\xff")
    assert "private" in got["Cache-Control"]
    client.force_login(subcontractor)
    assert client.get(at("photo", photo)).status_code == 404
    make.grant_access(remedial.site, subcontractor)
    assert client.get(at("photo", photo)).status_code == 200
    client.logout()
    assert client.get(at("photo", photo)).status_code == 302


# --- reviewing --------------------------------------------------------------------------------------------------------


def decided(client, remedial, decision: str, **more: str):
    """The answer to a decision by somebody who has just opened the page."""
    version = Remedial.objects.get(pk=remedial.pk).version
    return client.post(at("review", remedial), {"decision": decision, "version": version} | more)


def test_review_page_accepts(client, engineer, qualified) -> None:
    remedial = on_the_way("C2", photo_required=True)
    photo = add_proof_photo(
        remedial, data=photo_bytes(), observation=remedial.observations.get(), by=engineer, now=make.NOON
    )
    reading = take(ask_reading(remedial), "1.30", by=engineer)
    close(remedial, by=engineer, readings=[reading], exception_reason="New rod on Friday")
    client.force_login(qualified)
    shown = client.get(at("review", remedial))
    assert at("photo", photo) in shown.content.decode()
    assert "Exception: New rod on Friday Accepting the proof accepts it." in text_of(shown)
    assert "not that anybody inspected again" in text_of(shown)
    assert decided(client, remedial, "accepted").status_code == 302
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.observations.get().ended) == ("reviewed", "remedied")
    assert "There is no proof to review" in text_of(client.get(at("review", remedial)))


def test_review_page_sends_back_with_a_reason(client, engineer, qualified) -> None:
    remedial = on_the_way("C2")
    close(remedial, by=engineer)
    client.force_login(qualified)
    assert refused(decided(client, remedial, "sent-back"), "goes back with the reason")
    assert refused(client.post(at("review", remedial), {}), "Choose one.")
    decided(client, remedial, "sent-back", reason="Blurred")
    close(remedial, by=engineer)
    assert "Sent back by Quentin Prover, 3 Feb 2026, 12:00: Blurred" in text_of(client.get(at("review", remedial)))


def test_review_page_asks_for_the_finding_of_an_fi(client, engineer, qualified) -> None:
    remedial = on_the_way("FI")
    close(remedial, by=engineer)
    observation = remedial.observations.get()
    client.force_login(qualified)
    assert f"What the investigation {observation.number} found" in text_of(client.get(at("review", remedial)))
    assert refused(decided(client, remedial, "accepted"), "say what the investigation found")
    found = {f"code_{observation.pk}": "nothing", f"text_{observation.pk}": "Sound"}
    assert decided(client, remedial, "accepted", **found).status_code == 302
    observation.refresh_from_db()
    assert observation.ended == "finding"


def test_review_page_says_why_somebody_may_not(on_site, engineer, qualified) -> None:
    remedial = on_the_way("C2")
    close(remedial, by=engineer)
    shown = text_of(on_site.get(at("review", remedial)))
    assert "Only a person whom the firm records as qualified may review proof." in shown
    assert "Record the decision" not in shown
    assert decided(on_site, remedial, "accepted").status_code == 403


def test_review_page_never_decides_on_a_proof_that_came_after(client, engineer, qualified) -> None:
    remedial = on_the_way("C2")
    first = close(remedial, by=engineer)
    client.force_login(qualified)
    seen = re.search(r'name="version" value="(\d+)"', client.get(at("review", remedial)).content.decode())[1]
    review_proof(first, decision="sent-back", reason="Blurred", by=make.make_qualified("Ruth Prover"), now=make.NOON)
    close(remedial, by=engineer, note="Another picture")
    answer = client.post(at("review", remedial), {"decision": "accepted", "version": seen})
    assert refused(answer, "look at the proof as it stands here now")
    assert "Another picture" in text_of(answer)
    now_seen = re.search(r'name="version" value="(\d+)"', answer.content.decode())[1]
    assert client.post(at("review", remedial), {"decision": "accepted", "version": now_seen}).status_code == 302
    remedial.refresh_from_db()
    assert remedial.stage == "reviewed"


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_the_review_page(client, qualified, engineer, django_assert_num_queries, count) -> None:
    remedial = on_the_way(*["C2"] * count)
    readings = [take(ask_reading(remedial, designation=f"S {n}"), "0.5", by=engineer) for n in range(count)]
    for number in range(count):
        add_proof_photo(remedial, data=photo_bytes(number), by=engineer, now=make.NOON)
    close(remedial, by=engineer, readings=readings)
    client.force_login(qualified)
    client.get(at("review", remedial))
    with django_assert_num_queries(REVIEW_STATEMENTS):
        assert client.get(at("review", remedial)).status_code == 200


# Session, person, remedial, proof, competence; observations, made safe, photos before and after, readings taken and
# asked for, earlier reviews.
REVIEW_STATEMENTS = 12


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


@pytest.mark.parametrize("name", ["missing", "photo_add"])
def test_what_changes_is_only_posted(on_site, name) -> None:
    assert on_site.get(at(name, on_the_way("C2"))).status_code == 405
