"""An inspection by the API: begun, changed, noted on, issued, reissued, deleted; what it does not cover, what it missed."""

from datetime import date

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from inspections.models import Inspection, Limitation, Observation
from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from tests import factories as make
from tests.factories import NOON, unit_of
from tests.remedials.api.sending import a_photo, entries, form, sent
from tests.remedials.test_api_verbs import post, refusal

pytestmark = pytest.mark.django_db
REPORT = b"%PDF-1.7 a report"
EDITION = "2018+A2:2022"


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


def drafted(site, by, **fields):
    return make.make_inspection(site, issued=False, by=by, **fields)


def noted(report, **fields):
    return make.make_observation(report.site, inspection=report, draft=True, by=report.recorded_by, **fields)


# --- begun and changed ------------------------------------------------------------------------------------------------


def test_begin_our_own_twice_begins_one(client, engineer, site):
    body = {"id": str(new_id()), "inspected_on": "2026-02-02", "edition": EDITION, "extent": "All of it"}
    with entries() as left:
        shown = [sent(client, engineer, f"sites/{site.pk}/start-inspection", 201, **body) for _ in range(2)]
    row = Inspection.objects.get()
    assert (row.state, row.inspector, row.extent, row.inspected_on) == (
        "draft",
        engineer,
        "All of it",
        date(2026, 2, 2),
    )
    assert (shown[0], shown[0]["units"]) == (shown[1], [str(unit_of(site).pk)])
    assert left == [("inspection.started", body["id"])]


def test_take_in_anothers_report_with_its_file(client, office, engineer, site):
    address = f"sites/{site.pk}/start-inspection"
    fields = {"id": str(new_id()), "inspected_on": "2025-11-03", "edition": EDITION, "other_firm": "true"}
    fields |= {"firm_name": "Bygone Electrics", "units": [str(unit_of(site).pk)], "remedy_limit_days": "0"}
    with entries() as left:
        shown = form(client, office, address, file=SimpleUploadedFile("r.pdf", REPORT), **fields)
    row = Inspection.objects.get()
    assert (row.other_firm, row.remedy_limit_days, row.file_name, read_file(row.file)) == (True, 0, "r.pdf", REPORT)
    assert (shown["firm_name"], shown["file_name"]) == ("Bygone Electrics", "r.pdf")
    assert left == [("inspection.started", str(row.pk))]
    in_json = fields | {"id": str(new_id()), "other_firm": True, "remedy_limit_days": 0}
    told = refusal(post(client, engineer, address, **in_json), 403)
    assert told["detail"] == "Only the office may take in another firm's report."


def test_what_cannot_begin(client, engineer, site):
    flat = make.make_unit(site)
    board = make.make_board(site, "Loft")
    board.units.add(flat)
    address, body = f"sites/{site.pk}/start-inspection", {"inspected_on": "2026-02-02", "edition": EDITION}
    body |= {"id": str(new_id())}
    told = refusal(post(client, engineer, address, **body), 409)
    assert (told["field"], told["detail"]) == ("units", "This site has several units: name those that are covered.")
    wrong = body | {"units": [str(unit_of(site).pk)], "boards": [str(board.pk)]}
    told = refusal(post(client, engineer, address, **wrong), 409)
    assert (told["field"], told["detail"]) == (
        "boards",
        "Loft serves no unit that is covered: name its unit as well, or leave it out.",
    )
    future = body | {"units": [str(flat.pk)], "inspected_on": "2026-02-04"}
    assert refusal(post(client, engineer, address, **future), 409)["field"] == "inspected_on"
    assert Inspection.objects.count() == 0


def test_change_only_what_is_sent(client, engineer, site):
    row = drafted(site, engineer, extent="All of it", reference="R-1", next_due_on=date(2031, 2, 3))
    with entries() as left:
        shown = sent(client, engineer, f"inspections/{row.pk}/edit", version=1, reference="R-2", next_due_on=None)
    assert (shown["reference"], shown["extent"], shown["next_due_on"], shown["version"]) == (
        "R-2",
        "All of it",
        None,
        2,
    )
    assert left == [("inspection.edited", str(row.pk))]
    told = refusal(post(client, engineer, f"inspections/{row.pk}/edit", 1, reference="R-3"), 412)
    assert told["version"] == 2
    again = form(
        client,
        engineer,
        f"inspections/{row.pk}/edit",
        200,
        file=SimpleUploadedFile("r.pdf", REPORT),
        extent="Half of it",
    )
    assert (again["extent"], again["file_name"], again["reference"]) == ("Half of it", "r.pdf", "R-2")
    issued = make.make_inspection(site)
    told = refusal(post(client, engineer, f"inspections/{issued.pk}/edit", reference="R-4"), 409)
    assert "is issued and does not change any more" in told["detail"]


def test_what_it_does_not_cover(client, engineer, office, site):
    row = drafted(site, engineer)
    body = {"id": str(new_id()), "what": "The loft", "why": "no ladder", "agreed_with": "Petra"}
    with entries() as left:
        shown = [sent(client, engineer, f"inspections/{row.pk}/add-limitation", 201, **body) for _ in range(2)]
        after = sent(client, engineer, f"limitations/{body['id']}/remove")
    assert (shown[0], shown[0]["what"], after["id"]) == (shown[1], "The loft", str(row.pk))
    assert [verb for verb, _ in left] == ["limitation.added", "limitation.removed"]
    assert Limitation.objects.count() == 0
    told = refusal(post(client, engineer, f"inspections/{row.pk}/add-limitation", id=str(new_id()), what=" "), 400)
    assert list(told["errors"]) == ["what"]


def test_covered_by_a_later_one(client, engineer, site):
    early, late = make.make_inspection(site, inspected_on=date(2025, 1, 1)), make.make_inspection(site)
    limit = early.limitations.create(what="The loft")
    with entries() as left:
        shown = sent(client, engineer, f"limitations/{limit.pk}/cover", covered_by=str(late.pk))
    assert (shown["covered_by"], [verb for verb, _ in left]) == (str(late.pk), ["limitation.covered"])
    other = late.limitations.create(what="The shed")
    told = refusal(post(client, engineer, f"limitations/{other.pk}/cover", covered_by=str(early.pk)), 409)
    assert (told["field"], told["detail"]) == ("covered_by", "Choose a later issued inspection of this site.")


# --- observations of a draft ------------------------------------------------------------------------------------------


def test_note_change_and_drop_an_observation(client, engineer, site):
    row = drafted(site, engineer)
    body = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "No bonding", "code": "C2", "item": "4.1"}
    with entries() as left:
        shown = [sent(client, engineer, f"inspections/{row.pk}/note-observation", 201, **body) for _ in range(2)]
        changed = sent(client, engineer, f"draft-observations/{body['id']}/change", version=1, text="No main bonding")
        after = sent(client, engineer, f"draft-observations/{body['id']}/drop")
    assert (shown[0], shown[0]["code"], shown[0]["inspection"]) == (shown[1], "C2", str(row.pk))
    assert (changed["text"], changed["code"], changed["item"], changed["version"]) == (
        "No main bonding",
        "C2",
        "4.1",
        2,
    )
    assert (after["id"], Observation.objects.count()) == (str(row.pk), 0)
    verbs = ["observation.noted", "observation.changed", "observation.dropped"]
    assert left == [(verb, body["id"]) for verb in verbs]


def test_note_with_photographs(client, engineer, site):
    row = drafted(site, engineer)
    fields = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "No bonding", "code": "C2"}
    with entries() as left:
        form(client, engineer, f"inspections/{row.pk}/note-observation", photos=[a_photo(), a_photo("blue")], **fields)
        form(client, engineer, f"draft-observations/{fields['id']}/change", 200, photos=[a_photo("green")])
    assert Observation.objects.get().photos.count() == 3
    assert left == [("observation.noted", fields["id"]), *[("observation.photographed", fields["id"])] * 3]
    bad = SimpleUploadedFile("a.jpg", b"\xff\xd8\xff no photo", "image/jpeg")
    client.force_login(engineer)
    told = client.post(
        f"/api/v1/inspections/{row.pk}/note-observation/",
        fields | {"id": str(new_id()), "new": "true", "photos": bad},
        headers={"Idempotency-Key": '"k"'},
    )
    assert refusal(told, 409)["field"] == "photos"
    assert Observation.objects.count() == 1


def test_what_cannot_be_noted(client, engineer, office, site):
    ours, theirs = drafted(site, engineer), drafted(site, office, other_firm=True)
    body = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "No bonding"}
    address = f"inspections/{ours.pk}/note-observation"
    assert refusal(post(client, engineer, address, **body), 409)["field"] == "code"
    told = refusal(post(client, engineer, address, **body, code="C2", code_written="2"), 409)
    assert (told["field"], told["detail"]) == (
        "code_written",
        "Only another firm's report has a code as it is written there.",
    )
    shown = sent(client, office, f"inspections/{theirs.pk}/note-observation", 201, **body, code_written="4")
    assert (shown["code"], shown["code_written"]) == ("", "4")
    elsewhere = body | {"id": str(new_id()), "code": "C2", "unit": str(unit_of(make.make_site("Elsewhere")).pk)}
    assert refusal(post(client, engineer, address, **elsewhere), 409)["field"] == "unit"
    issued, wrong = make.make_inspection(site), body | {"id": str(new_id()), "code": "C2"}
    told = refusal(post(client, engineer, f"inspections/{issued.pk}/note-observation", **wrong), 409)
    assert "is issued" in told["detail"]


def test_an_earlier_one_in_like_words_is_asked_about(client, engineer, site):
    seen = make.make_observation(site, "No main bonding to the gas pipe", place="intake")
    row = drafted(site, engineer)
    address = f"inspections/{row.pk}/note-observation"
    body = {"unit": str(unit_of(site).pk), "text": seen.text, "place": "intake", "code": "C2"}
    told = refusal(post(client, engineer, address, id=str(new_id()), **body), 409)
    assert (told["field"], told["detail"]) == (
        "continues",
        f"Is it one of these? {seen.number} “{seen.text}”. Say which, or that it is a new one, and send again.",
    )
    is_new = sent(client, engineer, address, 201, id=str(new_id()), new=True, **body)
    assert is_new["continues"] is None
    same = sent(client, engineer, address, 201, id=str(new_id()), continues=str(seen.pk), **body)
    assert same["continues"] == str(seen.pk)


# --- as a whole -------------------------------------------------------------------------------------------------------


def test_issue_as_it_was_seen(client, qualified, engineer, site):
    row = drafted(site, qualified)
    seen = noted(row)
    address = f"inspections/{row.pk}/issue"
    told = refusal(post(client, engineer, address), 403)
    assert "qualified" in told["detail"]
    assert refusal(post(client, qualified, address, 2), 412)["version"] == 1
    told = refusal(post(client, qualified, address, 1, observations=[]), 409)
    assert told["detail"].startswith(f"Since you looked: 1 observation added ({seen.number}).")
    asked = {"observations": [{"number": seen.number, "version": 1}], "limitations": []}
    with entries() as left:
        shown = sent(client, qualified, address, version=1, **asked)
    assert (shown["state"], shown["outcome"], shown["issued_by"]) == ("issued", "unsatisfactory", str(qualified.pk))
    seen.refresh_from_db()
    assert (seen.draft, ("inspection.issued", str(row.pk)) in left) == (False, True)
    assert [subject for verb, subject in left if not verb.startswith("paper.")] == [str(row.pk)]


def test_reissue_drop_and_bring_back(client, qualified, site):
    row = make.make_inspection(site, by=qualified)
    seen = make.make_observation(site, inspection=row)
    body = {"id": str(new_id()), "reason": "On the wrong board"}
    with entries() as left:
        begun = [sent(client, qualified, f"inspections/{row.pk}/reissue", 201, **body) for _ in range(2)]
        copy = Observation.objects.get(inspection=body["id"])
        sent(client, qualified, f"draft-observations/{copy.pk}/drop")
        back = sent(client, qualified, f"inspections/{body['id']}/bring-back", 201, former=str(seen.pk))
    assert (begun[0], begun[0]["replaces"]) == (begun[1], str(row.pk))
    assert (back["continues"], back["text"]) == (str(seen.pk), seen.text)
    assert left == [
        ("inspection.reissue-begun", body["id"]),
        ("observation.dropped", str(copy.pk)),
        ("observation.brought-back", back["id"]),
    ]
    other = make.make_observation(site)
    told = refusal(post(client, qualified, f"inspections/{body['id']}/bring-back", former=str(other.pk)), 409)
    assert told["field"] == "former"
    assert refusal(post(client, qualified, f"inspections/{row.pk}/reissue", id=str(new_id()), reason=" "), 400)[
        "errors"
    ]


def test_delete_a_draft(client, engineer, site):
    row = drafted(site, engineer)
    noted(row)
    address = f"inspections/{row.pk}/delete"
    told = refusal(post(client, engineer, address), 409)
    assert told["field"] == "reason"
    with entries() as left:
        gone = sent(client, engineer, address, reason="Begun twice")
    assert gone == {"id": str(row.pk), "number": row.number}
    assert (left, Inspection.objects.count()) == ([("inspection.deleted", str(row.pk))], 0)
    issued = make.make_inspection(site)
    told = refusal(post(client, engineer, f"inspections/{issued.pk}/delete", reason="x"), 409)
    assert "issued" in told["detail"]


def test_count_the_dates_again(client, engineer, office, site):
    row = make.make_inspection(site, next_due_on=date(2031, 2, 3))
    seen = make.make_observation(site, inspection=row, code="C2", remedy_by=date(2027, 1, 1))
    with entries() as left:
        told = [sent(client, office, f"inspections/{row.pk}/count-dates-again") for _ in range(2)]
    assert told[1] == {"changed": 0}
    assert told[0]["changed"] == len(left) > 0
    assert ("observation.recounted", str(seen.pk)) in left
    draft = drafted(site, engineer)
    told = refusal(post(client, office, f"inspections/{draft.pk}/count-dates-again"), 409)
    assert told["detail"] == "Dates run from the issue of a report that is in force."


def test_what_anothers_report_missed(client, qualified, engineer, site):
    row = make.make_inspection(site, other_firm=True)
    body = {"id": str(new_id()), "unit": str(unit_of(site).pk), "text": "Blank missing", "code": "C2"}
    with entries() as left:
        shown = [sent(client, qualified, f"inspections/{row.pk}/add-missed", 201, **body) for _ in range(2)]
    assert (shown[0], shown[0]["missed_in"], shown[0]["recorded_on"]) == (shown[1], str(row.pk), "2026-02-03")
    assert left == [("observation.missed", body["id"])]
    told = refusal(post(client, engineer, f"inspections/{row.pk}/add-missed", **body | {"id": str(new_id())}), 403)
    assert told["detail"].startswith("Only a qualified person decides codes")
