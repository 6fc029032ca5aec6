"""Pages on which a report is reissued, what it left out is brought back, and a draft is deleted."""

import re

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


def hidden(client, draft) -> dict[str, list[str]]:
    """What the form of the issue sends, wherever on the page it stands."""
    shown = text_of(client.get(f"/inspections/{draft.pk}/"))
    version = re.findall(r'id="issue".*?name="version" value="(\d+)"', shown, re.DOTALL)
    seen = re.findall(r'name="seen" value="([\d:]+)" form="issue"', shown)
    return {"version": version, "seen": seen, "limit": re.findall(r'name="limit" value="(\S+)" form="issue"', shown)}


def test_what_came_since_the_page_was_shown_is_not_issued_unseen(as_, qualified, start, note, now) -> None:
    draft, client, who = start(), as_(qualified), {"by": qualified, "now": now}
    kept, changed, dropped = note(draft, "C3"), note(draft, "C3"), note(draft, "C3")
    gone = operations.add_limitation(draft, id=new_id(), what="Loft", **who)
    looked = hidden(client, draft)
    assert looked["seen"] == [f"{row.number}:1" for row in (kept, changed, dropped)]
    added = note(draft, "C1", "Live parts"), note(draft, "C2")
    operations.change_observation(changed, version=1, code="C1", **who)
    operations.drop_observation(dropped, **who)
    operations.remove_limitation(gone, **who)
    operations.add_limitation(draft, id=new_id(), what="Cellar", **who)
    operations.edit_inspection(draft, version=1, extent="All of it", **who)
    refused = client.post(f"/inspections/{draft.pk}/issue/", looked)
    draft.refresh_from_db()
    assert (refused.status_code, draft.state) == (422, "draft")
    assert (
        f"Since you looked: 2 observations added ({added[0].number}, {added[1].number}), "
        f"1 observation changed ({changed.number}), 1 observation dropped ({dropped.number}), 1 limitation added, "
        "1 limitation taken off, the particulars changed. Look again at the draft as it is now, then issue it."
    ) in text_of(refused)
    assert "Live parts" in text_of(refused)
    client.post(f"/inspections/{draft.pk}/issue/", hidden(client, draft))
    draft.refresh_from_db()
    assert draft.state == "issued"


def test_what_was_noted_and_changed_in_place_counts_as_seen(as_, qualified, start, note) -> None:
    """The answer brings the row as it is now; a row that is open to be changed still says what it was."""
    draft, client = start(), as_(qualified)
    seen, in_place = note(draft), {"HTTP_HX_REQUEST": "true"}
    opened = text_of(client.get(f"/observations/{seen.pk}/change/", **in_place))
    assert f'name="seen" value="{seen.number}:1" form="issue"' in opened
    values = {"text": "Lid off", "code": "C1", "version": "1"}
    assert f'value="{seen.number}:2" form="issue"' in text_of(
        client.post(f"/observations/{seen.pk}/change/", values, **in_place)
    )
    answer = client.post(f"/inspections/{draft.pk}/limitations/new/", {"id": str(new_id()), "what": "Loft"}, **in_place)
    assert f'name="limit" value="{draft.limitations.get().pk}" form="issue"' in text_of(answer)
    refused = client.post(f"/inspections/{draft.pk}/issue/", {"version": "1", "seen": ["x", "1:2:3"], "limit": "x"})
    assert f"1 observation added ({seen.number}), 1 limitation added." in text_of(refused)
