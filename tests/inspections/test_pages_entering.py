"""Pages on which inspections are begun, entered and issued: 422 with all that was typed, 403 with the reason."""

from datetime import date

import pytest

from inspections import operations
from inspections.models import Inspection, Limitation, Observation
from jobsite.ids import new_id
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
TODAY = date(2026, 2, 3)


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def new_inspection(**fields):
    usual = {"id": str(new_id()), "kind": "periodic", "inspected_on": "2026-01-20", "edition": "2018+A2:2022"}
    return usual | fields


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
    assert '<input type="text" name="board" value="Hall"' in shown
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


@pytest.fixture
def flats(site, board):
    """Two flats with a board each, beside the board that serves both."""
    one, other = make.make_unit(site, "Flat 1"), make.make_unit(site, "Flat 2")
    boards = [make.make_board(site, f"{unit.name} board") for unit in (one, other)]
    for unit, own in zip((one, other), boards, strict=True):
        own.units.add(unit)
    return one, other, *boards


def test_the_boards_of_a_unit_are_offered_together(as_, engineer, site, flats) -> None:
    one, _, own, _ = flats
    client, path = as_(engineer), f"/sites/{site.pk}/inspections/new/"
    shown = text_of(client.get(path))
    assert shown.index("Serving the whole site") < shown.index("Serving Flat 1") < shown.index("Serving Flat 2")
    client.post(path, new_inspection(units=[str(one.pk)], all_boards="on"))
    made = Inspection.objects.get()
    assert {b.designation for b in made.boards.all()} == {"Hall", own.designation}


def test_a_board_of_a_unit_that_is_not_covered_is_asked_about(as_, engineer, site, flats) -> None:
    one, _, _, others = flats
    values = new_inspection(units=[str(one.pk)], boards=[str(others.pk)])
    response = as_(engineer).post(f"/sites/{site.pk}/inspections/new/", values)
    assert response.status_code == 422
    assert "Flat 2 board serves no unit that is covered: tick its unit as well, or leave it out." in text_of(response)
    assert Inspection.objects.count() == 0


def test_our_own_is_offered_the_edition_in_force_and_another_firms_names_its_own(as_, engineer, office, site) -> None:
    path = f"/sites/{site.pk}/inspections/new/"
    assert '<option value="2018+A2:2022" selected>' in text_of(as_(engineer).get(path))
    assert '<option value="2018+A2:2022" selected>' not in text_of(as_(office).get(path))


def test_limitations_are_noted_one_after_another_on_the_page(as_, qualified, start) -> None:
    draft, client = start(), as_(qualified)
    path, in_place = f"/inspections/{draft.pk}/limitations/new/", {"HTTP_HX_REQUEST": "true"}
    form = text_of(client.get(path, **in_place))
    assert "data-hold-next" in form
    assert "<html" not in form
    answer = client.post(path, {"id": str(new_id()), "what": "The loft", "why": "no ladder"}, **in_place)
    assert "The loft" in text_of(answer)
    assert Limitation.objects.get().why == "no ladder"
    empty = client.post(path, {"id": str(new_id()), "what": ""}, **in_place)
    assert (empty.status_code, "Needed: fill this in." in text_of(empty)) == (422, True)
