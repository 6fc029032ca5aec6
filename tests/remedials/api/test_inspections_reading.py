"""What the API shows of inspections and what hangs on them: what each row says, to whom, by which filter, at what cost."""

from typing import Any

import pytest

from inspections.models import DangerNotice, Inspection, MadeSafe, ObservationPhoto, Review
from jobsite.downloads import XLSX
from jobsite.firm.models import Progress
from jobsite.firm.operations import take_number
from jobsite.ledger.files import store_file
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.test_api_verbs import PROBLEM, refusal

pytestmark = pytest.mark.django_db
REPORT = b"%PDF-1.7 a report"


@pytest.fixture
def reader(client, office):
    client.force_login(office)
    return client


def kept(data: bytes = REPORT, media: str = "application/pdf"):
    return store_file(data, media_type=media, now=NOON)


def photo(site, **fields):
    seen = fields.pop("observation", None) or make.make_observation(site)
    file = kept(make.picture(kind="JPEG"), "image/jpeg")
    usual = {"file": file, "width": 40, "height": 30, "added_by": make.anybody(), "added_at": NOON}
    return ObservationPhoto.objects.create(observation=seen, **usual | fields)


def decided(site, **fields):
    seen = fields.pop("observation", None) or make.make_observation(site)
    usual = {"decision": "recode", "code_before": "FI", "code": "C2", "reason": "seen", "by": make.anybody()}
    return Review.objects.create(observation=seen, at=NOON, **usual | fields)


def held(site, **fields):
    seen = fields.pop("observation", None) or make.make_observation(site, code="C1", made_safe=True)
    usual = {"how": "covered", "what": "tape", "agreed_with": "Petra", "by": make.anybody(), "look_again_on": TODAY}
    return MadeSafe.objects.create(observation=seen, at=NOON, **usual | fields)


def noticed(site, *about, **fields):
    usual = {"why": "bare", "advised": "keep away", "given_to": "Petra", "how": "hand", "given_by": make.anybody()}
    row = DangerNotice.objects.create(number=take_number("notice"), site=site, given_at=NOON, **usual | fields)
    row.observations.set(about or [make.make_observation(site, code="C1")])
    return row


def not_seen(site, **fields):
    seen, report = make.make_observation(site), fields.pop("inspection", None) or make.make_inspection(site)
    usual = {"answer": "not-looked", "by": make.anybody(), "at": NOON}
    return report.not_seen_again.create(observation=seen, **usual | fields)


def intake(site, **fields):
    usual: dict[str, Any] = {"kind": "boards", "file": kept(b"Board,Place\n", "text/csv"), "file_name": "boards.csv"}
    usual |= {"progress": Progress.objects.create(what="reading", changed_at=NOON), "state": "read"}
    usual |= {"unit": make.unit_of(site), "uploaded_by": make.anybody(), "uploaded_at": NOON}
    return site.intakes.create(**usual | fields)


def drafted(site):
    report = make.make_inspection(site, issued=False)
    return make.make_observation(site, inspection=report, draft=True)


# Each noun: how a row of it comes to be at a site, and the statements that its list costs however many rows it has.
NOUNS = {
    "inspections": (make.make_inspection, 5),
    "limitations": (lambda site: make.make_inspection(site).limitations.create(what="the loft"), 3),
    "not-seen-again": (not_seen, 3),
    "draft-observations": (drafted, 3),
    "inspections-due": (lambda site: make.make_inspection_due(make.unit_of(site)), 3),
    "photos": (photo, 3),
    "code-reviews": (decided, 3),
    "made-safe": (held, 3),
    "notices": (noticed, 4),
    "papers": (make.make_paper, 3),
    "occupancy-changes": (lambda site: make.make_occupancy_change(make.unit_of(site)), 3),
    "paper-requests": (lambda site: make.make_paper_request(make.make_inspection(site)), 3),
    "meter-comparisons": (lambda site: make.make_comparison(make.make_observation(site, code="FI")), 4),
    "intakes": (intake, 3),
}
WITHOUT_ONE = {"not-seen-again"}


def get(client, where: str, **query) -> list[dict]:
    answer = client.get(f"/api/v1/{where}/", query)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def keys(client, where: str, **query) -> list[str]:
    return [row.get("id") or row["unit"] for row in get(client, where, **query)]


def pks(*rows) -> list[str]:
    return [str(row.pk) for row in rows]


@pytest.mark.parametrize("noun", NOUNS)
def test_a_row_is_the_same_in_the_list_and_alone(reader, site, noun):
    row = NOUNS[noun][0](site)
    (listed,) = get(reader, noun)
    assert (listed.get("id") or listed["unit"]) == str(row.pk)
    if noun in WITHOUT_ONE:
        return
    alone = reader.get(f"/api/v1/{noun}/{row.pk}/")
    assert {name: alone.json()[name] for name in listed} == listed
    assert alone.headers.get("ETag", "") == (f'"{row.version}"' if hasattr(row, "version") else "")


@pytest.mark.parametrize("noun", NOUNS)
def test_a_subcontractor_sees_only_their_sites(client, site, noun):
    mine, other = NOUNS[noun][0](site), NOUNS[noun][0](make.make_site("Elsewhere"))
    somebody = make.make_user("Sid Lent", "office", subcontractor=True)
    make.grant_access(site, somebody)
    client.force_login(somebody)
    assert keys(client, noun) == pks(mine)
    if noun not in WITHOUT_ONE:
        refusal(client.get(f"/api/v1/{noun}/{other.pk}/"), 404)


@pytest.mark.parametrize("noun", NOUNS)
def test_pages_lose_and_repeat_nothing(reader, noun):
    made = [NOUNS[noun][0](make.make_site(f"Site {n}")) for n in range(5)]
    address, seen = f"/api/v1/{noun}/?page_size=2", []
    while address:
        answer = reader.get(address).json()
        assert len(answer["results"]) <= 2
        seen += [row.get("id") or row["unit"] for row in answer["results"]]
        address = answer["next"]
    assert sorted(seen) == sorted(pks(*made))
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize("noun", NOUNS)
def test_statements_of_a_list(reader, django_assert_num_queries, noun, count):
    """Session, person, the rows, and where a row has several of something, those."""
    for n in range(count):
        NOUNS[noun][0](make.make_site(f"Site {n}"))
    with django_assert_num_queries(NOUNS[noun][1]):
        assert len(get(reader, noun)) == count


@pytest.mark.parametrize("noun", NOUNS)
def test_a_misspelt_filter_is_refused(reader, noun):
    assert list(refusal(reader.get(f"/api/v1/{noun}/?sitte=1"), 400)["errors"]) == ["sitte"]


@pytest.mark.parametrize("noun", sorted(set(NOUNS) - {"not-seen-again", "photos", "code-reviews"}))
def test_narrowed_to_a_site(reader, site, noun):
    mine, _ = NOUNS[noun][0](site), NOUNS[noun][0](make.make_site("Elsewhere"))
    assert keys(reader, noun, site=str(site.pk)) == pks(mine)


# --- inspections ------------------------------------------------------------------------------------------------------


def test_an_inspection_says_what_its_page_says(reader, site):
    board = make.make_board(site)
    row = make.make_inspection(
        site, other_firm=True, firm_name="Bygone Electrics", reference="R-7", remedy_limit_days=0, file=kept(),
        file_name="theirs.pdf", outcome_written="satisfactory", next_due_on="2031-02-03",
    )  # fmt: skip
    row.boards.add(board)
    shown = reader.get(f"/api/v1/inspections/{row.pk}/").json()
    expected = {"number": row.number, "site": str(site.pk), "units": pks(make.unit_of(site)), "boards": pks(board)}
    expected |= {"kind": "periodic", "other_firm": True, "state": "issued", "outcome": "unsatisfactory"}
    expected |= {"outcome_written": "satisfactory", "remedy_limit_days": 0, "edition": "2018+A2:2022", "version": 1}
    expected |= {"firm_name": "Bygone Electrics", "reference": "R-7", "file_name": "theirs.pdf"}
    assert {name: shown[name] for name in expected} == expected
    assert "file" not in shown


def test_inspections_filtered(reader, site):
    ours = make.make_inspection(site, kind="initial")
    theirs = make.make_inspection(site, other_firm=True, firm_name="Bygone Electrics", reference="R-7")
    draft = make.make_inspection(site, issued=False)
    flat = make.make_inspection(site, units=[make.make_unit(site)])
    make.make_observation(site, inspection=theirs, reviewed=False)
    assert keys(reader, "inspections") == pks(ours, theirs, draft, flat)
    assert keys(reader, "inspections", state="draft") == pks(draft)
    assert keys(reader, "inspections", kind="initial") == pks(ours)
    assert keys(reader, "inspections", other_firm="true") == pks(theirs)
    assert keys(reader, "inspections", other_firm="false") == pks(ours, draft, flat)
    assert keys(reader, "inspections", unit=str(flat.units.get().pk)) == pks(flat)
    assert keys(reader, "inspections", to_review="true") == pks(theirs)
    assert keys(reader, "inspections", to_review="false") == pks(ours, draft, flat)
    assert keys(reader, "inspections", q="bygone") == pks(theirs)
    assert keys(reader, "inspections", q=str(flat.number)) == pks(flat)


def test_the_report_as_it_came(reader, site):
    row = make.make_inspection(site, file=kept(), file_name="theirs.pdf")
    answer = reader.get(f"/api/v1/inspections/{row.pk}/file/", headers={"accept": "text/plain"})
    page = reader.get(f"/inspections/{row.pk}/file/")
    assert (answer.status_code, answer.content) == (200, REPORT)
    heads = (
        "Content-Type",
        "Content-Disposition",
        "Cache-Control",
        "X-Content-Type-Options",
        "Content-Security-Policy",
    )
    assert {head: answer[head] for head in heads} == {head: page[head] for head in heads}
    without = make.make_inspection(site)
    refusal(reader.get(f"/api/v1/inspections/{without.pk}/file/", headers={"accept": "text/plain"}), 404)


def test_limitations_that_stand(reader, site):
    issued, draft = make.make_inspection(site), make.make_inspection(site, issued=False)
    stands = issued.limitations.create(what="the loft", why="no ladder", agreed_with="Petra")
    covered = issued.limitations.create(what="the cellar", covered_by=make.make_inspection(site))
    noted = draft.limitations.create(what="the shed")
    assert keys(reader, "limitations", standing="true") == pks(stands)
    assert keys(reader, "limitations", standing="false") == pks(covered, noted)
    assert keys(reader, "limitations", inspection=str(draft.pk)) == pks(noted)
    shown = reader.get(f"/api/v1/limitations/{stands.pk}/").json()
    assert shown == {
        "id": str(stands.pk), "inspection": str(issued.pk), "unit": None, "board": None, "what": "the loft",
        "why": "no ladder", "agreed_with": "Petra", "covered_by": None,
    }  # fmt: skip


def test_what_an_inspection_is_asked_about(reader, site):
    seen = make.make_observation(site)
    make.make_observation(site, ended="remedied", ended_on=TODAY)
    draft = make.make_inspection(site, issued=False)
    assert keys(reader, f"inspections/{draft.pk}/earlier") == pks(seen)
    assert keys(reader, f"inspections/{draft.pk}/earlier", code="C1") == []
    answered = not_seen(site, inspection=make.make_inspection(site))
    assert keys(reader, f"inspections/{answered.inspection_id}/earlier") == [str(answered.observation_id)]
    assert get(reader, "not-seen-again", inspection=str(answered.inspection_id))[0]["answer"] == "not-looked"
    assert keys(reader, "not-seen-again", observation=str(seen.pk)) == []


def test_when_the_next_inspection_is_due(reader, site):
    row = make.make_inspection_due(make.unit_of(site), after=make.make_inspection(site), by_law=True)
    assert reader.get(f"/api/v1/inspections-due/{row.pk}/").json() == {
        "unit": str(row.pk), "site": str(site.pk), "due_on": "2027-02-03", "basis": "the report", "by_law": True,
        "noticed_on": None, "after": str(row.after_id), "owner": None,
    }  # fmt: skip
    assert keys(reader, "inspections-due", due_by="2027-02-03") == pks(row)
    assert keys(reader, "inspections-due", due_by="2027-02-02") == []


def test_observations_of_drafts_stand_apart(reader, site):
    row, seen = drafted(site), make.make_observation(site)
    assert keys(reader, "draft-observations", inspection=str(row.inspection_id)) == pks(row)
    assert keys(reader, "observations") == pks(seen)
    refusal(reader.get(f"/api/v1/draft-observations/{seen.pk}/"), 404)


# --- what hangs on an observation -------------------------------------------------------------------------------------


def test_a_photograph_and_its_picture(reader, site):
    row, _ = photo(site, caption="the cover"), photo(site)
    assert keys(reader, "photos", observation=str(row.observation_id)) == pks(row)
    shown = reader.get(f"/api/v1/photos/{row.pk}/").json()
    assert (shown["width"], shown["height"], shown["caption"]) == (40, 30, "the cover")
    picture = reader.get(f"/api/v1/photos/{row.pk}/file/")
    page = reader.get(f"/photos/{row.pk}/")
    assert (picture["Content-Type"], picture.content) == ("image/jpeg", page.content)
    small = reader.get(f"/api/v1/photos/{row.pk}/file/?small")
    assert small.content == reader.get(f"/photos/{row.pk}/?small").content


def test_decisions_on_a_code(reader, site):
    row, _ = decided(site), decided(site)
    (shown,) = get(reader, "code-reviews", observation=str(row.observation_id))
    assert (shown["decision"], shown["code_before"], shown["code"], shown["reason"]) == ("recode", "FI", "C2", "seen")


def test_what_stands_made_safe(reader, site):
    stands = held(site, lock="14", key_holder="Petra", photo=kept(make.picture(kind="JPEG"), "image/jpeg"))
    ended = held(site, ended="remedied", ended_at=NOON, no_photo="dark")
    assert keys(reader, "made-safe", standing="true") == pks(stands)
    assert keys(reader, "made-safe", standing="false") == pks(ended)
    assert keys(reader, "made-safe", observation=str(ended.observation_id)) == pks(ended)
    shown = reader.get(f"/api/v1/made-safe/{stands.pk}/").json()
    assert (shown["lock"], shown["key_holder"], shown["has_photo"], shown["site"]) == (
        "14",
        "Petra",
        True,
        str(site.pk),
    )
    assert reader.get(f"/api/v1/made-safe/{stands.pk}/photo/")["Content-Type"] == "image/jpeg"
    refusal(reader.get(f"/api/v1/made-safe/{ended.pk}/photo/"), 404)


def test_notices_of_danger(reader, site):
    seen = make.make_observation(site, code="C1")
    open_one = noticed(site, seen)
    answered = noticed(site, answer="refused", answered_at=NOON, answered_by="Petra")
    assert keys(reader, "notices", answered="false") == pks(open_one)
    assert keys(reader, "notices", answered="true") == pks(answered)
    assert keys(reader, "notices", observation=str(seen.pk)) == pks(open_one)
    assert reader.get(f"/api/v1/notices/{open_one.pk}/").json()["observations"] == pks(seen)
    document = reader.get(f"/api/v1/notices/{open_one.pk}/document/")
    assert (document["Content-Type"], document.content[:5]) == ("application/pdf", b"%PDF-")
    assert document.content == reader.get(f"/notices/{open_one.pk}/document/").content


def test_comparisons_of_meters(reader, site):
    row = make.make_comparison(make.make_observation(site, code="FI"))
    assert keys(reader, "meter-comparisons", observation=str(row.observation_id), found="agree") == pks(row)
    assert keys(reader, "meter-comparisons", found="points") == []
    figures = reader.get(f"/api/v1/meter-comparisons/{row.pk}/").json()["figures"]
    assert [(one["relied_on"], one["start"], one["wh"]) for one in figures] == [
        (True, "1.000000", "1000.000000"),
        (False, "1.000000", "1000.000000"),
    ]


# --- papers -----------------------------------------------------------------------------------------------------------


def test_papers_by_what_became_of_them(reader, site):
    open_one = make.make_paper(site)
    done = make.make_paper(site, answer="done", answered_on=TODAY, how="by hand")
    assert keys(reader, "papers", open="true") == pks(open_one)
    assert keys(reader, "papers", answer="done") == pks(done)
    assert keys(reader, "papers", unit=str(open_one.unit_id)) == pks(open_one, done)


def test_one_paper_with_its_documents_and_who_has_it(reader, client, engineer, site):
    row = make.make_paper(site)
    by = make.anybody()
    document = row.documents.create(file=kept(), name="covering-letter.pdf", made_by=by, made_at=NOON)
    supply = row.supplies.create(
        form=row.pk, to="Tina", came="given", how="hand", on=TODAY, document=document, file=kept(), file_name="r.pdf",
        recorded_by=by, recorded_at=NOON,
    )  # fmt: skip
    shown = reader.get(f"/api/v1/papers/{row.pk}/").json()
    assert [one["name"] for one in shown["documents"]] == ["covering-letter.pdf"]
    assert [(one["to"], one["came"], one["has_file"]) for one in shown["supplies"]] == [("Tina", "given", True)]
    assert [(one["key"], one["name"], one["must"]) for one in shown["candidates"]] == [("words", "the tenant", True)]
    made = reader.get(f"/api/v1/paper-documents/{document.pk}/file/")
    assert (made["Content-Type"], made.content) == ("application/pdf", REPORT)
    proof = reader.get(f"/api/v1/paper-supplies/{supply.pk}/file/")
    assert (proof["Content-Type"], proof.content) == ("application/octet-stream", REPORT)
    client.force_login(engineer)
    assert refusal(client.get(f"/api/v1/papers/{row.pk}/"), 403)["title"] == "Not allowed"
    assert keys(client, "papers") == pks(row)


def test_who_moved_in_and_who_asked(reader, site):
    flat = make.make_unit(site)
    moved, _ = make.make_occupancy_change(flat), make.make_occupancy_change(make.unit_of(site))
    assert keys(reader, "occupancy-changes", unit=str(flat.pk)) == pks(moved)
    asked, _ = (make.make_paper_request(make.make_inspection(site)) for _ in range(2))
    (shown,) = get(reader, "paper-requests", inspection=str(asked.inspection_id))
    assert (shown["asked_by"], shown["who"], shown["asked_on"]) == ("authority-asks", "Sample Council", "2026-02-03")


# --- published facts --------------------------------------------------------------------------------------------------


def test_facts_as_they_are_used_today(reader):
    found = get(reader, "facts")
    assert len(found) == len({row["key"] for row in found})
    assert len(found) > 100
    alone = reader.get("/api/v1/facts/insulation.to-500-v/").json()
    assert [row for row in found if row["key"] == "insulation.to-500-v"] == [alone]
    assert (alone["head"], alone["shown"], alone["corrected"]) == ("Insulation", "1.0 MΩ", False)
    assert {row["head"] for row in get(reader, "facts", q="insulation")} >= {"Insulation"}
    make.make_correction(value="2.0", holds_from=TODAY)
    assert [(row["key"], row["shown"], row["was"]) for row in get(reader, "facts", only="corrected")] == [
        ("insulation.to-500-v", "2.0 MΩ", "1.0 MΩ")
    ]
    refusal(reader.get("/api/v1/facts/not.a.fact/"), 404)
    assert list(refusal(reader.get("/api/v1/facts/?only=x&w=1"), 400)["errors"]) == ["w", "only"]


def test_corrections_are_the_firms(reader):
    row, other = make.make_correction(), make.make_correction("rcd.type-ac-allowed-before")
    assert keys(reader, "fact-corrections") == pks(row, other)
    assert keys(reader, "fact-corrections", fact=row.fact) == pks(row)
    shown = reader.get(f"/api/v1/fact-corrections/{row.pk}/").json()
    assert (shown["fact"], shown["value"], shown["holds_from"]) == ("insulation.to-500-v", "2.0", "2199-01-01")


# --- files on their way in --------------------------------------------------------------------------------------------


def found_in(count: int) -> dict[str, Any]:
    accepted = [{"row": f"Boards, row {n}", "what": "board", "name": f"DB{n}", "more": "hall"} for n in range(count)]
    trouble = {"column": "Place", "key": "place", "wrong": "too long", "expected": ""}
    refused = [{"row": "Boards, row 99", "cells": [["Place", "x", "place"]], "troubles": [trouble]}]
    return {"accepted": accepted, "refused": refused, "boards": count, "notes": ["A note"]}


def test_an_intake_with_its_rows(reader, site):
    row = intake(site, found=found_in(3), left_out={"Boards, row 99": "not ours"})
    assert keys(reader, "intakes", state="read", kind="boards") == pks(row)
    assert keys(reader, "intakes", state="taken-in") == []
    shown = reader.get(f"/api/v1/intakes/{row.pk}/").json()
    assert (shown["found"]["accepted"], shown["found"]["refused"], shown["found"]["notes"]) == (3, 1, ["A note"])
    assert shown["left_out"] == {"Boards, row 99": "not ours"}
    assert "found" not in get(reader, "intakes")[0]
    first = reader.get(f"/api/v1/intakes/{row.pk}/rows/?page_size=2").json()
    assert [one["name"] for one in first["results"]] == ["DB0", "DB1"]
    rest = reader.get(first["next"]).json()
    assert ([one["name"] for one in rest["results"]], rest["next"]) == (["DB2"], None)
    (wrong,) = get(reader, f"intakes/{row.pk}/rows", which="refused")
    assert (wrong["row"], [one["wrong"] for one in wrong["troubles"]]) == ("Boards, row 99", ["too long"])
    assert list(refusal(reader.get(f"/api/v1/intakes/{row.pk}/rows/?which=x"), 400)["errors"]) == ["which"]
    refusal(reader.get(f"/api/v1/intakes/{row.pk}/rows/?cursor=x"), 404)


def test_the_cells_of_a_row_and_the_file_itself(reader, site):
    row = intake(site, file=kept(b"Board,Phases\r\nDB1,L1\r\n", "text/csv"))
    cells = get(reader, f"intakes/{row.pk}/cells", row="boards, row 2")
    assert [(one["head"], one["said"], one["was"]) for one in cells if one["said"]] == [
        ("Board", "DB1", "DB1"),
        ("Phases", "L1", "L1"),
    ]
    refusal(reader.get(f"/api/v1/intakes/{row.pk}/cells/?row=nothing"), 404)
    assert refusal(reader.get(f"/api/v1/intakes/{row.pk}/cells/"), 400)["errors"] == {"row": ["Name the row."]}
    file = reader.get(f"/api/v1/intakes/{row.pk}/file/")
    assert (file.content, file["Content-Type"]) == (b"Board,Phases\r\nDB1,L1\r\n", "application/octet-stream")


def test_an_empty_template(reader):
    answer = reader.get("/api/v1/intakes/templates/boards/")
    assert (answer["Content-Type"], answer.content[:2]) == (XLSX, b"PK")
    assert refusal(reader.get("/api/v1/intakes/templates/none/"), 404)["title"] == "Not found"


def test_only_who_takes_in_sees_intakes(client, engineer, site):
    row = intake(site)
    client.force_login(engineer)
    told = [
        client.get(f"/api/v1/intakes/{where}") for where in ("", f"{row.pk}/", f"{row.pk}/rows/", f"{row.pk}/file/")
    ]
    assert [(answer.status_code, answer["Content-Type"]) for answer in told] == [(403, PROBLEM)] * 4
    assert Inspection.objects.count() == 0
