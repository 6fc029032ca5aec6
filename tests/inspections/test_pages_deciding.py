"""Pages on which codes are decided: row by row with htmx and without, and why not for those who may not."""

from datetime import date

import pytest

from inspections import operations
from inspections.models import Review
from jobsite.ids import new_id
from jobsite.people.models import Competence
from tests import factories as make

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def decide(observation, choice="", **fields):
    version = str(observation.version)
    return {"observation": str(observation.pk), "version": version, "choice": choice, "reason": ""} | fields


def test_one_code_is_decided_by_htmx_and_the_row_comes_back(as_, qualified, issued) -> None:
    report, [one, _] = issued("C2", "C3", other_firm=True)
    values = decide(one, "C1", reason="Live parts")
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", values, headers={"HX-Request": "true"})
    shown = text_of(response)
    assert response.status_code == 200
    assert shown.startswith(
        f'<section class="sheet" id="o-{one.pk}" data-card tabindex="-1" aria-label="Observation {one.number}">'
    )
    assert '<div id="left" class="far" tabindex="-1" hx-swap-oob="true"><strong>1 of 2 decided</strong>' in shown
    assert 'id="compared"' not in shown
    assert "Quentin Prover recodes: C1 – Live parts" in shown
    assert "written C2 · reviewed" in shown


def test_examples_of_published_guidance_stand_beside_an_observation_like_them(as_, qualified, issued) -> None:
    report, _ = issued("C3", other_firm=True)
    make.make_observation(
        report.site, "No RCD for socket-outlets that supply equipment outdoors", inspection=report, reviewed=False
    )
    shown = text_of(as_(qualified).get(f"/inspections/{report.pk}/codes/"))
    assert shown.count("Examples in published guidance") == 1
    assert (
        'An example from published guidance: the inspector on site decides.</p><ul class="plainlist">'
        "<li><strong>C2</strong> A socket-outlet likely to feed equipment outdoors has no RCD of 30 mA."
    ) in shown
    assert Review.objects.count() == 0


def test_one_code_is_decided_without_htmx(as_, qualified, issued) -> None:
    report, [one] = issued("C2", other_firm=True)
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", decide(one, "agree"))
    assert response.headers["Location"] == f"/inspections/{report.pk}/codes/#left"
    assert Review.objects.get().decision == "agree"


def test_after_a_decision_the_next_undecided_stands_in_view(as_, qualified, issued) -> None:
    report, [one, two, three] = issued("C2", "C3", "FI", other_firm=True)
    for decided, then in ((two, f"o-{three.pk}"), (three, f"o-{one.pk}"), (one, "left")):
        response = as_(qualified).post(f"/inspections/{report.pk}/codes/", decide(decided, "agree"))
        assert response.headers["Location"] == f"/inspections/{report.pk}/codes/#{then}"


def test_the_undecided_alone_are_shown_and_stay_so_after_a_decision(as_, qualified, issued) -> None:
    report, [one, two] = issued("C2", "C3", other_firm=True)
    client, address = as_(qualified), f"/inspections/{report.pk}/codes/"
    response = client.post(f"{address}?show=undecided", decide(one, "agree"))
    assert response.headers["Location"] == f"{address}?show=undecided#o-{two.pk}"
    shown = text_of(client.get(f"{address}?show=undecided"))
    assert (f"o-{one.pk}" in shown, f"o-{two.pk}" in shown) == (False, True)
    assert '<strong>1 of 2 decided</strong> <progress value="1" max="2"' in shown
    client.post(f"{address}?show=undecided", decide(two, "agree"))
    assert "Nothing is left to decide here." in text_of(client.get(f"{address}?show=undecided"))


def test_a_long_report_is_decided_page_by_page(as_, qualified, issued, monkeypatch) -> None:
    monkeypatch.setattr("inspections.queries.deciding.PAGE", 2)
    report, [one, two, three] = issued("C2", "C3", "FI", other_firm=True)
    client, address = as_(qualified), f"/inspections/{report.pk}/codes/"
    first, second = (text_of(client.get(f"{address}?page={page}")) for page in ("0", "1"))
    assert ("1 to 2 of 3" in first, f"o-{three.pk}" in first) == (True, False)
    assert ("3 to 3 of 3" in second, f"o-{three.pk}" in second, f"o-{one.pk}" in second) == (True, True, False)
    response = client.post(address, decide(two, "agree"))
    assert response.headers["Location"] == f"{address}?page=1#o-{three.pk}"
    for page in ("-1", "x", "9" * 40, "²", "99"):
        assert client.get(address, {"page": page}).status_code == 200


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_nothing_is_decided_unless_it_is_chosen(as_, qualified, issued, headers) -> None:
    report, [one] = issued("C2", other_firm=True)
    client, address = as_(qualified), f"/inspections/{report.pk}/codes/"
    assert "checked" not in client.get(address).content.decode()
    response = client.post(address, decide(one, reason="half a sen"), headers=headers)
    assert (response.status_code, Review.objects.count()) == (422, 0)
    assert "Decision: Choose one." in text_of(response)
    assert 'value="half a sen"' in text_of(response)
    assert "checked" not in client.get(f"/observations/{one.pk}/review/").content.decode()


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_a_refused_decision_keeps_what_was_typed(as_, qualified, issued, headers) -> None:
    report, [one] = issued("C2", other_firm=True)
    values = decide(one, "C2", reason="as seen on site")
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", values, headers=headers)
    shown = text_of(response)
    assert (response.status_code, Review.objects.count()) == (422, 0)
    assert "C2 is the code in force already: agree with it instead." in shown
    assert 'value="as seen on site"' in shown


@pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
def test_a_changed_code_without_a_reason_keeps_the_choice(as_, qualified, issued, headers) -> None:
    report, [one] = issued("C2", other_firm=True)
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", decide(one, "C1"), headers=headers)
    assert (response.status_code, Review.objects.count()) == (422, 0)
    assert "Say why: a changed code needs its reason." in text_of(response)
    assert 'value="C1" data-key="1" checked>' in text_of(response)


def test_a_decision_is_undone_by_deciding_again_and_both_stay(as_, qualified, issued) -> None:
    report, [one] = issued("C2", other_firm=True)
    client, address = as_(qualified), f"/inspections/{report.pk}/codes/"
    client.post(address, decide(one, "no-code", reason="pressed too soon"))
    one.refresh_from_db()
    shown = text_of(client.get(address))
    assert ("Decide again" in shown, 'value="no-code"' in shown) == (True, False)
    client.post(address, decide(one, "C2", reason="as they wrote"))
    one.refresh_from_db()
    assert (one.code, one.ended, one.reviewed) == ("C2", "", True)
    shown = text_of(client.get(address))
    assert "finds that it deserves no code – pressed too soon" in shown
    assert "recodes: C2 – as they wrote" in shown


def test_a_stale_decision_is_shown_with_the_code_as_it_is_now(as_, qualified, issued, now) -> None:
    report, [one] = issued("C2", other_firm=True)
    operations.review(one, decision="recode", code="C3", reason="x", by=qualified, now=now)
    response = as_(qualified).post(f"/inspections/{report.pk}/codes/", decide(one, "no-code", reason="y"))
    assert response.status_code == 422
    assert "decide again" in text_of(response)
    assert Review.objects.count() == 1


def test_codes_of_another_report_are_not_found_here(as_, qualified, issued) -> None:
    report, _ = issued("C2", other_firm=True)
    _, [elsewhere] = issued("C2", other_firm=True)
    client = as_(qualified)
    for key in (str(elsewhere.pk), "not-a-key", "\0"):
        values = decide(elsewhere, "agree") | {"observation": key}
        assert client.post(f"/inspections/{report.pk}/codes/", values).status_code == 404


def test_the_unqualified_see_why_they_cannot_decide(as_, engineer, issued) -> None:
    report, [one] = issued("C2", other_firm=True)
    client = as_(engineer)
    shown = text_of(client.get(f"/inspections/{report.pk}/codes/"))
    assert "The record has none for you on 3 Feb 2026" in shown
    assert 'name="choice"' not in shown
    assert client.post(f"/inspections/{report.pk}/codes/", decide(one, "agree")).status_code == 403
    review = f"/observations/{one.pk}/review/"
    assert "Only a qualified person decides codes" in text_of(client.get(review))
    assert client.post(review, {"decision": "agree", "version": "2"}).status_code == 403
    Competence.objects.create(user=engineer, since=date(2026, 2, 3), evidence="invented")
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
    assert "checked" not in client.get(f"/observations/{fi.pk}/finding/").content.decode()
    refused = client.post(f"/observations/{fi.pk}/finding/", values | {"code": ""})
    assert (refused.status_code, "Choose what was found, or that nothing was." in text_of(refused)) == (422, True)
    assert client.post(f"/observations/{fi.pk}/finding/", values | {"code": "nothing"}).status_code == 302
    fi.refresh_from_db()
    assert fi.ended == "finding"


def test_a_finding_in_error_is_withdrawn_on_its_page(as_, qualified, engineer, site, now) -> None:
    fi = make.make_observation(site, code="FI")
    operations.record_finding(fi, id=new_id(), code="", text="All tight", by=qualified, now=now)
    address = f"/observations/{fi.pk}/finding/withdraw/"
    assert address not in as_(engineer).get(f"/observations/{fi.pk}/").content.decode()
    assert address in as_(qualified).get(f"/observations/{fi.pk}/").content.decode()
    assert as_(qualified).post(address, {"reason": ""}).status_code == 422
    assert as_(qualified).post(address, {"reason": "Wrong board"}).status_code == 302
    fi.refresh_from_db()
    assert fi.ended == ""
