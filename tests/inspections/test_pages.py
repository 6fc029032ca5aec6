"""Pages of inspections: what they show, 422 with all that was typed, 403, 404, and their number of SQL statements."""

from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import operations
from inspections.models import DangerNotice, Inspection, Limitation, MadeSafe, Observation, Reading, Review
from jobsite.ids import new_id
from jobsite.people.models import Competence
from tests import factories as make
from tests.factories import picture, recorded

pytestmark = pytest.mark.django_db
TODAY = date(2026, 2, 3)


@pytest.fixture(autouse=True)
def _at_noon(now, monkeypatch):
    """The pages read the clock once, at the edge."""
    monkeypatch.setattr("jobsite.clock.now", lambda: now)


@pytest.fixture
def as_(client):
    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def new_inspection(**fields):
    usual = {"id": str(new_id()), "kind": "periodic", "inspected_on": "2026-01-20", "edition": "2018+A2:2022"}
    return usual | fields


# --- entering ---------------------------------------------------------------------------------------------------------


def test_an_engineer_begins_our_own_inspection(as_, engineer, site) -> None:
    response = as_(engineer).post(f"/sites/{site.pk}/inspections/new/", new_inspection(other_firm="yes"))
    made = Inspection.objects.get()
    assert response.headers["Location"] == f"/inspections/{made.pk}/"
    assert (made.other_firm, made.inspector, list(made.units.all())) == (False, engineer, [make.unit_of(site)])


def test_the_office_takes_in_another_firms_report_with_its_file(as_, office, site) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    data = b"%PDF-1.7 invented report"
    values = new_inspection(other_firm="yes", firm_name="Invented Sparks", outcome_written="unsatisfactory")
    client = as_(office)
    client.post(f"/sites/{site.pk}/inspections/new/", values | {"file": SimpleUploadedFile("../r.pdf", data)})
    made = Inspection.objects.get()
    assert (made.other_firm, made.firm_name, made.file_name) == (True, "Invented Sparks", "r.pdf")
    download = client.get(f"/inspections/{made.pk}/file/")
    assert (download.content, download.headers["Content-Disposition"]) == (
        data,
        f'attachment; filename="report-{made.number}.pdf"',
    )
    assert download.headers["Content-Type"] == "application/octet-stream"


def test_a_refused_form_keeps_what_was_typed(as_, engineer, site) -> None:
    response = as_(engineer).post(
        f"/sites/{site.pk}/inspections/new/", new_inspection(inspected_on="31/2/2026", extent="All but the loft")
    )
    assert response.status_code == 422
    assert "All but the loft" in text_of(response)
    assert 'value="31/2/2026"' in text_of(response)
    assert "Write the date as day, month, year" in text_of(response)
    future = as_(engineer).post(f"/sites/{site.pk}/inspections/new/", new_inspection(inspected_on="2026-02-04"))
    assert future.status_code == 422
    assert "The day of the inspection lies in the future." in text_of(future)
    assert Inspection.objects.count() == 0


def test_a_plain_house_is_not_asked_for_its_unit(as_, engineer, site) -> None:
    assert "Units covered" not in text_of(as_(engineer).get(f"/sites/{site.pk}/inspections/new/"))
    make.make_unit(site, "Flat 2")
    assert "Units covered" in text_of(as_(engineer).get(f"/sites/{site.pk}/inspections/new/"))


def test_only_the_office_is_asked_whose_it_is(as_, engineer, office, site) -> None:
    path = f"/sites/{site.pk}/inspections/new/"
    assert "another firm&#x27;s report" not in text_of(as_(engineer).get(path))
    assert "another firm&#x27;s report" in text_of(as_(office).get(path))


def test_observations_are_entered_one_after_another(as_, qualified, start, board) -> None:
    circuit, draft = make.make_circuit(board, 5), start()
    client = as_(qualified)
    values = {
        "id": str(new_id()),
        "board": str(board.pk),
        "way": "5",
        "text": "Burnt neutral",
        "code": "C1",
        "item": "4.2",
    }
    response = client.post(f"/inspections/{draft.pk}/", values)
    seen = Observation.objects.get()
    here = f"/inspections/{draft.pk}/?unit={seen.unit_id}&board={board.pk}"
    assert (seen.circuit, seen.board, response.headers["Location"]) == (circuit, board, here)
    again = client.post(f"/inspections/{draft.pk}/", values)
    assert (again.status_code, Observation.objects.count()) == (302, 1)
    shown = text_of(client.get(here))
    assert f'<option value="{board.pk}" selected>' in shown
    assert "is a C1: not made safe and no danger notice given." in shown
    assert "By the rule of its edition as it stands: <strong>unsatisfactory</strong>" in shown


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"way": "5"}, "Choose the board that the way is on."),
        ({"board": True, "way": "five"}, "Write the way as it stands at the board"),
        ({"board": True, "way": "9L1"}, "Hall has no way 9L1 on record."),
        ({"board": True, "way": "6"}, "Way 6 of Hall is there more than once: write 6L1, 6L2."),
        ({"text": ""}, "Needed: fill this in."),
        ({"code": ""}, "Choose one."),
    ],
)
def test_an_observation_that_does_not_fit_is_shown_again(as_, qualified, start, site, typed, sentence) -> None:
    make.supply_of(site).__class__.objects.filter(site=site).update(phases=["L1", "L2", "L3"])
    board = make.make_board(site, "Hall", phases=("L1", "L2", "L3"))
    make.make_circuit(board, 6, phase="L1")
    make.make_circuit(board, 6, phase="L2")
    values = {"id": str(new_id()), "text": "Cracked socket", "code": "C2", "place": "by the door"} | typed
    if values.get("board"):
        values["board"] = str(board.pk)
    response = as_(qualified).post(f"/inspections/{start().pk}/", values)
    assert (response.status_code, Observation.objects.count()) == (422, 0)
    assert sentence in text_of(response)
    assert 'value="by the door"' in text_of(response)


def test_an_observation_of_a_draft_is_changed_and_dropped(as_, qualified, start, note) -> None:
    draft = start()
    seen = note(draft)
    client = as_(qualified)
    response = client.post(f"/observations/{seen.pk}/change/", {"text": "Lid missing", "code": "C3", "version": "1"})
    seen.refresh_from_db()
    assert (response.headers["Location"], seen.text, seen.code) == (f"/inspections/{draft.pk}/", "Lid missing", "C3")
    stale = client.post(f"/observations/{seen.pk}/change/", {"text": "Lid broken", "code": "C3", "version": "1"})
    assert stale.status_code == 422
    assert "Saved by somebody else: <strong>Lid missing</strong>" in text_of(stale)
    client.post(f"/observations/{seen.pk}/drop/")
    assert Observation.objects.count() == 0


def test_an_observation_continues_an_open_one(as_, qualified, start, site) -> None:
    earlier = make.make_observation(site, "Lid loose", on=date(2024, 5, 1))
    make.make_observation(site, "Put right", on=date(2024, 5, 1), ended="remedied", ended_on=TODAY)
    make.make_observation(site, "Seen later", on=date(2026, 1, 21))
    draft, client = start(), as_(qualified)
    shown = text_of(client.get(f"/inspections/{draft.pk}/"))
    assert f"{earlier.number} · C2 · Lid loose" in shown
    assert "Put right" not in shown
    assert "Seen later" not in shown
    values = {"id": str(new_id()), "text": "Lid off now", "code": "C1", "continues": str(earlier.pk)}
    client.post(f"/inspections/{draft.pk}/", values)
    later = draft.observations.get()
    assert (later.continues, later.first_recorded_on) == (earlier, date(2024, 5, 1))
    earlier.__class__.objects.filter(pk=earlier.pk).update(ended="remedied", ended_on=TODAY)
    change = {"text": "Lid off", "code": "C1", "version": "1", "continues": str(earlier.pk)}
    assert f'value="{earlier.pk}" selected' in text_of(client.get(f"/observations/{later.pk}/change/"))
    assert client.post(f"/observations/{later.pk}/change/", change).status_code == 302
    later.refresh_from_db()
    assert (later.text, later.continues) == ("Lid off", earlier)


def test_dates_are_counted_again_by_a_button(as_, office, issued, site) -> None:
    report, [seen] = issued("C2", remedy_limit_days=60, other_firm=True)
    site.units.update(tenure="owner-occupied")
    client = as_(office)
    assert "Count the dates again" in text_of(client.get(f"/inspections/{report.pk}/"))
    client.post(f"/inspections/{report.pk}/dates/")
    seen.refresh_from_db()
    assert not seen.remedy_by_law


def test_particulars_are_edited(as_, qualified, start) -> None:
    draft = start()
    client = as_(qualified)
    assert 'value="2026-01-20"' in text_of(client.get(f"/inspections/{draft.pk}/edit/"))
    values = {"kind": "survey", "inspected_on": "20 Jan 2026", "edition": "2018+A2:2022", "version": "1"}
    client.post(f"/inspections/{draft.pk}/edit/", values | {"extent": "The hall"})
    draft.refresh_from_db()
    assert (draft.kind, draft.extent, draft.version) == ("survey", "The hall", 2)
    stale = client.post(f"/inspections/{draft.pk}/edit/", values | {"extent": "The loft"})
    assert stale.status_code == 422
    assert "Saved by somebody else: <strong>The hall</strong>" in text_of(stale)


def test_limitations_are_noted_taken_off_and_covered(as_, qualified, start, now) -> None:
    draft, client = start(), as_(qualified)
    for what in ("The loft", "The cellar"):
        client.post(f"/inspections/{draft.pk}/limitations/new/", {"id": str(new_id()), "what": what})
    loft, cellar = Limitation.objects.order_by("pk")
    client.post(f"/limitations/{cellar.pk}/remove/")
    operations.issue_inspection(draft, by=qualified, now=now)
    assert "Still not covered" in text_of(client.get(f"/inspections/{draft.pk}/"))
    later = operations.issue_inspection(start(inspected_on=date(2026, 2, 1)), by=qualified, now=now)
    client.post(f"/limitations/{loft.pk}/cover/", {"covered_by": str(later.pk)})
    assert "Still not covered" not in text_of(client.get(f"/inspections/{draft.pk}/"))
    refused = client.post(f"/limitations/{loft.pk}/remove/")
    assert refused.status_code == 422
    assert "This report is issued and does not change any more." in text_of(refused)


def test_issue_is_refused_in_place(as_, qualified, start, note) -> None:
    draft = start()
    bare = note(draft, "")
    response = as_(qualified).post(f"/inspections/{draft.pk}/issue/")
    assert response.status_code == 422
    assert f"Give every observation a code first. Without one: {bare.number}." in text_of(response)


def test_the_unqualified_see_why_they_cannot_issue(as_, engineer, start, note) -> None:
    draft = start(by=engineer)
    note(draft)
    client = as_(engineer)
    shown = text_of(client.get(f"/inspections/{draft.pk}/"))
    assert "Our own report is issued by a qualified person. The record has none for you on 3 Feb 2026." in shown
    assert f"/inspections/{draft.pk}/issue/" not in shown
    assert client.post(f"/inspections/{draft.pk}/issue/").status_code == 403


def test_issued_reports_show_both_answers(as_, office, issued) -> None:
    report, _ = issued("C2", "C3", other_firm=True, outcome_written="satisfactory")
    shown = text_of(as_(office).get(f"/inspections/{report.pk}/"))
    assert "Written: satisfactory. By the rule of its edition: unsatisfactory." in shown
    assert "Unsatisfactory: C2 recorded." in shown
    assert "Yes: C1, C2 or FI in force. Still open: 1 × C2." in shown
    assert "Check the current law." in shown
    assert "28 days starting with 20 Jan 2026" in shown
    assert "Review its codes: 2 left" in shown


def test_a_report_keeps_its_assessment_when_all_is_remedied(as_, office, engineer, issued, now) -> None:
    report, [seen] = issued("C2")
    operations.end_observation(seen, ended="remedied", reason="", by=engineer, now=now)
    shown = text_of(as_(office).get(f"/inspections/{report.pk}/"))
    assert "Overall assessment: unsatisfactory." in shown
    assert "Every observation of this report is closed by now." in shown


# --- codes ------------------------------------------------------------------------------------------------------------


def decide(observation, **fields):
    return {"observation": str(observation.pk), "version": str(observation.version), "code": "", "reason": ""} | fields


def test_one_code_is_decided_by_htmx_and_the_row_comes_back(as_, qualified, issued) -> None:
    report, [one, _] = issued("C2", "C3", other_firm=True)
    values = decide(one, decision="recode", code="C1", reason="Live parts")
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", values, headers={"HX-Request": "true"})
    shown = text_of(response)
    assert response.status_code == 200
    assert shown.startswith(f'<section class="sheet" id="o-{one.pk}">')
    assert '<strong id="left" hx-swap-oob="true">1 observation to review</strong>' in shown
    assert "Quentin Prover recodes: C1 – Live parts" in shown
    assert "written C2 · reviewed" in shown


def test_one_code_is_decided_without_htmx(as_, qualified, issued) -> None:
    report, [one] = issued("C2", other_firm=True)
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", decide(one, decision="agree"))
    assert response.headers["Location"] == f"/inspections/{report.pk}/codes/#o-{one.pk}"
    assert Review.objects.get().decision == "agree"


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_a_refused_decision_keeps_what_was_typed(as_, qualified, issued, headers) -> None:
    report, [one] = issued("C2", other_firm=True)
    values = decide(one, decision="recode", code="C2", reason="as seen on site")
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", values, headers=headers)
    shown = text_of(response)
    assert (response.status_code, Review.objects.count()) == (422, 0)
    assert "C2 is the code in force already: agree with it instead." in shown
    assert 'value="as seen on site"' in shown
    assert "<option selected>C2</option>" in shown


def test_a_stale_decision_is_shown_with_the_code_as_it_is_now(as_, qualified, issued, now) -> None:
    report, [one] = issued("C2", other_firm=True)
    operations.review(one, decision="recode", code="C3", reason="x", by=qualified, now=now)
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", decide(one, decision="no-code", reason="y"))
    assert response.status_code == 422
    assert "decide again" in text_of(response)
    assert Review.objects.count() == 1


def test_codes_of_another_report_are_not_found_here(as_, qualified, issued) -> None:
    report, _ = issued("C2", other_firm=True)
    _, [elsewhere] = issued("C2", other_firm=True)
    client = as_(qualified)
    for key in (str(elsewhere.pk), "not-a-key", "\0"):
        values = decide(elsewhere, decision="agree") | {"observation": key}
        assert client.post(f"/inspections/{report.pk}/codes/", values).status_code == 404


def test_the_unqualified_see_why_they_cannot_decide(as_, engineer, issued) -> None:
    report, [one] = issued("C2", other_firm=True)
    client = as_(engineer)
    shown = text_of(client.get(f"/inspections/{report.pk}/codes/"))
    assert "The record has none for you on 3 Feb 2026" in shown
    assert 'name="decision"' not in shown
    assert client.post(f"/inspections/{report.pk}/codes/", decide(one, decision="agree")).status_code == 403
    review = f"/observations/{one.pk}/review/"
    assert "Only a qualified person decides codes" in text_of(client.get(review))
    assert client.post(review, {"decision": "agree", "version": "2"}).status_code == 403
    Competence.objects.create(user=engineer, since=TODAY, evidence="invented")
    assert client.post(review, {"decision": "agree", "version": "2"}).status_code == 302


def test_a_reported_defect_is_coded_on_its_review_page(as_, qualified, site) -> None:
    seen = make.make_observation(site, code="")
    client = as_(qualified)
    shown = text_of(client.get(f"/observations/{seen.pk}/review/"))
    assert "give it a code" in shown
    assert "agree with the code" not in shown
    values = {"decision": "recode", "code": "C2", "reason": "Cracked", "version": "1"}
    assert client.post(f"/observations/{seen.pk}/review/", values).headers["Location"] == f"/observations/{seen.pk}/"
    seen.refresh_from_db()
    assert seen.code == "C2"


def test_a_finding_is_chosen_never_assumed(as_, qualified, site) -> None:
    fi = make.make_observation(site, code="FI")
    client, values = as_(qualified), {"id": str(new_id()), "text": "All tight"}
    assert client.post(f"/observations/{fi.pk}/finding/", values).status_code == 422
    assert client.post(f"/observations/{fi.pk}/finding/", values | {"code": ""}).status_code == 302
    fi.refresh_from_db()
    assert fi.ended == "finding"


# --- acting -----------------------------------------------------------------------------------------------------------


def test_somebody_rang(as_, office, site, board) -> None:
    make.make_site("Elsewhere")
    circuit, client = make.make_circuit(board, 3), as_(office)
    found = client.get("/rang/", {"q": "kiln"}, headers={"HX-Request": "true"})
    assert f"/rang/?site={site.pk}" in text_of(found)
    assert "Elsewhere" not in text_of(found)
    values = {"id": str(new_id()), "reported_by": "the tenant", "text": "Sparks", "board": str(board.pk), "way": "3"}
    response = client.post(f"/rang/?site={site.pk}", values)
    seen = Observation.objects.get()
    assert response.headers["Location"] == f"/observations/{seen.pk}/"
    assert (seen.circuit, seen.code, seen.owner, seen.step_by) == (circuit, "", office, TODAY)


def test_somebody_rang_about_no_site(as_, office, site) -> None:
    client = as_(office)
    for key in ("nonsense", str(new_id())):
        assert client.get("/rang/", {"site": key}).status_code == 404
    assert "No site that you can see" in text_of(client.get("/rang/", {"q": "zzz %_ \\"}))


def test_the_next_step_is_given(as_, office, engineer, site) -> None:
    seen = make.make_observation(site)
    path, client = f"/observations/{seen.pk}/take-on/", as_(office)
    assert "Who has the next step" in text_of(client.get(path))
    past = client.post(path, {"owner": str(engineer.pk), "step_by": "2 Feb 2026"})
    assert past.status_code == 422
    assert "This day is past" in text_of(past)
    done = client.post(path, {"owner": str(engineer.pk), "step_by": "4 Feb 2026", "next": f"/sites/{site.pk}/"})
    seen.refresh_from_db()
    assert (done.headers["Location"], seen.owner) == (f"/sites/{site.pk}/", engineer)


def test_made_safe_looked_at_again_and_reconnected(as_, engineer, site) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    seen = make.make_observation(site, code="C1")
    client, base = as_(engineer), f"/observations/{seen.pk}"
    shown = text_of(client.get(f"{base}/make-safe/"))
    assert "the defect stays open until it is remedied" in shown
    assert 'value="2026-02-10"' in shown  # look again by the firm's policy, 7 days on
    values = {
        "id": str(new_id()),
        "how": "locked",
        "what": "MCB 4",
        "agreed_with": "the owner",
        "look_again_on": "2026-02-10",
    }
    refused = client.post(f"{base}/make-safe/", values)
    assert refused.status_code == 422
    assert "Say who holds the key of the lock." in text_of(refused)
    photo = SimpleUploadedFile("p.png", picture())
    client.post(f"{base}/make-safe/", values | {"key_holder": "Edwin", "photo": photo})
    made = MadeSafe.objects.get()
    assert client.get(f"/made-safe/{made.pk}/photo/").headers["Content-Type"] == "image/jpeg"
    client.post(f"{base}/look-again/", {"look_again_on": "2026-02-17"})
    made.refresh_from_db()
    assert made.look_again_on == date(2026, 2, 17)
    client.post(f"{base}/reconnect/", {"reason": "the tenant"})
    seen.refresh_from_db()
    assert (seen.made_safe, seen.code) == (False, "C1")
    for gone in ("look-again", "reconnect"):
        assert client.get(f"{base}/{gone}/").status_code == 404


def test_a_danger_notice_and_its_answer(as_, engineer, site) -> None:
    c1, c2 = make.make_observation(site, code="C1"), make.make_observation(site, code="C2")
    make.make_observation(site, "Old colours", code="C3")
    client, path = as_(engineer), f"/observations/{c1.pk}/notice/"
    assert "Old colours" not in text_of(client.get(path))
    values = {"id": str(new_id()), "observations": [str(c1.pk), str(c2.pk)], "why": "Live parts", "how": "hand"}
    refused = client.post(path, values | {"advised": "Leave it off"})
    assert (refused.status_code, DangerNotice.objects.count()) == (422, 0)
    client.post(path, values | {"advised": "Leave it off", "given_to": "the owner"})
    notice = DangerNotice.objects.get()
    assert set(notice.observations.all()) == {c1, c2}
    assert f"/notices/{notice.pk}/answer/" in text_of(client.get(path))
    client.post(f"/notices/{notice.pk}/answer/", {"answer": "refused"})
    notice.refresh_from_db()
    assert notice.answer == "refused"
    assert "refused 3 Feb 2026, 12:00" in text_of(client.get(path))


def test_photos_are_kept_and_served_to_those_who_see_the_site(as_, engineer, site) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    seen = make.make_observation(site)
    client = as_(engineer)
    wrong = client.post(f"/observations/{seen.pk}/photos/new/", {"photo": SimpleUploadedFile("x.jpg", b"<html>")})
    assert wrong.status_code == 422
    assert "This file is not a photo that can be read" in text_of(wrong)
    client.post(f"/observations/{seen.pk}/photos/new/", {"photo": SimpleUploadedFile("x.png", picture())})
    photo = seen.photos.get()
    served = client.get(f"/photos/{photo.pk}/")
    assert served.content.startswith(b"\xff\xd8")
    assert served.headers["Cache-Control"] == "private, max-age=86400, immutable"
    assert f'src="/photos/{photo.pk}/"' in text_of(client.get(f"/observations/{seen.pk}/review/"))
    stranger = make.make_user("Sam Subworth", "engineer", subcontractor=True)
    assert as_(stranger).get(f"/photos/{photo.pk}/").status_code == 404
    make.grant_access(site, stranger)
    assert as_(stranger).get(f"/photos/{photo.pk}/").status_code == 200


def test_a_reading_is_taken_on_its_circuit(as_, engineer, board) -> None:
    circuit, tester = make.make_circuit(board), make.make_instrument()
    client, path = as_(engineer), f"/circuits/{circuit.pk}/readings/new/"
    shown = text_of(client.get(path))
    assert "the record can be wrong" in shown
    assert "Competent people only." in shown
    assert "0.80 × 1.366 Ω" in shown
    values = {"id": str(new_id()), "value": "350", "instrument": str(tester.pk)}
    asked = client.post(path, values)
    assert asked.status_code == 422
    assert "did you mean 0.35 Ω?" in text_of(asked)
    client.post(path, values | {"value": "0.35 Ω"})
    assert Reading.objects.get().verdict == "pass"
    assert "BS EN 60898 type B 32 A" in text_of(client.get(path))


# --- who sees what ----------------------------------------------------------------------------------------------------


def pages_of(site, issued, board):
    """Every page here that stands on a row of a site, by address."""
    report, [seen] = issued("FI", other_firm=True)
    base, observation = f"/inspections/{report.pk}", f"/observations/{seen.pk}"
    acts = ("change", "review", "finding", "make-safe", "look-again", "reconnect", "notice", "take-on", "photos/new")
    yield from (f"{base}/", f"{base}/edit/", f"{base}/codes/", f"{base}/limitations/new/", f"{base}/file/")
    yield from (f"{observation}/{act}/" for act in acts)
    yield from (f"/sites/{site.pk}/inspections/new/", f"/rang/?site={site.pk}")
    yield f"/circuits/{make.make_circuit(board).pk}/readings/new/"


def test_a_site_that_is_not_yours_is_not_found(as_, site, issued, board) -> None:
    client = as_(make.make_user("Sam Subworth", "engineer", subcontractor=True))
    for path in pages_of(site, issued, board):
        assert (path, client.get(path).status_code) == (path, 404)
    for path in pages_of(site, issued, board):
        if "rang" not in path:
            assert (path, client.post(path).status_code) == (path, 404)


def test_nobody_signed_in_sees_the_sign_in(client, site, issued, board) -> None:
    for path in pages_of(site, issued, board):
        assert client.get(path).headers["Location"].startswith("/accounts/login/")


def test_buttons_are_posts_only(as_, qualified, start, note) -> None:
    draft = start()
    seen = note(draft)
    client = as_(qualified)
    for path in (f"/inspections/{draft.pk}/issue/", f"/observations/{seen.pk}/drop/"):
        with recorded() as told:
            assert client.get(path).status_code == 405
        assert told == []


# --- the list and the statements --------------------------------------------------------------------------------------


def test_the_list_narrows_and_downloads(as_, office, issued, site) -> None:
    mine, _ = issued("C2", other_firm=True, reference="R-77")
    own, _ = issued("C3")
    client = as_(office)
    shown = text_of(client.get("/inspections/", {"q": "R-77"}))
    assert f"/inspections/{mine.pk}/" in shown
    assert f"/inspections/{own.pk}/" not in shown
    waiting = text_of(client.get("/inspections/", {"state": "to-review"}))
    assert f"/inspections/{mine.pk}/" in waiting
    assert f"/inspections/{own.pk}/" not in waiting
    lines = client.get("/inspections/", {"as": "csv", "q": str(own.number)}).content.decode("utf-8-sig").splitlines()
    assert lines == [
        "Number,Site,Kind,Whose,Inspected,State,Assessment,Observations,Not reviewed",
        f"{own.number},Kiln Cottage,periodic inspection,our own,20 Jan 2026,issued,satisfactory,1,",
    ]


HOSTILE = ["9223372036854775808", "1" + "0" * 40, "-1", "٣", "%", "<b>", "\u202e", "x" * 3000]


@pytest.mark.parametrize("value", HOSTILE)
def test_odd_values_in_an_address_are_answered_with_a_page(as_, qualified, start, site, value) -> None:
    client, draft = as_(qualified), start()
    assert client.get("/inspections/", {"q": value, "state": value}).status_code in (200, 422)
    assert client.get("/inspections/", {"after": value}).status_code == 400
    assert client.get(f"/inspections/{draft.pk}/", {"unit": value, "board": value}).status_code == 200
    assert client.get("/rang/", {"q": value}).status_code == 200
    assert client.get("/rang/", {"site": value}).status_code == 404


@pytest.mark.parametrize("value", [*HOSTILE, "\0"])
def test_odd_values_in_a_form_are_refused_in_place(as_, qualified, site, board, value) -> None:
    client, circuit, seen = as_(qualified), make.make_circuit(board), make.make_observation(site, code="FI")
    names = ("id", "unit", "board", "way", "owner", "step_by", "code", "version", "decision", "look_again_on", "how")
    names += ("value", "instrument", "limit_entered", "inspected_on", "edition", "remedy_limit_days", "observations")
    paths = [f"/observations/{seen.pk}/{act}/" for act in ("review", "finding", "take-on", "make-safe", "notice")]
    paths += [f"/circuits/{circuit.pk}/readings/new/", f"/sites/{site.pk}/inspections/new/", f"/rang/?site={site.pk}"]
    for path in paths:
        with recorded() as told:
            assert (path, client.post(path, dict.fromkeys(names, value)).status_code) == (path, 422)
        assert told == []


def statements(client, path) -> int:
    with CaptureQueriesContext(connection) as seen:
        assert client.get(path).status_code == 200
    return len(seen)


@pytest.mark.parametrize("size", [1, 12])
def test_statements_do_not_grow(as_, office, qualified, start, note, issued, now, board, size) -> None:
    """Session and user are two of them."""
    draft = start()
    for _ in range(size):
        note(draft, "C1", circuit=make.make_circuit(board))
        operations.add_limitation(draft, id=new_id(), what="The loft", by=qualified, now=now)
    report, seen = issued(*(["C2"] * size), other_firm=True)
    for observation in seen:
        operations.review(observation, decision="agree", reason="", by=qualified, now=now)
    client = as_(qualified)
    counted = {
        "list": statements(client, "/inspections/"),
        "draft": statements(client, f"/inspections/{draft.pk}/"),
        "report": statements(client, f"/inspections/{report.pk}/"),
        "codes": statements(client, f"/inspections/{report.pk}/codes/"),
        "review": statements(client, f"/observations/{seen[0].pk}/review/"),
        "make safe": statements(client, f"/observations/{seen[0].pk}/make-safe/"),
    }
    assert counted == {"list": 4, "draft": 11, "report": 8, "codes": 7, "review": 6, "make safe": 6}
