"""The pages on which work is closed with proof and its proof is reviewed."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobsite.ids import new_id
from remedials.works.models import Proof, ProofPhoto, Remedial
from remedials.works.operations import Material, add_proof_photo, record_power, review_proof
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.pages import at, photo_file, refused
from tests.remedials.work import ask_reading, close, on_the_way, photo_bytes, take

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
PDF = b"%PDF-1.7 invented"


# --- closing ----------------------------------------------------------------------------------------------------------


def test_close_page_shows_what_to_do_and_what_is_missing(on_site) -> None:
    remedial = on_the_way("C2", photo_required=True, power_off=True, see_to_first="Asbestos register")
    ask_reading(remedial)
    make.make_instrument()
    shown = text_of(on_site.get(at("close", remedial)))
    assert "only your test says that it is dead" in shown
    assert "Power must go off for this work" in shown
    assert "See to first: Asbestos register" in shown
    assert "Limit: at most 1.09" in shown  # 0.8 × 0.95 × 230 V ÷ (5 × 32 A) = 1.0925 Ω, rounded down; see tests/outside
    assert "Still missing to close A photo after the work" in shown


def test_close_with_a_photo_and_a_reading(on_site, engineer) -> None:
    remedial = on_the_way("C2", photo_required=True)
    ask_reading(remedial)
    need = remedial.required_readings.get()
    tool = make.make_instrument()
    sent = {"id": str(new_id()), "photo": photo_file()}
    assert on_site.post(at("photo_add", remedial), sent)["Location"].endswith("/close/#photos")
    sent = {"id": str(new_id()), "value": "0.64 Ω", "instrument": str(tool.pk)}
    assert on_site.post(at("reading", need), sent)["Location"].endswith(f"/close/#reading-{need.pk}")
    shown = text_of(on_site.get(at("close", remedial)))
    assert "pass 0.64 Ω , at most 1.09 Ω" in shown
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
    sent = {"id": str(new_id()), "value": "1.30", "instrument": str(tool.pk)}
    sent_off = {"HX-Request": "true", "X-Kept": "p:reading:1"}
    saved = on_site.post(at("reading", need), sent, headers=sent_off)
    assert (saved["X-Saved"], saved["HX-Redirect"].endswith(f"#reading-{need.pk}")) == ("p:reading:1", True)
    shown = text_of(on_site.get(at("close", remedial)))
    assert "fail 1.30 Ω , at most" in shown
    assert "fails: put the circuit right and read again, or say why it is put up." in shown
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
    sent = {"id": str(new_id()), "value": value, "instrument": str(tool.pk)}
    assert refused(on_site.post(at("reading", need), sent, headers={"HX-Request": "true"}), sentence)
    assert refused(on_site.post(at("reading", need), sent), "Close remedial")
    assert remedial.site.readings.count() == 0


def test_a_limit_that_is_not_computed_is_entered_with_its_source(on_site) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial, device_standard="BS 3036", device_type="")
    need, tool = remedial.required_readings.get(), make.make_instrument()
    shown = text_of(on_site.get(at("close", remedial)))
    assert "enter the limit from the standard or the maker, with its source" in shown
    sent = {"id": str(new_id()), "value": "0.70", "instrument": str(tool.pk)}
    assert refused(on_site.post(at("reading", need), sent), "enter the limit")
    sent |= {"limit_entered": "1.09", "limit_source": "the maker's data sheet"}
    assert on_site.post(at("reading", need), sent).status_code == 302
    reading = remedial.site.readings.get()
    assert (reading.verdict, reading.limit_entered, "maker's data sheet" in reading.basis) == ("pass", True, True)


def test_an_instrument_out_of_its_check_is_marked_and_blocks(on_site) -> None:
    remedial = on_the_way("C3")
    ask_reading(remedial)
    need, tool = remedial.required_readings.get(), make.make_instrument(check_due=date(2026, 1, 31))
    assert "(out of its check)" in text_of(on_site.get(at("close", remedial)))
    sent = {"id": str(new_id()), "value": "0.64", "instrument": str(tool.pk)}
    on_site.post(at("reading", need), sent)
    answer = on_site.post(at("close", remedial), {"id": str(new_id())})
    assert refused(answer, "from an instrument out of its check")
    assert "This instrument was out of its check." in text_of(answer)


def test_photos_are_shown_as_they_come(on_site) -> None:
    remedial = on_the_way("C2", "C3", photo_required=True)
    first, second = remedial.observations.order_by("number")
    on_site.post(at("photo_add", remedial), {"id": str(new_id()), "photo": photo_file(), "observation": str(first.pk)})
    photo, shown = ProofPhoto.objects.get(), on_site.get(at("close", remedial))
    assert f"{at('photo', photo)}?small" in shown.content.decode()
    missing = f"Still missing to close A photo after the work: observation {second.number}, {second.text}."
    assert missing in text_of(shown)
    assert on_site.post(at("photo_remove", photo))["Location"].endswith("/close/#photos")
    assert ProofPhoto.objects.count() == 0


@pytest.mark.parametrize(
    ("data", "sentence"),
    [(b"not a photo", "not a photo that can be read"), (b"", "This file is empty."), (None, "Choose a photo.")],
)
def test_a_bad_photo_is_refused_beside_its_field(on_site, data, sentence) -> None:
    remedial = on_the_way("C2", photo_required=True)
    files = {} if data is None else {"photo": SimpleUploadedFile("x.jpg", data)}
    assert refused(on_site.post(at("photo_add", remedial), {"id": str(new_id())} | files), sentence)


def test_closing_again_is_filed_beside(on_site, other_engineer) -> None:
    remedial = on_the_way("C2")
    close(remedial, by=other_engineer)
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


# Session, person, remedial; observations, photos; asked readings, taken ones, boards, feeds, own earthing, policy,
# corrected facts, other readings, instruments; what it takes; what to switch off (8), power steps, what was sent back.
CLOSE_STATEMENTS = 26


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
    client.force_login(engineer)
    assert "Sent back: Blurred (Quentin Prover, 3 Feb 2026, 12:00)" in text_of(client.get(at("close", remedial)))
    client.force_login(qualified)
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


def test_the_queue_goes_by_danger_then_date_and_on_to_the_next(client, engineer, qualified) -> None:
    waiting = {}
    for name, code, day in (
        ("late", "C2", 1),
        ("worst", "C1", 9),
        ("fi", "FI", 1),
        ("early", "C2", 0),
        ("own", "C1", 0),
    ):
        waiting[name] = remedial = on_the_way(code, work=name)
        close(remedial, by=qualified if name == "own" else engineer)
        type(remedial).objects.filter(pk=remedial.pk).update(step_by=make.TODAY + timedelta(days=day))
    make.make_qualified("Ruth Prover")
    client.force_login(qualified)
    listed = [row["work"] for row in client.get("/reviews/").context["rows"]]
    assert listed == ["own", "worst", "early", "late", "fi"]
    on, version = [], {name: type(r).objects.get(pk=r.pk).version for name, r in waiting.items()}
    for name in ("early", "worst"):
        sent = {"decision": "sent-back", "reason": "Picture of another board", "version": version[name]}
        on.append(client.post(at("review", waiting[name]), sent)["Location"])
    assert on == [at("review", waiting["worst"]), at("review", waiting["late"])]


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


def test_the_review_says_how_long_it_took_what_was_used_and_when_power_was_off(client, qualified, engineer) -> None:
    remedial = on_the_way("C2", photo_required=False)
    for kind, where in (("off", "Way 1, lock 14"), ("on", "")):
        record_power(remedial, id=new_id(), kind=kind, where=where, by=engineer, now=make.NOON)
    close(remedial, by=engineer, minutes=45, used=[Material("cable 2.5 mm²", Decimal("2.5"), "m")])
    client.force_login(qualified)
    text = text_of(client.get(at("review", remedial)))
    assert "45 minutes Used: 2.5 m cable 2.5 mm²" in text
    assert "Isolated, locked off and proved dead: Way 1, lock 14" in text
    assert "Energised again" in text


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_the_review_page(client, qualified, engineer, django_assert_num_queries, count) -> None:
    remedial = on_the_way(*["C2"] * count)
    readings = [take(ask_reading(remedial, designation=f"S {n}"), "0.5", by=engineer) for n in range(count)]
    for number in range(count):
        add_proof_photo(remedial, data=photo_bytes(number), by=engineer, now=make.NOON)
    used = [Material("fixing screw", Decimal(n + 1)) for n in range(count)]
    close(remedial, by=engineer, readings=readings, minutes=45, used=used)
    client.force_login(qualified)
    client.get(at("review", remedial))
    with django_assert_num_queries(REVIEW_STATEMENTS):
        assert client.get(at("review", remedial)).status_code == 200


# Session, person, remedial, proof, competence; observations, photos before and after, readings taken and asked for,
# what was added, earlier reviews; stints with what was used, power steps.
REVIEW_STATEMENTS = 15
