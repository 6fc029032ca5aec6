"""The review of another firm's report: photo and history beside each item, what it missed, how the two assessments differ."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections import operations
from inspections.models import Observation
from jobsite.ids import new_id
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def review(observation, by, now, decision="agree", **fields):
    return operations.review(observation, decision=decision, by=by, now=now, **{"reason": ""} | fields)


@pytest.fixture
def decided(issued, qualified, now):
    """A report of four codes: agreed, recoded, no code, agreed; all decided."""
    report, rows = issued("C2", "C3", "FI", "C3", other_firm=True, outcome_written="satisfactory")
    review(rows[0], qualified, now)
    review(rows[1], qualified, now, "recode", code="C2", reason="Sockets outdoors")
    review(rows[2], qualified, now, "no-code", reason="Traced by us")
    review(rows[3], qualified, now)
    return report, rows


def test_an_item_stands_beside_its_photo_and_what_it_continues(as_, qualified, issued, start, note, now, site) -> None:
    first = make.make_observation(site, "Cover cracked", code="C3", on=make.TODAY.replace(year=2024))
    operations.add_photo(first, data=make.picture("blue"), by=qualified, now=now, caption="as it was in 2024")
    review(first, qualified, now, "recode", code="C2", reason="live parts near")
    _, [second] = issued("C2")
    second.continues = first
    second.save(update_fields=["continues"])
    report, [third] = issued("C2", other_firm=True)
    third.continues = second
    third.save(update_fields=["continues"])
    operations.add_photo(third, data=make.picture(), by=qualified, now=now, caption="cover")
    shown = text_of(as_(qualified).get(f"/inspections/{report.pk}/codes/"))
    assert f'Continues <a href="/observations/{second.pk}/">' in shown
    assert f'Continues <a href="/observations/{first.pk}/">' in shown
    assert shown.index(str(second.pk)) < shown.index(str(first.pk))
    assert "recodes: C2 – live parts near" in shown
    assert ('alt="cover"' in shown, 'alt="as it was in 2024"' in shown) == (True, True)


@pytest.mark.parametrize("count", [1, 12])
def test_the_page_takes_the_same_statements_whatever_the_size(as_, qualified, issued, now, site, count) -> None:
    earlier = [make.make_observation(site, f"Old {n}", code="C3") for n in range(count)]
    report, rows = issued(*["C2"] * count, other_firm=True)
    for old, row in zip(earlier, rows, strict=True):
        row.continues = old
        row.save(update_fields=["continues"])
        operations.add_photo(row, data=make.picture(), by=qualified, now=now)
    client = as_(qualified)
    with CaptureQueriesContext(connection) as captured:
        assert client.get(f"/inspections/{report.pk}/codes/").status_code == 200
    assert len(captured) == 15


@pytest.mark.parametrize("count", [2, 12])
def test_the_comparison_takes_the_same_statements_whatever_the_size(as_, qualified, issued, now, count) -> None:
    report, rows = issued(*["C3"] * count, other_firm=True)
    for row in rows:
        review(row, qualified, now, "recode", code="C2", reason="worse than they saw")
    client = as_(qualified)
    with CaptureQueriesContext(connection) as captured:
        shown = text_of(client.get(f"/inspections/{report.pk}/codes/"))
    assert (len(captured), f"We recode {count} from C3 to C2." in shown) == (16, True)


def test_nothing_is_compared_before_all_is_decided_and_nothing_of_our_own_report(
    as_, qualified, issued, decided
) -> None:
    report, _ = decided
    client = as_(qualified)
    shown = text_of(client.get(f"/inspections/{report.pk}/codes/"))
    assert "How the two assessments differ" in shown
    for fields in ({"other_firm": True}, {}):
        report, _ = issued("C2", **fields)
        assert "How the two assessments differ" not in text_of(client.get(f"/inspections/{report.pk}/codes/"))


def test_how_the_assessments_differ_is_said_in_words(as_, qualified, decided) -> None:
    report, _ = decided
    shown = text_of(as_(qualified).get(f"/inspections/{report.pk}/codes/"))
    assert "Written: satisfactory. By its own codes: unsatisfactory. By ours: unsatisfactory." in shown
    assert "We agree with 2 of its 4 codes." in shown
    assert "We recode 1 from C3 to C2." in shown
    assert "We find that these need no code: 1 × FI." in shown
    assert "Action by law or policy is required, by its codes as by ours." in shown
    assert (
        '<td data-head="From">C3</td><td data-head="To">C2</td><td data-head="Because">Sockets outdoors</td>' in shown
    )
    report.refresh_from_db()
    assert (report.outcome, report.outcome_written) == ("unsatisfactory", "satisfactory")


def test_the_last_decision_brings_the_comparison_with_it(as_, qualified, issued) -> None:
    report, [one] = issued("C3", other_firm=True)
    values = {"observation": str(one.pk), "version": str(one.version), "choice": "C2", "reason": "outdoors"}
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", values, headers={"HX-Request": "true"})
    assert '<div id="compared" hx-swap-oob="true"><section' in text_of(response)
    assert "The two assessments differ: satisfactory by its codes, unsatisfactory by ours." in text_of(response)


def test_what_was_put_right_since_changes_no_assessment(as_, qualified, decided, now) -> None:
    report, rows = decided
    operations.end_observation(rows[0], ended="others", reason="their certificate", by=qualified, now=now)
    shown = text_of(as_(qualified).get(f"/inspections/{report.pk}/codes/"))
    assert "By its own codes: unsatisfactory. By ours: unsatisfactory." in shown


def test_what_it_missed_is_added_on_its_page(as_, qualified, issued, board) -> None:
    report, _ = issued("C3", other_firm=True)
    client, address = as_(qualified), f"/inspections/{report.pk}/missed/"
    assert address in client.get(f"/inspections/{report.pk}/codes/").content.decode()
    values = {"id": str(new_id()), "text": "Blank missing", "code": "", "board": str(board.pk), "way": "", "place": ""}
    refused = client.post(address, values)
    assert (refused.status_code, "Blank missing" in text_of(refused)) == (422, True)
    assert client.post(address, values | {"code": "C1"}).headers["Location"].endswith("/codes/#missed")
    added = Observation.objects.get(text="Blank missing")
    assert (added.missed_in, added.inspection, added.code, added.reviewed, added.board) == (
        report, None, "C1", True, board,
    )  # fmt: skip
    assert "Blank missing" in text_of(client.get(f"/inspections/{report.pk}/codes/"))
    assert "it had missed it" in text_of(client.get(f"/observations/{added.pk}/"))


def test_who_is_not_qualified_adds_nothing(as_, engineer, issued) -> None:
    report, _ = issued("C3", other_firm=True)
    client, address = as_(engineer), f"/inspections/{report.pk}/missed/"
    assert "Only a qualified person decides codes" in text_of(client.get(address))
    values = {"id": str(new_id()), "text": "Blank missing", "code": "C1"}
    assert client.post(address, values).status_code == 403
    assert address not in client.get(f"/inspections/{report.pk}/codes/").content.decode()
