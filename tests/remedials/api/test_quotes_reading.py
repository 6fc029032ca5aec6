"""Rates, price book, costings, versions, lines, answers and questions in the API: what they show, to whom, at what cost."""

from datetime import date
from decimal import Decimal
from uuid import UUID

import pytest

from tests.factories import (
    NOON,
    make_answered,
    make_costing,
    make_item,
    make_job,
    make_line,
    make_offer,
    make_site,
    make_terms,
)
from tests.remedials.desk import statements
from tests.remedials.quoted import answered, next_version, remedial_at, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def reader(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def house():
    return make_site("Mill Cottage")


def get(client, noun: str, **query) -> list[dict]:
    answer = client.get(f"/api/v1/{noun}/", query)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def keys(client, noun: str, **query) -> list[UUID]:
    return [UUID(row.get("id") or row["remedial"]) for row in get(client, noun, **query)]


def walked(client, noun: str) -> list[UUID]:
    """Every key of a list, two a page."""
    address, seen = f"/api/v1/{noun}/?page_size=2", []
    while address:
        answer = client.get(address).json()
        seen += [UUID(row.get("id") or row["remedial"]) for row in answer["results"]]
        address = answer["next"]
    return seen


# --- rates, price book, costings --------------------------------------------------------------------------------------


def test_terms_say_what_an_hour_is_charged_at_and_in_which_currency(reader):
    old = make_terms(holds_from=date.fromisoformat("2025-01-01"), call_out=Decimal("45.50"))
    new = make_terms(
        holds_from=date.fromisoformat("2026-02-01"), rates=(("", "30", "61.50"), ("Fire alarms", "40", "80"))
    )
    assert keys(reader, "terms") == [old.pk, new.pk]
    assert keys(reader, "terms", on="2026-01-31") == [old.pk]
    assert keys(reader, "terms", on="2024-12-31") == []
    row = reader.get(f"/api/v1/terms/{new.pk}/")
    assert row["ETag"] == '"1"'
    assert (row.json()["currency"], sorted(r["price_hour"] for r in row.json()["rates"])) == ("GBP", ["61.50", "80.00"])
    assert get(reader, "terms")[0]["call_out"] == "45.50"


def test_price_book_by_words_and_by_what_is_in_use(reader):
    one = make_job("Blank off an open way", items=(("Blanking piece", "2.00"),))
    two = make_job("Fit a new socket", retired_at=NOON)
    assert keys(reader, "price-book") == [one.pk, two.pk]
    assert keys(reader, "price-book", current="true") == [one.pk]
    assert keys(reader, "price-book", q="new socket") == [two.pk]
    row = reader.get(f"/api/v1/price-book/{one.pk}/").json()
    assert [(item["what"], item["cost_each"]) for item in row["items"]] == [("Blanking piece", "2.00")]
    assert row["currency"] == "GBP"


def test_price_book_as_a_spreadsheet_whatever_kind_is_asked_for(reader):
    from inspections.intake.reading import read_workbook
    from remedials.quotes.book.read import read_book

    make_job("Blank off an open way")
    answer = reader.get("/api/v1/price-book/file/", HTTP_ACCEPT="text/plain")
    assert answer["Content-Disposition"] == 'attachment; filename="price-book.xlsx"'
    assert answer["Cache-Control"] == "private, no-store"
    found = read_book(read_workbook(answer.content, "price-book.xlsx"))
    assert [one.job.name for one in found.jobs] == ["Blank off an open way"]


def test_what_a_remedial_is_priced_at(reader, house):
    remedial, other = remedial_at(house), remedial_at(make_site("Elsewhere"))
    make_item(remedial, "Blanking piece", cost_each="2.00")
    make_costing(remedial, "120.00", cost="70.00")
    make_costing(other)
    row = reader.get(f"/api/v1/costings/{remedial.pk}/").json()
    assert (row["price"], row["cost"], row["currency"], row["version"]) == ("120.00", "70.00", "GBP", remedial.version)
    assert [(item["what"], item["cost_each"]) for item in row["items"]] == [("Blanking piece", "2.00")]
    assert keys(reader, "costings", site=house.pk) == [remedial.pk]
    assert keys(reader, "costings", remedial=other.pk) == [other.pk]


# --- versions, lines, answers, questions ------------------------------------------------------------------------------


def test_versions_and_the_one_that_counts(reader, house):
    first = sent(remedial_at(house))
    second = next_version(first, *first.lines.all())
    draft = make_offer(remedial_at(house))
    assert keys(reader, "offers") == [first.pk, second.pk, draft.pk]
    assert keys(reader, "offers", quote=first.quote_id, current="true") == [second.pk]
    assert keys(reader, "offers", quote=first.quote_id, current="false") == [first.pk]
    assert keys(reader, "offers", state=["draft", "superseded"]) == [first.pk, draft.pk]
    answer = reader.get(f"/api/v1/offers/{second.pk}/")
    assert (answer["ETag"], answer.json()["net"], answer.json()["to_pay"]) == (
        f'"{second.version}"',
        "100.00",
        "120.00",
    )
    assert [line["price"] for line in answer.json()["lines"]] == ["100.00"]


def test_lines_with_what_they_cost_the_firm(reader, house):
    work = remedial_at(house)
    offer = sent(work, remedial_at(house))
    one, two = offer.lines.all()
    assert keys(reader, "quote-lines", offer=offer.pk) == [one.pk, two.pk]
    assert keys(reader, "quote-lines", remedial=work.pk) == [one.pk]
    assert keys(reader, "quote-lines", key=two.key) == [two.pk]
    answer = reader.get(f"/api/v1/quote-lines/{one.pk}/")
    assert answer["ETag"] == f'"{offer.version}"'
    assert (answer.json()["cost"], answer.json()["currency"]) == (f"{one.cost:.2f}", "GBP")


def test_answers_and_questions(reader, house):
    offer = sent(remedial_at(house), remedial_at(house))
    one, two = offer.lines.all()
    said = answered(offer, yes=[one], no=[two], order_number="PO 17")
    row = reader.get(f"/api/v1/quote-answers/{said.pk}/").json()
    assert (row["name"], row["net"], row["to_pay"], row["currency"]) == ("Petra Landlady", "100.00", "120.00", "GBP")
    assert sorted((line["says"], line["why_not"]) for line in row["lines"]) == [("no", "price"), ("yes", "")]
    question = make_answered(sent(remedial_at(house)))["quote-questions"]
    row = reader.get(f"/api/v1/quote-questions/{question.pk}/").json()
    assert [(remark["text"], remark["by"]) for remark in row["remarks"]] == [("How long does it take?", None)]
    assert keys(reader, "quote-answers", quote=offer.quote_id) == [said.pk]
    assert keys(reader, "quote-answers", quote=offer.quote_id, stands="false") == []
    assert keys(reader, "quote-questions", open="true") == [question.pk]
    assert keys(reader, "quote-questions", open="false") == []


def test_the_document_is_the_one_that_was_kept(reader, house):
    from jobsite.ledger.files import store_file
    from remedials.quotes.models import Offer

    offer = make_offer(remedial_at(house))
    file = store_file(b"%PDF-1.7 as sent", media_type="application/pdf", now=NOON)
    Offer.objects.filter(pk=offer.pk).update(
        state="sent", file=file, fingerprint="f", sent_at=NOON, sent_by=offer.made_by, sent_how="email"
    )
    answer = reader.get(f"/api/v1/offers/{offer.pk}/document/")
    assert (answer.content, answer["Content-Type"]) == (b"%PDF-1.7 as sent", "application/pdf")
    assert answer["Cache-Control"] == "private, no-store"


def test_the_document_of_a_draft_is_named_as_one(reader, house):
    offer = make_offer(remedial_at(house))
    answer = reader.get(f"/api/v1/offers/{offer.pk}/document/")
    assert (answer.status_code, answer.content[:5]) == (200, b"%PDF-")
    assert f'filename="draft-of-quote-{offer.quote.number}' in answer["Content-Disposition"]


# --- who sees them, and what they cost --------------------------------------------------------------------------------

NOUNS = ("terms", "price-book", "costings", "offers", "quote-lines", "quote-answers", "quote-questions")


def fill(house, number: int) -> None:
    make_terms(
        holds_from=date.fromisoformat(f"2025-01-{number + 1:02}"), rates=(("", "1", "2"), ("Fire alarms", "2", "3"))
    )
    make_job(f"Job {number}", items=(("One", "1"), ("Two", "2")))
    remedial = remedial_at(house)
    make_item(remedial)
    make_costing(remedial)
    offer = sent(remedial, remedial_at(house))
    answered(offer, yes=offer.lines.all()[:1])
    make_answered(offer)
    make_line(make_offer(remedial_at(house)), words="Besides", position=5)


@pytest.mark.parametrize("noun", NOUNS)
def test_only_those_who_see_prices(client, engineer, subcontractor, house, noun):
    fill(house, 1)
    client.force_login(engineer)
    assert client.get(f"/api/v1/{noun}/").json()["title"] == "Not allowed"
    subcontractor.roles = ["office"]
    subcontractor.save()
    client.force_login(subcontractor)
    assert get(client, noun) == []


@pytest.mark.parametrize("noun", NOUNS)
def test_pages_by_key_lose_and_repeat_nothing(reader, house, noun):
    for number in range(3):
        fill(house, number)
    everything = walked(reader, noun)
    assert len(everything) >= 3
    assert everything == keys(reader, noun)


COST = {
    "terms": 4, "price-book": 4, "costings": 4, "offers": 3, "quote-lines": 5, "quote-answers": 4, "quote-questions": 4,
}  # fmt: skip


@pytest.mark.parametrize("size", [1, 3])
@pytest.mark.parametrize("noun", NOUNS)
def test_a_list_costs_the_same_at_any_size(reader, house, noun, size):
    """Session, person, the rows; a statement for each kind of row within."""
    for number in range(size):
        fill(house, number)
    with statements() as listed:
        get(reader, noun)
    assert len(listed) == COST[noun]


# --- differences, what was accepted, figures ---------------------------------------------------------------------------


def test_what_changed_between_two_versions(reader, house):
    first = sent(remedial_at(house), remedial_at(house))
    kept, gone = first.lines.order_by("position")
    next_version(first, kept, besides="45.00", state="draft")
    where = f"/api/v1/quotes/{first.quote_id}/difference/"
    told = reader.get(where).json()
    assert (told["numbers"], told["old"], told["new"]) == ([1, 2], 1, 2)
    by_kind = {row["kind"]: row for row in told["changed"]}
    assert by_kind["taken out"]["key"] == str(gone.key)
    assert by_kind["added"]["changes"][0]["new"] == "£45.00"
    assert reader.get(where, {"old": "2", "new": "2"}).json()["changed"] == []
    assert reader.get(where, {"new": "9"}).json()["type"] == "urn:problem:rows:unknown"
    assert [reader.get(where, query).status_code for query in ({"new": "x"}, {"new": "0"}, {"from": "1"})] == [400] * 3


def test_accepted_lines_of_a_period_page_by_page_and_added_up(reader, house):
    offer = sent(remedial_at(house), remedial_at(house), remedial_at(house))
    one, two, three = offer.lines.order_by("position")
    answered(offer, yes=[one, two], no=[three])
    rows = get(reader, "accepted-lines")
    assert [row["line"] for row in rows] == [str(one.pk), str(two.pk)]
    assert (rows[0]["quote_number"], rows[0]["site"], rows[0]["price"]) == (
        offer.quote.number, "Mill Cottage", str(one.price),
    )  # fmt: skip
    page = reader.get("/api/v1/accepted-lines/", {"page_size": 1}).json()
    assert page["results"] + reader.get(page["next"]).json()["results"] == rows
    sums = reader.get("/api/v1/accepted-lines/sums/").json()
    assert (sums["lines"], sums["net"], sums["currency"]) == (2, str(one.price + two.price), "GBP")
    assert sum(Decimal(rate["to_pay"]) for rate in sums["rates"]) == Decimal(sums["to_pay"])
    assert Decimal(sums["to_pay"]) == sum(line.price + line.vat for line in (one, two))
    assert get(reader, "accepted-lines", since="2024-01-01", until="2024-12-31") == []
    assert (
        reader.get("/api/v1/accepted-lines/sums/", {"until": "2024-12-31", "since": "2024-01-01"}).json()["rates"] == []
    )
    for query in ({"since": "soon"}, {"since": "1800-01-01"}, {"before": "2026-01-01"}):
        assert reader.get("/api/v1/accepted-lines/", query).status_code == 400, query
    assert reader.get("/api/v1/accepted-lines/", {"cursor": "x"}).status_code == 404


def test_accepted_lines_take_as_many_statements_however_many(reader, house):
    counts = []
    for several in (1, 3):
        for _ in range(several):
            offer = sent(remedial_at(house))
            answered(offer, yes=list(offer.lines.all()))
        with statements() as made:
            get(reader, "accepted-lines")
        counts.append(len(made))
    assert counts == [3, 3]  # the session, its person, the lines


def test_figures_of_quotes_are_those_of_the_page(reader, house):
    offer = sent(remedial_at(house))
    answered(offer, yes=list(offer.lines.all()))
    told = reader.get("/api/v1/quotes/figures/").json()
    tables = {table["key"]: table for table in told["tables"]}
    assert told["currency"] == "GBP"
    assert "outstanding" in tables
    assert all(len(row) == len(table["columns"]) for table in tables.values() for row in table["rows"])
    assert reader.get("/api/v1/quotes/figures/", {"since": "x"}).status_code == 400


def test_engineers_read_nothing_of_accounts(client, engineer, house):
    offer = sent(remedial_at(house))
    client.force_login(engineer)
    for address in ("accepted-lines", "accepted-lines/sums", "quotes/figures", f"quotes/{offer.quote_id}/difference"):
        assert client.get(f"/api/v1/{address}/").status_code == 403
