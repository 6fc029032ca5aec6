"""Each document as a file: its tags, its language, its title, its marks, where it says that it can be checked."""

from datetime import date, timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader

from inspections.models import InspectionDue, Limitation, MadeSafe
from jobsite.documents.printing import printable
from jobsite.ledger.files import read_file
from jobsite.ledger.rules import read_heads
from remedials.status.facts import scope_at
from remedials.status.proof.making import document_for, year_for
from remedials.status.proof.standing import outstanding, status
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_inspection,
    make_observation,
    make_remedial,
    make_site,
    make_unit,
    make_visit,
    unit_of,
)  # fmt: skip
from tests.remedials.proven import put_right, text_of, whole_site

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]
KINDS = ("status", "outstanding", "completion", "year")


@pytest.fixture
def site():
    """A site with an item of each kind, open and closed; a limitation; an inspection to come."""
    site = whole_site()
    by = anybody()
    Limitation.objects.create(inspection=site.inspections.get(), what="the loft", why="no ladder")
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=date(2026, 6, 1), basis="A sample rule.", by_law=True, shows_from=TODAY
    )
    held = make_observation(
        site, "Live parts bare", code="C1", remedy_by=TODAY - timedelta(days=3), remedy_basis="The firm's policy.",
        first_recorded_on=date(2025, 1, 1),
    )  # fmt: skip
    MadeSafe.objects.create(
        observation=held, how="covered", what="tape", agreed_with="P", at=NOON, by=by, look_again_on=TODAY
    )
    make_remedial(held, stage="approved", work="Fit a junction box")
    make_observation(site, "Smell of burning", code="")
    make_observation(site, "Not identified <b>#strong[x]</b> $1$ 🔥", code="FI")
    return site


def pdf_of(kind: str, site) -> bytes:
    if kind == "year":
        return read_file(year_for(site.customer, 2026, by=anybody(), now=NOON).file)
    return read_file(document_for(kind, scope_at(site.pk), by=anybody(), now=NOON).file)


@pytest.mark.parametrize("kind", KINDS)
def test_it_is_tagged_in_english_has_a_title_and_says_that_it_is_pdf_ua(kind, site) -> None:
    reader = PdfReader(BytesIO(pdf_of(kind, site)))
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert bool(root["/MarkInfo"]["/Marked"]) is True
    # ISO 14289-1, 5: how a file says that it is PDF/UA-1.
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    assert reader.metadata is not None
    assert reader.metadata["/Author"] == "Sample Sparks"
    assert reader.metadata["/Title"]
    heads = [element for element in tags(root["/StructTreeRoot"]) if str(element.get("/S", "")).startswith("/H")]
    assert [element["/S"] for element in heads].count("/H1") == 1
    assert heads[0]["/S"] == "/H1"


@pytest.mark.parametrize("kind", KINDS)
def test_its_tables_have_heads_and_its_figures_words(kind, site) -> None:
    found = list(tags(PdfReader(BytesIO(pdf_of(kind, site))).trailer["/Root"]["/StructTreeRoot"]))
    tables = [element for element in found if element.get("/S") == "/Table"]
    assert tables
    for table in tables:
        assert any(element.get("/S") == "/TH" for element in tags(table))
    assert all(element.get("/Alt") for element in found if element.get("/S") == "/Figure")


def tags(element):
    """Every element of the tree of tags."""
    yield element
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        found = kid.get_object() if hasattr(kid, "get_object") else kid
        if isinstance(found, dict) and "/S" in found:
            yield from tags(found)


@pytest.mark.parametrize("kind", KINDS)
def test_it_says_where_it_can_be_checked_and_that_it_is_no_certificate(kind, site, settings) -> None:
    settings.SITE_ADDRESS = "https://works.example.com"
    said = text_of(pdf_of(kind, site))
    assert "have it checked: https://works.example.com/check/." in said.replace(" /check", "/check")
    assert "It is neither a certificate nor a condition report" in said


@pytest.mark.parametrize(
    "where", ["http://localhost:8093", "http://127.0.0.1:8000", "http://workshop:8000", "http://192.168.1.9"]
)
def test_the_address_of_a_machine_that_nobody_outside_reaches_is_in_no_paper(where, site, settings) -> None:
    settings.SITE_ADDRESS = where
    said = text_of(pdf_of("outstanding", site))
    assert "We check it for anybody who holds it." in said
    assert "http" not in said


def test_it_bears_the_head_of_the_sites_chain(site) -> None:
    pdf_of("status", site)  # its entry is the first of the chain
    heads = read_heads([pdf_of("outstanding", site).decode("latin-1")])
    assert [(head.chain, head.number) for head in set(heads)] == [(site.pk, 1)]


def words_in(value) -> list[str]:
    """Every text in the facts of a document."""
    if isinstance(value, dict):
        return [words for inner in value.values() for words in words_in(inner)]
    if isinstance(value, list):
        return [words for inner in value for words in words_in(inner)]
    return [value] if isinstance(value, str) and value else []


@pytest.mark.parametrize("gather", [status, outstanding])
def test_every_word_of_its_facts_stands_in_it(gather, site) -> None:
    facts = gather(scope_at(site.pk), now=NOON).facts
    said = text_of(pdf_of(gather.__name__, site)).replace(" ", "")
    wanted = set(words_in(printable(dict(facts)))) - {"C1", "C2", "C3", "FI"}
    undecided = {row["undecided"] for row in facts["open"] if row["works"]}
    missing = {words for words in wanted - undecided if "".join(words.split()).replace("\u202f", "") not in said}
    assert missing == set()


def test_text_from_the_record_is_never_markup(site) -> None:
    assert "Not identified <b>#strong[x]</b> $1$ [?]" in text_of(pdf_of("outstanding", site))


def test_what_is_made_safe_says_so_and_how_late_it_is(site) -> None:
    said = text_of(pdf_of("outstanding", site))
    assert "C1 made safe" in said
    assert "made safe for now on 3 Feb 2026: covered" in said
    assert "31 Jan 2026 3 days late The firm's policy." in said
    assert "First recorded 1 Jan 2025, 1 year 1 month ago." in said
    assert said.index("C1 made safe") < said.index("A defect was reported") < said.index("Not identified")


@pytest.mark.parametrize("gather", [status, outstanding])
def test_a_visit_that_is_past_without_an_outcome_is_no_booking(gather, site) -> None:
    work = make_remedial(make_observation(site, "Cracked socket", code="C2"), stage="booked", work="Fit a socket")
    make_visit(site, work, start=NOON - timedelta(days=2))
    rows = [one for item in gather(scope_at(site.pk), now=NOON).facts["open"] for one in item["works"]]
    stands = next(one["stands"] for one in rows if one["what"] == "Fit a socket")
    assert stands == "was booked for 1 Feb 2026, 12:00–14:00; what came of it is not recorded yet"


def test_how_it_stands_begins_with_what_the_customers_page_says_first(site) -> None:
    from remedials.status.queries import standing_in

    first = standing_in(scope_at(site.pk), now=NOON).head.first_words
    said = text_of(pdf_of("status", site))
    for sentence in first:
        assert sentence in said
    assert "the loft (no ladder), left out of the inspection of 5 January 2026" in said
    assert "Due by 1 June 2026. A sample rule." in said


def test_a_closed_item_has_one_date_on_the_page_and_in_each_document_that_of_the_work(site) -> None:
    from remedials.status.proof.done import completion
    from remedials.status.queries import status_in

    worked = date(2026, 1, 21)
    item, _ = put_right(site, "Slip hoist dead", done_on=worked)
    make_observation(site, "No bonding", ended="others", ended_on=TODAY, done_on=date(2026, 1, 19))
    scope = scope_at(site.pk)
    page = {one.number: one.says[0] for one in status_in(scope, now=NOON).done}
    paper = {int(one["number"]): one["words"] for one in status(scope, now=NOON).facts["closed"]}
    record = {
        int(one["number"]): one["steps"][-1]
        for group in completion(scope, now=NOON).facts["groups"]
        for one in group["items"]
    }
    assert page == paper == {number: words for number, (_, words) in record.items()}
    assert page[item.number].startswith("Put right on 21 January 2026.")
    assert page[item.number + 1].startswith("Put right by others on 19 January 2026, by the papers")
    assert record[item.number][0] == "21 Jan 2026"
    assert list(page)[-2:] == [item.number, item.number + 1]  # the latest work first


def test_a_list_of_what_is_open_says_what_is_not_known(site) -> None:
    never = make_site("Never Seen Yard")
    said = text_of(pdf_of("outstanding", never))
    assert "No inspection is on record here, so it is not known whether the installation is safe." in said
    assert "No open item is on record here: that does not say that there is none." in said
    assert "did not cover: the loft." in text_of(pdf_of("outstanding", site))
    make_unit(site, "Boat store")
    make_observation(
        site,
        "Of theirs",
        code="C3",
        reviewed=False,
        inspection=make_inspection(site, other_firm=True, firm_name="Tern Electrical"),
    )
    for kind in ("outstanding", "completion"):
        said = text_of(pdf_of(kind, site))
        assert "Left out of an earlier inspection and not covered since: the loft." in said
        assert "No inspection is on record for Boat store." in said
        assert "1 item of another firm's report has not been looked over by us yet." in said


def test_what_is_not_known_costs_the_same_at_any_size(site, django_assert_num_queries) -> None:
    for count in (1, 6):
        for at in range(count):
            make_observation(site, f"Item {count} {at}", code="C3", inspection=make_inspection(site))
        scope = scope_at(site.pk)
        with django_assert_num_queries(7):
            outstanding(scope, now=NOON)
