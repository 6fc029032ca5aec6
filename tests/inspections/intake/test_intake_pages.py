"""Pages of intake: from choosing the site to what became of the file."""

import re
from datetime import timedelta
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from openpyxl import load_workbook

from inspections.intake import operations
from inspections.models import Intake, Observation
from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.premises.models import Board
from tests.data import make
from tests.factories import NOON, make_board, make_qualified, make_site, make_unit, unit_of
from tests.inspections.intake.books import OBSERVATION_HEADS, workbook

pytestmark = pytest.mark.django_db

BOARDS = (make.HERE / "orrin-reach-boards.xlsx").read_bytes()
WRONG = workbook(OBSERVATION_HEADS, [1, "C2", "taken"], [2, "C2/C3", "two codes"], [3, "C3", "<b>bold</b>", "nowhere"])
PARTICULARS = {"firm_name": "Sample Inspections", "inspected_on": "2025-02-03", "edition": "2018+A2:2022"}


@pytest.fixture(autouse=True)
def _at_noon(now, monkeypatch):
    """The pages read the clock once, at the edge."""
    monkeypatch.setattr("jobsite.clock.now", lambda: now)


@pytest.fixture
def yard():
    return make_site("Orrin Reach boatyard", phases=("L1", "L2", "L3"), kind="commercial", tenure="not-a-home")


@pytest.fixture
def desk(client, office):
    client.force_login(office)
    return client


def upload(data: bytes, name: str = "list.xlsx") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data)


def send(client, site, data: bytes, kind: str = "boards", **more):
    values = {"id": str(new_id()), "file": upload(data)} | (PARTICULARS if kind == "report" else {}) | more
    return client.post(f"/intake/new/?site={site.pk}&kind={kind}", values)


def sent(client, site, data: bytes, kind: str = "boards", **more) -> Intake:
    response = send(client, site, data, kind, **more)
    intake = Intake.objects.latest("uploaded_at", "pk")
    assert (response.status_code, response.headers["Location"]) == (302, f"/intake/{intake.pk}/")
    return intake


def looked_over(client, site, data: bytes, kind: str = "boards", **more) -> Intake:
    intake = sent(client, site, data, kind, **more)
    operations.read(intake.pk, now=NOON)
    return intake


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def test_the_site_is_found_by_its_words(desk, yard) -> None:
    assert "Type a part of its name" in text_of(desk.get("/intake/new/"))
    assert f'href="/intake/new/?site={yard.pk}">Orrin Reach boatyard</a>' in text_of(desk.get("/intake/new/?q=orrin"))
    fragment = desk.get("/intake/new/?q=zz", headers={"HX-Request": "true"})
    assert text_of(fragment) == "<p>No site that you can see has these words in its name, address or post code.</p>"


@pytest.mark.parametrize("key", ["nonsense", "%00", "0" * 50, "01890a5d-ac96-774b-bcce-b302099a8057"])
def test_a_site_that_is_none_is_404_or_unreadable(desk, key: str) -> None:
    assert desk.get(f"/intake/new/?site={key}").status_code in {400, 404}


def test_the_kind_is_chosen_beside_its_template_and_files_that_wait(desk, yard) -> None:
    sent(desk, yard, BOARDS)
    page = text_of(desk.get(f"/intake/new/?site={yard.pk}"))
    assert "kind=boards" in page
    assert "kind=report" in page
    assert "/intake/templates/boards.xlsx" in page
    assert "boards and circuits, received, being read · 3 Feb 2026, 12:00, Olive Deskworth" in page


def test_a_whole_file_of_boards_is_sent_looked_over_and_taken_in(desk, yard) -> None:
    intake = sent(desk, yard, BOARDS)
    assert "Waiting for the worker to begin." in text_of(desk.get(f"/intake/{intake.pk}/"))
    operations.read(intake.pk, now=NOON)
    page = text_of(desk.get(f"/intake/{intake.pk}/"))
    assert "Every row can be taken in. To be taken in: 7 boards and 72 circuits." in page
    assert "under the stairs; L2; label “SHOP”; main switch 63 A two-pole; Zdb 0.29 Ω; fed from Main intake" in page
    assert '<p class="caution">6 feeds are called verified in this file, and taken in as believed only' in page
    response = desk.post(f"/intake/{intake.pk}/")
    assert response.headers["Location"] == reverse("desk:site", args=[yard.pk])
    assert Board.objects.filter(site=yard).count() == 7
    assert "Taken in: 7 boards and 72 circuits." in text_of(desk.get(f"/intake/{intake.pk}/"))


def test_a_report_with_a_c1_says_what_it_asks_for_at_once(desk, yard) -> None:
    rows = [(1, "C1", "Live busbar"), (2, "C2", "No RCD"), (3, "FI", "Not traced"), (4, "C3", "Old colours")]
    intake = looked_over(desk, yard, workbook(OBSERVATION_HEADS, *rows), "report")
    codes = desk.post(f"/intake/{intake.pk}/").headers["Location"]
    bare = Observation.objects.get(code="C1")
    nobody = "Nobody is on record as qualified to review the codes"
    for address in (codes, f"/intake/{intake.pk}/"):
        shown = desk.get(address)
        assert "C1 not made safe · 1" in text_of(shown)
        assert "Open besides C3: <strong>1 × C1, 1 × C2, 1 × FI</strong>." in text_of(shown)
        assert f'href="/observations/{bare.pk}/make-safe/"' in shown.content.decode()
        assert nobody in text_of(shown)
    make_qualified("Quentin Prover")
    assert "On record as qualified to review the codes: Quentin Prover." in text_of(desk.get(codes))
    Observation.objects.update(made_safe=True, reviewed=True)
    assert "not made safe" not in text_of(desk.get(codes))
    assert "qualified to review" not in text_of(desk.get(codes))


def test_the_page_that_waits_goes_on_by_itself_when_the_file_is_read(desk, yard) -> None:
    intake = sent(desk, yard, BOARDS)
    waiting = desk.get(f"/intake/{intake.pk}/", headers={"HX-Request": "true"})
    assert text_of(waiting).startswith('<div id="progress" hx-get=')
    operations.read(intake.pk, now=NOON)
    assert (
        desk.get(f"/intake/{intake.pk}/", headers={"HX-Request": "true"}).headers["HX-Redirect"]
        == f"/intake/{intake.pk}/"
    )


def test_where_no_worker_comes_the_page_reads_the_file_itself(desk, yard) -> None:
    intake = sent(desk, yard, BOARDS)
    assert "Read it now" not in text_of(desk.get(f"/intake/{intake.pk}/"))
    Progress.objects.update(changed_at=NOON - timedelta(seconds=20))
    assert "Read it now" in text_of(desk.get(f"/intake/{intake.pk}/"))
    desk.post(f"/intake/{intake.pk}/read/")
    assert "To be taken in" in text_of(desk.get(f"/intake/{intake.pk}/"))


def test_refused_rows_say_what_is_wrong_and_what_is_expected(desk, yard) -> None:
    intake = looked_over(desk, yard, WRONG, "report")
    page = text_of(desk.get(f"/intake/{intake.pk}/"))
    assert "2 rows refused. To be taken in: 1 observation." in page
    assert "<strong>Code</strong>: “C2/C3” gives more than one code. Write one row for each." in page
    assert "Expected: one of C1, C2, C3, FI" in page
    assert "Observation: &lt;b&gt;bold&lt;/b&gt;" in page


def test_nothing_typed_is_lost_when_a_reason_is_missing(desk, yard) -> None:
    intake = looked_over(desk, yard, WRONG, "report")
    response = desk.post(f"/intake/{intake.pk}/", {"row_0": "the firm was asked", "row_1": ""})
    page = text_of(response)
    assert response.status_code == 422
    assert 'value="the firm was asked"' in page
    assert page.count("Say why Sheet, row 4, is left out, or put it right.") == 2
    assert Observation.objects.count() == 0


def test_rows_are_left_out_each_with_its_reason_or_the_one_for_all(desk, yard) -> None:
    intake = looked_over(desk, yard, WRONG, "report")
    response = desk.post(f"/intake/{intake.pk}/", {"row_0": "the firm was asked", "reason_for_all": "not on site"})
    intake.refresh_from_db()
    assert response.headers["Location"] == f"/inspections/{intake.inspection_id}/codes/"
    assert intake.left_out == {"Sheet, row 3": "the firm was asked", "Sheet, row 4": "not on site"}
    assert 'Sheet, row 4<br><span class="soft">not on site</span>' in text_of(desk.get(f"/intake/{intake.pk}/"))


def test_many_refused_rows_are_shown_page_by_page_and_left_out_together(desk, yard) -> None:
    rows = [[number, "C9", "x"] for number in range(120)] + [[120, "C2", "fine"]]
    intake = looked_over(desk, yard, workbook(OBSERVATION_HEADS, *rows), "report")
    first, third = (text_of(desk.get(f"/intake/{intake.pk}/?refused={page}")) for page in ("0", "2"))
    assert ("120 rows, 1 to 50 shown" in first, first.count('name="row_') // 2) == (True, 50)
    assert ("101 to 120 shown" in third, "Sheet, row 121" in third) == (True, True)
    assert desk.post(f"/intake/{intake.pk}/").status_code == 422
    desk.post(f"/intake/{intake.pk}/", {"reason_for_all": "unreadable codes"})
    intake.refresh_from_db()
    assert len(intake.left_out) == 120


def test_what_can_be_taken_in_is_shown_page_by_page(desk, yard) -> None:
    rows = [[number, "C2", f"text {number}"] for number in range(150)]
    intake = looked_over(desk, yard, workbook(OBSERVATION_HEADS, *rows), "report")
    first, second = (text_of(desk.get(f"/intake/{intake.pk}/?more={more}")) for more in ("", "1"))
    assert ("150 rows, 1 to 100 shown" in first, "150 rows, 101 to 150 shown" in second) == (True, True)
    for more in ("-1", "x", "9" * 40, "²"):
        assert desk.get(f"/intake/{intake.pk}/", {"more": more}).status_code == 200


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "This file is empty."),
        (b"%PDF-1.7", "This is a PDF, not a spreadsheet."),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "This is a spreadsheet in the old XLS form."),
        (b"x" * (10 * 1024 * 1024 + 1), "This file is larger than 10 MB."),
    ],
)
def test_a_file_that_is_no_spreadsheet_is_refused_at_once(desk, yard, data: bytes, said: str) -> None:
    response = send(desk, yard, data, "report", firm_name="Kept Words")
    assert response.status_code == 422
    assert said in text_of(response)
    assert 'value="Kept Words"' in text_of(response)
    assert Intake.objects.count() == 0


def test_a_file_that_cannot_be_read_says_why_and_offers_another(desk, yard) -> None:
    intake = looked_over(desk, yard, workbook(["Red", "Green"], [1, 2]))
    page = text_of(desk.get(f"/intake/{intake.pk}/"))
    assert "This file could not be read." in page
    assert "No sheet of this file has the column heads of boards or circuits." in page


def test_the_particulars_of_a_report_are_asked_for_and_checked(desk, yard) -> None:
    response = send(desk, yard, WRONG, "report", firm_name="", inspected_on="2026-03-01", next_due_on="2026-02-01")
    page = text_of(response)
    assert response.status_code == 422
    assert "The day of the inspection lies in the future." in page
    assert "The next inspection must lie after this one." in page
    intake = sent(
        desk, yard, WRONG, "report", next_due_on="2028-02-03", limitations="Loft\n\n Roof ", remedy_limit_days="21"
    )
    assert (intake.header["limitations"], intake.header["next_due_on"], intake.header["remedy_limit_days"]) == (
        ["Loft", "Roof"], "2028-02-03", 21,
    )  # fmt: skip


def test_the_unit_is_asked_for_only_where_there_are_several(desk, yard) -> None:
    address = f"/intake/new/?site={yard.pk}&kind=boards"
    assert 'name="unit"' not in text_of(desk.get(address))
    flat = make_unit(yard, "Flat over the café")
    assert 'name="unit"' in text_of(desk.get(address))
    assert sent(desk, yard, BOARDS, unit=str(flat.pk)).unit == flat
    other = unit_of(make_site("Other"))
    assert send(desk, yard, BOARDS, unit=str(other.pk)).status_code == 422


def test_the_same_file_sent_again_is_refused(desk, yard) -> None:
    intake = looked_over(desk, yard, BOARDS)
    desk.post(f"/intake/{intake.pk}/")
    response = send(desk, yard, BOARDS)
    assert response.status_code == 422
    assert "This very file was already taken in on 3 Feb 2026, 12:00, under the name list.xlsx." in text_of(response)


def test_what_changed_meanwhile_is_said_and_the_file_can_be_read_again(desk, yard) -> None:
    intake = looked_over(desk, yard, BOARDS)
    make_board(yard, "Café", phases=["L3"])
    response = desk.post(f"/intake/{intake.pk}/")
    assert response.status_code == 422
    assert "The site has changed since this file was read." in text_of(response)
    assert desk.post(f"/intake/{intake.pk}/read-again/").headers["Location"] == f"/intake/{intake.pk}/"
    operations.read(intake.pk, now=NOON)
    assert "1 row refused." in text_of(desk.get(f"/intake/{intake.pk}/"))


def test_a_file_is_set_aside(desk, yard) -> None:
    intake = looked_over(desk, yard, BOARDS)
    assert desk.post(f"/intake/{intake.pk}/set-aside/").headers["Location"] == f"/intake/new/?site={yard.pk}"
    assert "This file was set aside." in text_of(desk.get(f"/intake/{intake.pk}/"))


def test_the_file_comes_back_byte_for_byte_as_a_download(desk, yard) -> None:
    intake = sent(desk, yard, BOARDS)
    response = desk.get(f"/intake/{intake.pk}/file/")
    assert response.content == BOARDS
    assert response.headers["Content-Disposition"] == 'attachment; filename="intake-2026-02-03.xlsx"'
    assert (response.headers["Content-Type"], response.headers["Cache-Control"]) == (
        "application/octet-stream",
        "private, no-store",
    )


@pytest.mark.parametrize(("kind", "sheet"), [("boards", "Boards"), ("report", "Observations")])
def test_templates_are_downloaded(desk, kind: str, sheet: str) -> None:
    response = desk.get(f"/intake/templates/{kind}.xlsx")
    assert response.headers["Content-Disposition"] == f'attachment; filename="{kind}.xlsx"'
    assert load_workbook(BytesIO(response.content)).sheetnames[0] == sheet


def test_an_unknown_template_is_404(desk) -> None:
    assert desk.get("/intake/templates/other.xlsx").status_code == 404


def test_the_heads_are_listed(desk) -> None:
    page = text_of(desk.get("/intake/columns/"))
    assert "<strong>Fed from</strong>" in page
    assert "supplied from, fed by" in page


ADDRESSES = ["/intake/new/", "/intake/columns/", "/intake/templates/boards.xlsx", "/intake/{}/", "/intake/{}/file/"]


@pytest.mark.parametrize("address", ADDRESSES)
def test_who_may_not_take_in_sees_none_of_it(client, desk, yard, engineer, address: str) -> None:
    address = address.format(sent(desk, yard, BOARDS).pk)
    client.logout()
    assert client.get(address).status_code == 302
    client.force_login(engineer)
    assert client.get(address).status_code == 403


@pytest.mark.parametrize("verb", ["read", "read-again", "set-aside"])
def test_changes_are_posted_by_the_office_only(desk, yard, engineer, verb: str) -> None:
    intake = sent(desk, yard, BOARDS)
    assert desk.get(f"/intake/{intake.pk}/{verb}/").status_code == 405
    assert desk.post(f"/intake/{new_id()}/{verb}/").status_code == 404
    desk.force_login(engineer)
    assert desk.post(f"/intake/{intake.pk}/{verb}/").status_code == 403


@pytest.mark.parametrize("rows", [1, 90])
def test_looking_over_takes_the_same_few_statements_whatever_the_size(desk, yard, rows: int) -> None:
    intake = looked_over(
        desk, yard, workbook(OBSERVATION_HEADS, *([n, "C2", "x", "nowhere"] for n in range(rows))), "report"
    )
    with CaptureQueriesContext(
        connection,
    ) as captured:
        desk.get(f"/intake/{intake.pk}/")
    assert len(captured) == 5


def test_a_row_that_could_be_taken_in_is_left_out_and_put_back(desk, yard) -> None:
    data = workbook(OBSERVATION_HEADS, (1, "C2", "No RCD"), (2, "C3", "Old colours"))
    intake = looked_over(desk, yard, data, "report")
    here = f"/intake/{intake.pk}/"
    first = desk.post(here, {"do": "leave-out Sheet, row 2"}).headers["Location"]
    assert "Leave out Sheet, row 2" in text_of(desk.get(first))
    assert desk.post(first, {"reason": ""}).status_code == 422
    assert desk.post(first, {"reason": "Put right since"}).headers["Location"] == here
    assert 'value="Put right since"' in desk.get(here).content.decode()
    back = desk.post(here, {"do": "put-back Sheet, row 2", "row_0": "Put right since"}).headers["Location"]
    assert "after all?" in text_of(desk.get(back))
    desk.post(back)
    assert "Every row can be taken in." in text_of(desk.get(here))
    desk.post(first, {"reason": "Put right since"})
    desk.post(here, {"row_0": "Put right since"})
    assert [o.text for o in Observation.objects.all()] == ["Old colours"]


# --- pasted as text ---------------------------------------------------------------------------------------------------

TEXT = "Dear Olive,\r\n\r\n1. Cracked socket C2\r\n2. Label faded C3\r\n\r\nKind regards"


def pasted(client, site, text: str = TEXT, query: str = "as=text", **more):
    values = {"id": str(new_id()), "text": text} | PARTICULARS | more
    return client.post(f"/intake/new/?site={site.pk}&kind=report&{query}", values)


def test_observations_are_pasted_as_text_looked_over_and_taken_in(desk, yard) -> None:
    assert "as=text" in text_of(desk.get(f"/intake/new/?site={yard.pk}"))
    assert 'name="text"' in text_of(desk.get(f"/intake/new/?site={yard.pk}&kind=report&as=text"))
    here = pasted(desk, yard).headers["Location"]
    intake = Intake.objects.get()
    operations.read(intake.pk, now=NOON)
    shown = text_of(desk.get(here))
    assert "Every row can be taken in. To be taken in: 2 observations." in shown
    assert "what stands before the first observation wasn&#x27;t read: “Dear Olive,”" in shown
    assert "Change the text" in shown
    assert desk.post(here).headers["Location"].endswith("/codes/")
    assert [(o.item, o.code, o.text) for o in Observation.objects.order_by("number")] == [
        ("1", "C2", "Cracked socket"), ("2", "C3", "Label faded"),
    ]  # fmt: skip
    kept = desk.get(f"{here}file/")
    assert kept.content.decode() == TEXT.replace("\r\n", "\n")
    assert kept.headers["Content-Disposition"] == 'attachment; filename="intake-2026-02-03.txt"'


@pytest.mark.parametrize("text", ["", "  \r\n "])
def test_no_text_is_asked_for_again_with_all_that_was_typed(desk, yard, text: str) -> None:
    answer = pasted(desk, yard, text, firm_name="Kept Words")
    assert (answer.status_code, 'value="Kept Words"' in text_of(answer), Intake.objects.count()) == (422, True, 0)


def test_a_text_without_any_observation_says_so_and_can_be_changed(desk, yard) -> None:
    here = pasted(desk, yard, "Dear Olive, it follows by post.").headers["Location"]
    operations.read(Intake.objects.get().pk, now=NOON)
    shown = text_of(desk.get(here))
    assert "No observation was found in this text." in shown
    assert "Change the text" in shown


def test_a_changed_text_comes_in_the_place_of_the_first(desk, yard) -> None:
    here = pasted(desk, yard, limitations="Loft\r\nRoof").headers["Location"]
    first = Intake.objects.get()
    operations.read(first.pk, now=NOON)
    change = f"instead_of={first.pk}"
    form = desk.get(f"/intake/new/?site={yard.pk}&kind=report&{change}").content.decode()
    assert "2. Label faded C3" in form
    assert 'value="Sample Inspections"' in form
    assert "Loft\nRoof" in form
    assert pasted(desk, yard, f"{TEXT}\n3. Cover missing C1", change).headers["Location"] != here
    first.refresh_from_db()
    assert (first.state, Intake.objects.count()) == ("set-aside", 2)
    other = make_site("Other")
    assert "Label faded" not in desk.get(f"/intake/new/?site={other.pk}&kind=report&{change}").content.decode()


def test_a_report_on_paper_is_typed_as_a_draft_of_another_firms(desk, yard) -> None:
    address = f"/sites/{yard.pk}/inspections/new/?whose=another"
    assert address in desk.get(f"/intake/new/?site={yard.pk}").content.decode()
    shown = text_of(desk.get(address))
    assert "<h1>Another firm&#x27;s report, typed from paper</h1>" in shown
    assert re.search(r'<input type="radio" name="other_firm" value="yes"[^>]* checked', shown)
    assert 'value="2026-02-03"' not in shown  # its day is the paper's, not today
