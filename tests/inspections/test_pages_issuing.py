"""Pages on which a report is reissued, what it left out is brought back, and a draft is deleted."""

import pytest

from inspections import operations
from inspections.models import Inspection, Observation
from jobsite.ids import new_id
from tests import factories as make
from tests.inspections.test_pages_entering import text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def begin(client, report, reason: str = "The loft was inspected after all") -> Inspection:
    values = {"id": str(new_id()), "reason": reason}
    response = client.post(f"/inspections/{report.pk}/reissue/", values)
    made = Inspection.objects.get(replaces=report)
    assert response.headers["Location"] == f"/inspections/{made.pk}/"
    return made


def test_a_report_is_reissued_from_its_page(as_, qualified, issued) -> None:
    report, [seen] = issued("C2")
    client = as_(qualified)
    assert f"/inspections/{report.pk}/reissue/" in text_of(client.get(f"/inspections/{report.pk}/"))
    nothing = client.post(f"/inspections/{report.pk}/reissue/", {"id": str(new_id()), "reason": ""})
    assert (nothing.status_code, Inspection.objects.count()) == (422, 1)
    draft = begin(client, report)
    shown = text_of(client.get(f"/inspections/{report.pk}/"))
    assert "Being reissued:" in shown
    assert f"/inspections/{report.pk}/reissue/" not in shown
    assert "A reissue of" in text_of(client.get(f"/inspections/{draft.pk}/"))
    client.post(f"/inspections/{draft.pk}/issue/")
    former, latter = (text_of(client.get(f"/inspections/{r.pk}/")) for r in (report, draft))
    assert "Replaced on 3 Feb 2026 by" in former
    assert "What was wrong: The loft was inspected after all" in former
    assert "What was wrong there: The loft was inspected after all" in latter
    assert seen.text in former
    for only_in_force in ("Count the dates again", "Still open", "is closed by now"):
        assert only_in_force not in former


def test_what_is_left_out_is_asked_about_and_nothing_typed_is_lost(as_, qualified, issued) -> None:
    report, [seen, _] = issued("C2", "C3")
    client = as_(qualified)
    draft = begin(client, report)
    client.post(f"/observations/{draft.observations.get(continues=seen).pk}/drop/")
    shown = text_of(client.get(f"/inspections/{draft.pk}/"))
    assert "Left out of the reissue, still open" in shown
    refused = client.post(f"/inspections/{draft.pk}/issue/", {"left_out_reason": "  "})
    assert refused.status_code == 422
    assert f"The reissue leaves out {seen.number} (C2), still open: say why, or bring it back." in text_of(refused)
    client.post(f"/inspections/{draft.pk}/bring-back/", {"former": str(seen.pk)})
    assert "Left out of the reissue" not in text_of(client.get(f"/inspections/{draft.pk}/"))
    assert client.post(f"/inspections/{draft.pk}/bring-back/", {"former": "x"}).status_code == 422
    client.post(f"/observations/{draft.observations.get(continues=seen).pk}/drop/")
    client.post(f"/inspections/{draft.pk}/issue/", {"left_out_reason": "Not in this building"})
    seen.refresh_from_db()
    assert (seen.ended, seen.ended_reason) == ("withdrawn", "Not in this building")


def test_a_draft_is_deleted_after_a_look(as_, qualified, start, note) -> None:
    draft = start()
    note(draft, "C2")
    client = as_(qualified)
    assert "1 × C2" in text_of(client.get(f"/inspections/{draft.pk}/delete/"))
    refused = client.post(f"/inspections/{draft.pk}/delete/", {"reason": ""})
    assert refused.status_code == 422
    assert "Say why: it notes observations." in text_of(refused)
    client.post(f"/inspections/{draft.pk}/delete/", {"reason": "Wrong site"})
    assert (Inspection.objects.count(), Observation.objects.count()) == (0, 0)


def test_an_issued_report_is_not_deleted_from_its_page(as_, qualified, issued) -> None:
    report, _ = issued("C3")
    response = as_(qualified).post(f"/inspections/{report.pk}/delete/", {"reason": "x"})
    assert (response.headers["Location"], Inspection.objects.count()) == (f"/inspections/{report.pk}/", 1)


def test_boards_that_are_not_covered_are_said(as_, qualified, start, site, board) -> None:
    make.make_board(site, "Garage")
    client = as_(qualified)
    some, none = start(boards=[board]), start()
    assert "<dt>Boards not covered</dt><dd>Garage</dd>" in text_of(client.get(f"/inspections/{some.pk}/"))
    assert "<dt>Boards</dt><dd>none named</dd>" in text_of(client.get(f"/inspections/{none.pk}/"))


def test_another_units_board_is_not_missed(as_, qualified, start, site, board) -> None:
    one, other = make.make_unit(site, "Flat 1"), make.make_unit(site, "Flat 2")
    for unit, name in ((one, "Flat 1 board"), (other, "Flat 2 board")):
        make.make_board(site, name).units.add(unit)
    draft = start(units=[one], boards=[board])
    assert "<dt>Boards not covered</dt><dd>Flat 1 board</dd>" in text_of(
        as_(qualified).get(f"/inspections/{draft.pk}/")
    )


def test_the_office_sees_why_it_cannot_issue_the_reissue_of_our_own(as_, office, issued) -> None:
    report, _ = issued("C3")
    client = as_(office)
    draft = begin(client, report)
    shown = text_of(client.get(f"/inspections/{draft.pk}/"))
    assert "Our own report is issued by a qualified person." in shown
    assert client.post(f"/inspections/{draft.pk}/issue/").status_code == 403
    operations.delete_draft(draft, by=office, now=make.NOON)
