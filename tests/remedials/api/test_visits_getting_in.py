"""The API's verbs of getting in and of work on site: each does what its page does, for the same people."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id
from jobsite.ledger.models import Document
from remedials.visits.models import AccessTime, Attempt, ClosedDays, OccupierNote, SeeTo, SiteKey
from tests import factories as make
from tests.factories import NOON, Told, make_site, recorded, unit_of
from tests.remedials.test_api_verbs import fresh, post, refusal
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def key() -> dict[str, str]:
    return {"id": str(new_id())}


def verbs(told) -> list[str]:
    return [entry.verb for entry in told]


# --- when -------------------------------------------------------------------------------------------------------------


def test_a_time_of_the_week_is_noted_once_and_taken_off(client, office, engineer, site):
    body = key() | {
        "weekdays": [0, 2],
        "start": "09:00",
        "end": "12:00",
        "unit": str(unit_of(site).pk),
        "note": "Lodge",
    }
    address = f"sites/{site.pk}/add-access-time"
    refusal(post(client, engineer, address, **body), 403)
    with recorded() as told:
        answers = [post(client, office, address, **body) for _ in range(2)]
        row = AccessTime.objects.get()
        off = post(client, office, f"access-times/{row.pk}/remove")
    assert [a.status_code for a in answers] == [201, 201]
    shown = answers[0].json()
    assert (shown["weekdays"], shown["start"], shown["unit"]) == ([0, 2], "09:00:00", str(unit_of(site).pk))
    assert (off.json(), AccessTime.objects.count()) == (shown, 0)
    assert verbs(told) == ["access.time-added", "access.time-removed"]
    wrong = post(client, office, address, **key() | {"weekdays": [7], "start": "09:00", "end": "12:00"})
    assert list(refusal(wrong, 400)["errors"]) == ["weekdays"]
    refusal(post(client, office, address, **key() | {"weekdays": [1], "start": "12:00", "end": "09:00"}), 409)


def test_closed_days_are_noted_once_and_taken_off(client, office, engineer, site):
    body, address = (
        key() | {"first": "2026-02-16", "last": "2026-02-20", "why": "Stocktaking"},
        f"sites/{site.pk}/add-closed-days",
    )
    refusal(post(client, engineer, address, **body), 403)
    with recorded() as told:
        answers = [post(client, office, address, **body) for _ in range(2)]
        off = post(client, office, f"closed-days/{ClosedDays.objects.get().pk}/remove")
    assert [(a.status_code, a.json()["why"]) for a in answers] == [(201, "Stocktaking")] * 2
    assert (off.status_code, ClosedDays.objects.count()) == (200, 0)
    assert verbs(told) == ["access.closed-added", "access.closed-removed"]
    refusal(post(client, office, address, **body | key() | {"last": "2026-02-01"}), 409)


# --- whom to ask ------------------------------------------------------------------------------------------------------


def test_whom_to_ask_is_kept_and_no_word_of_it_in_the_ledger(client, office, engineer, site):
    unit = unit_of(site)
    address = f"units/{unit.pk}/note-occupier"
    refusal(post(client, engineer, address, contact="Tina"), 403)
    with recorded() as told:
        first = post(client, office, address, version=0, contact="Tina Tenant", mind="Uses a hoist")
        second = post(client, office, address, version=1, phone="07700 900123")
    assert (first.json()["version"], second.json()["version"]) == (1, 2)
    assert (second.json()["contact"], second.json()["mind"]) == ("Tina Tenant", "Uses a hoist")
    note = OccupierNote.objects.get()
    assert told == [
        Told("access.occupier", note.pk, {"unit": str(unit.pk), "of": ["contact", "mind"]}),
        Told("access.occupier", note.pk, {"unit": str(unit.pk), "of": ["phone"]}),
    ]
    assert refusal(post(client, office, address, version=1, phone="0"), 412)["version"] == 2


# --- keys and codes ---------------------------------------------------------------------------------------------------


def test_a_key_comes_goes_and_goes_back(client, office, engineer, other_engineer, site):
    body, address = key() | {"tag": "R-207", "what": "Back gate", "place": "Board"}, f"sites/{site.pk}/take-key"
    refusal(post(client, engineer, address, **body), 403)
    with recorded() as told:
        taken = [post(client, office, address, **body) for _ in range(2)]
        at = f"keys/{SiteKey.objects.get().pk}"
        out = post(client, office, f"{at}/give-out", **key(), to=str(engineer.pk), back_by="2026-02-05")
        elsewhere = refusal(post(client, office, f"{at}/give-out", **key(), to=str(other_engineer.pk)), 409)
        refusal(post(client, other_engineer, f"{at}/bring-in", **key()), 403)
        back_in = post(client, engineer, f"{at}/bring-in", **key())
        gone = post(client, office, f"{at}/give-back", **key(), note="Signed for")
    assert [a.status_code for a in taken] == [201, 201]
    assert (out.json()["out_to"], out.json()["back_by"]) == (str(engineer.pk), "2026-02-05")
    assert bool(elsewhere["detail"])
    assert (back_in.json()["out_to"], gone.json()["given_back_at"]) == (None, "2026-02-03T12:00:00Z")
    assert [move["way"] for move in gone.json()["moves"]] == ["out", "in", "back"]
    assert verbs(told) == ["key.taken", "key.moved", "key.moved", "key.moved"]


def test_a_tag_that_is_in_use_is_refused(client, office, site):
    make.make_key(make_site("Elsewhere"), "R-207")
    body = key() | {"tag": "R-207", "what": "Back gate"}
    assert refusal(post(client, office, f"sites/{site.pk}/take-key", **body), 409)["field"] == "tag"
    assert SiteKey.objects.count() == 1


def test_a_code_is_erased(client, office, engineer, site):
    row = make.make_code(site)
    refusal(post(client, engineer, f"alarm-codes/{row.pk}/erase"), 403)
    with recorded() as told:
        answers = [post(client, office, f"alarm-codes/{row.pk}/erase") for _ in range(2)]
    row.refresh_from_db()
    assert ([a.json()["version"] for a in answers], bytes(row.sealed)) == ([2, 2], b"")
    assert told == [Told("code.retired", row.pk)]


# --- before work ------------------------------------------------------------------------------------------------------


def test_what_must_be_seen_to(client, office, engineer, site):
    remedial = on_the_way(site=site)
    body = key() | {"kind": "permit", "what": "Permit for the roof", "owner": str(engineer.pk), "due": "2026-02-06"}
    address = f"sites/{site.pk}/note-to-see-to"
    with recorded() as told:
        answers = [post(client, office, address, **body, remedial=str(remedial.pk)) for _ in range(2)]
        at = f"to-see-to/{SeeTo.objects.get().pk}"
        met = {"met_on": "2026-02-03", "met_how": "Permit 88", "holds_until": "2026-02-28"}
        assert refusal(post(client, office, f"{at}/met", **met, version=9), 412)["version"] == 1
        seen = post(client, office, f"{at}/met", **met, version=1)
        off = post(client, office, f"{at}/need-not", why="The work is outside now")
    assert [(a.status_code, a.json()["remedial"]) for a in answers] == [(201, str(remedial.pk))] * 2
    assert (seen.json()["met_how"], seen.json()["holds_until"]) == ("Permit 88", "2026-02-28")
    assert off.json()["withdrawn_at"] == "2026-02-03T12:00:00Z"
    assert verbs(told) == ["see-to.noted", "see-to.met", "see-to.withdrawn"]
    elsewhere = on_the_way(site=make_site("Elsewhere"))
    refusal(post(client, office, address, **body | key(), remedial=str(elsewhere.pk)), 409)


# --- attempts and letters ---------------------------------------------------------------------------------------------


def test_a_reply_is_kept_once(client, office, subcontractor, site):
    attempt = make.make_attempt(site, at=NOON - timedelta(days=1), next_on=NOON.date())
    address, body = f"attempts/{attempt.pk}/reply", {"reply": "Any morning", "replied_on": "2026-02-03"}
    with recorded() as told:
        answers = [post(client, office, address, **body) for _ in range(2)]
    assert [(a.json()["reply"], a.json()["next_on"]) for a in answers] == [("Any morning", None)] * 2
    assert verbs(told) == ["access.reply"]
    assert refusal(post(client, office, address, **body | {"reply": "No"}), 409)["field"] == "reply"
    make.grant_access(site, subcontractor)
    refusal(post(client, subcontractor, address, **body), 404)


def test_a_letter_is_written_kept_and_logged(client, office, engineer, site, firm):
    body = key() | {"which": "first-letter", "to": "Tina Tenant", "answer_by": "2026-02-10", "sent": "post"}
    address = f"sites/{site.pk}/write-letter"
    refusal(post(client, engineer, address, **body), 403)
    second = post(client, office, address, **body | key() | {"which": "second-letter"})
    assert refusal(second, 409)["field"] == "which"
    with recorded() as told:
        answers = [post(client, office, address, **body) for _ in range(2)]
    assert [a.status_code for a in answers] == [201, 201], answers[0].content
    attempt = Attempt.objects.get()
    assert (answers[1].json()["id"], attempt.how, attempt.next_on.isoformat()) == (
        str(attempt.pk),
        "first-letter",
        "2026-02-17",
    )
    assert sorted(verbs(told)) == ["access.attempt", "document.made"]
    assert client.get(f"/api/v1/attempts/{attempt.pk}/letter/").content[:5] == b"%PDF-"


def test_attempts_are_printed_and_the_print_is_kept(client, office, engineer, site, firm):
    make.make_attempt(site)
    address, days = f"sites/{site.pk}/print-attempts", {"first": "2026-01-01", "last": "2026-02-03"}
    refusal(post(client, engineer, address, **days), 403)
    backwards = refusal(post(client, office, address, first="2026-02-03", last="2026-02-01"), 409)
    assert (backwards["field"], backwards["detail"]) == ("last", "The last day lies before the first.")
    with recorded() as told:
        answer = post(client, office, address, **days)
        once = client.post(f"/api/v1/{address}/", days, content_type="application/json", headers=(same := fresh()))
        again = client.post(f"/api/v1/{address}/", days, content_type="application/json", headers=same)
    assert [one.status_code for one in (answer, once, again)] == [201] * 3, answer.content
    assert (again["X-Again"], again.json()) == ("yes", once.json())
    shown, row = again.json(), Document.objects.get(pk=once.json()["id"])
    where = f"/api/v1/printed-attempts/{shown['id']}/file/"
    paper = client.get(where)
    assert (paper["Content-Type"], paper.content[:5]) == ("application/pdf", b"%PDF-")
    assert (len(paper.content), shown["fingerprint"]) == (shown["size"], row.fingerprint)
    assert (row.kind, row.site) == ("attempts", site.pk)
    assert set(verbs(told)) == {"document.made"}
    client.force_login(engineer)
    refusal(client.get(where), 403)
    client.force_login(make.make_user("Lena Lent", "office", subcontractor=True))
    refusal(client.get(where), 404)


# --- at the visit -----------------------------------------------------------------------------------------------------


def test_an_inspection_is_noted_as_done(client, engineer, other_engineer, site):
    visit = make.make_visit(site, engineers=[engineer], start=NOON - timedelta(hours=1))
    line = make.make_visit_line(visit, unit=unit_of(site))
    address = f"visits/{visit.pk}/settle"
    refusal(post(client, other_engineer, address, line=line.pk, how="x"), 403)
    assert list(refusal(post(client, engineer, address, line=line.pk + 99, how="x"), 400)["errors"]) == ["line"]
    with recorded() as told:
        answers = [post(client, engineer, address, line=line.pk, how="Report drafted") for _ in range(2)]
    assert [a.json()["lines"][0]["settled_at"] for a in answers] == ["2026-02-03T12:00:00Z"] * 2
    assert told == [
        Told(
            "visit.settled", visit.pk,
            {"number": visit.number, "kind": "inspection", "thing": str(line.unit_id)}, {"how": "Report drafted"},
        )
    ]  # fmt: skip


def test_alone_for_longer_and_found_safe(client, office, engineer, site):
    visit = make.make_visit(site, engineers=[engineer])
    address, later = f"visits/{visit.pk}/stay-longer", (NOON + timedelta(hours=3)).isoformat()
    assert "did not check in" in refusal(post(client, engineer, address, out_by=later), 409)["detail"]
    row = make.make_check_in(visit, engineer)
    with recorded() as told:
        longer = post(client, engineer, address, out_by=later)
        refusal(post(client, engineer, f"check-ins/{row.pk}/found-safe", how="x"), 403)
        assert list(refusal(post(client, office, f"check-ins/{row.pk}/found-safe", how=" "), 400)["errors"]) == ["how"]
        safe = post(client, office, f"check-ins/{row.pk}/found-safe", how="I spoke to him")
    assert (longer.json()["out_by"], safe.json()["found_safe"]) == ("2026-02-03T15:00:00Z", "I spoke to him")
    assert verbs(told) == ["check-in.stays", "check-in.found-safe"]


def test_nobody_says_of_themselves_that_they_are_safe(client, site):
    both = make.make_user("Bo Both", "office", "engineer")
    row = make.make_check_in(make.make_visit(site, engineers=[both]), both)
    said = refusal(post(client, both, f"check-ins/{row.pk}/found-safe", how="I am"), 403)
    assert said["detail"] == "Somebody else says that you are safe; you check out yourself."
