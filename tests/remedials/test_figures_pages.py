"""The pages of figures: what they say, whose they are, what they cost, and that a file holds what the page shows."""

import csv
import io
import re
from datetime import timedelta
from html import unescape

import pytest
from openpyxl import load_workbook

from tests.factories import NOON, TODAY, make_attempt, make_site, make_user, make_visit
from tests.remedials.desk import hrefs, read, statements, text_of
from tests.remedials.quoted import remedial_at, sent
from tests.remedials.test_figures_counting import closed, due, item

pytestmark = pytest.mark.usefixtures("at_noon")
PAGES = ("", "remedy/", "in-time/", "engineers/", "quotes/", "access/", "inspections/")
MOST = {"": 6, "remedy/": 10, "in-time/": 10, "engineers/": 7, "quotes/": 6, "access/": 6, "inspections/": 6}
"""Statements of each page, four of them the shell's, whatever the size."""


@pytest.fixture
def at_top(client, db):
    client.force_login(make_user("Della", "manager"))
    return client


def some(count: int, engineer) -> None:
    """So many of everything that figures count."""
    for n in range(count):
        site = make_site(f"House {n}")
        item(site, 20 + n)
        item(site, 20 + n, code="C1", ended="remedied", after=n)
        closed(due(site, 5 + n, ended="remedied", after=3), engineer, 5)
        make_attempt(site, visit=make_visit(site, start=NOON - timedelta(days=3 + n)))
        sent(remedial_at(site))


@pytest.mark.parametrize("where", PAGES)
def test_an_empty_firm_is_told_so(at_top, where):
    shown = read(at_top, f"/figures/{where}")
    assert re.search(
        r"Nothing is open|We came to know of no item|No day to remedy|Nobody closed|No quote was sent|No visit|No unit",
        shown,
    )
    assert "CSV" not in shown


@pytest.mark.parametrize("where", PAGES)
def test_statements_are_as_many_at_any_size(at_top, engineer, where):
    counts = []
    for more in (1, 4):
        some(more, engineer)
        with statements() as sql:
            at_top.get(f"/figures/{where}")
        counts.append(len(sql))
    assert counts[0] == counts[1] <= MOST[where]


def test_every_file_holds_what_its_page_shows(at_top, engineer):
    some(3, engineer)
    seen = set()
    for where in PAGES:
        response = at_top.get(f"/figures/{where}", {"site": "House"})
        page = unescape(response.content.decode())
        for link in [href for href in hrefs(response) if "as=csv" in href]:
            key = re.search(r"table=([\w-]+)", link)[1]
            seen.add(key)
            table = re.search(rf'aria-labelledby="of-{key}".*?</section>', page, re.DOTALL)[0]
            if key == "remedy-steps":  # what the drawing shows, too long for the page
                assert "<table" not in table
                continue
            cells = [
                re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)
                for row in re.findall(r"<tr.*?>(.*?)</tr>", table, re.DOTALL)
            ]
            rows = list(csv.reader(io.StringIO(at_top.get(link).content.decode("utf-8-sig"))))
            plain = [[re.sub(r"[£,]| %$", "", cell) for cell in row] for row in cells[1:]]
            assert [[re.sub(r"[£,]", "", cell) for cell in row] for row in rows[1:]] == plain, key
            assert [head.removesuffix(", %").removesuffix(", £") for head in rows[0]] == cells[0]
            sheet = load_workbook(io.BytesIO(at_top.get(link.replace("as=csv", "as=xlsx")).content)).active
            assert next([("" if cell is None else str(cell)) for cell in row] for row in sheet.values) == rows[0]
            assert sheet.max_row == len(rows)
    assert seen >= {
        "ages",
        "remedy",
        "remedy-days",
        "remedy-steps",
        "in-time",
        "in-time-codes",
        "engineers",
        "codes",
        "access",
    }


def test_what_was_chosen_goes_along_to_other_pages_and_files(at_top, engineer):
    some(1, engineer)
    links = hrefs(at_top.get("/figures/remedy/", {"since": "2026-01-01", "nation": "england", "site": "House"}))
    assert "/figures/in-time/?since=2026-01-01&nation=england&site=House" in links
    assert "/figures/remedy/?since=2026-01-01&nation=england&site=House&table=remedy&as=csv" in links
    assert at_top.get("/figures/remedy/", {"as": "csv", "table": "nonsense"}).status_code == 404


def test_a_period_backwards_and_nonsense_are_read_kindly(at_top):
    assert "1 Feb 2026 to 3 Feb 2026" in read(at_top, "/figures/remedy/", since="2026-02-03", until="2026-02-01")
    shown = read(at_top, "/figures/remedy/", since="never", nation="mars")
    assert "known from 4 Feb 2025 to 3 Feb 2026" in shown


def test_the_office_sees_the_work_but_neither_people_nor_prices(at_desk):
    links = hrefs(at_desk.get("/figures/"))
    assert {"/figures/remedy/", "/figures/in-time/", "/figures/access/", "/figures/inspections/"} <= links
    assert not {"/figures/engineers/", "/figures/quotes/"} & links
    assert at_desk.get("/figures/engineers/").status_code == at_desk.get("/figures/quotes/").status_code == 403


def test_the_home_page_leads_to_the_figures(at_desk):
    assert "/figures/" in hrefs(at_desk.get("/"))


def test_drawings_say_what_they_show(at_top, engineer):
    site = make_site("House")
    item(site, 20, remedy_by=TODAY - timedelta(days=1))
    item(site, 20, ended="remedied", after=8)
    page = at_top.get("/figures/").content.decode()
    assert "<title>C2, potentially dangerous: 1 item open, 1 of them past the date to remedy by</title>" in page
    assert "<desc>under 4 weeks: 1, 1 late; 4 weeks to 3 months: 0;" in page
    shown = text_of(at_top.get("/figures/remedy/"))
    assert "2 items: 1 remedied, 0 ended otherwise, 1 still open. half were remedied after 8 days" in shown


def test_a_name_in_a_drawing_or_filter_is_never_read_as_a_tag(at_top):
    make_site("<b>House</b>")
    page = at_top.get("/figures/", {"site": "<b>"}).content.decode()
    assert "<b>" not in page
    assert "1 site: &lt;b&gt;House&lt;/b&gt;." in page
