"""Accepted lines of a period for the firm's accounts: the page, its sums, the file."""

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from remedials.quotes.models import Answer, LineAnswer
from tests.factories import NOON, TODAY, make_party, make_site
from tests.remedials.desk import hrefs, read, statements, text_of
from tests.remedials.quoted import DAYS, answered, remedial_at, sent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
WHERE = "/quotes/accepted/"
TRADE = {
    "consumer": False,
    "reverse_charge": True,
    "customer_vat_number": "GB 1",
    "cis_reportable": True,
    "end_user": False,
}


def lines(client, **query) -> list[dict[str, str]]:
    text = client.get(WHERE, {"as": "csv", **query}).content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture
def house():
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


def test_a_line_says_all_that_the_accounts_need(at_desk, house):
    offer = sent(
        remedial_at(house, work="Fit a cover"), remedial_at(house, work="Fit a lamp"),
        prices=[{"price": Decimal("80.05"), "vat": Decimal("16.01"), "certainty": "capped"}, {}],
    )  # fmt: skip
    one, two = offer.lines.all()
    answered(offer, yes=[one], no=[two], order_number="PO 17", at=NOON - DAYS)
    assert lines(at_desk) == [
        {
            "Accepted on": "2026-02-02", "Quote": str(offer.quote.number), "Version": "1", "Customer": "Petra Landlady",
            "Order number": "PO 17", "Site": "Mill Cottage", "Work": "Fit a cover", "Net": "80.05",
            "VAT rate, %": "20.00", "VAT": "16.01", "To pay": "96.06", "VAT under the reverse charge": "0.00",
            "Accepted": "by telephone", "By": "Petra Landlady", "Price is": "charged by what it takes, not more than this",
            "Reverse charge": "no",
        }
    ]  # fmt: skip
    shown = read(at_desk, WHERE)
    assert "2 Feb 2026 by telephone, Petra Landlady" in shown
    assert "order number PO 17" in shown
    assert "It is no invoice" in shown


def test_under_the_reverse_charge_the_customer_accounts_for_the_vat(at_desk, house):
    offer = sent(remedial_at(house), **TRADE)
    answered(offer, yes=offer.lines.all())
    (row,) = lines(at_desk)
    assert (row["VAT"], row["To pay"], row["VAT under the reverse charge"]) == ("0.00", "100.00", "20.00")
    assert row["Reverse charge"] == "yes"
    assert "reverse charge: the customer accounts for £20.00 VAT" in read(at_desk, WHERE)


def test_the_sums_are_those_of_the_lines_by_rate(at_desk, house):
    offer = sent(
        sites=[house],
        prices=[
            {"words": "A", "price": Decimal("10.03")},
            {"words": "B", "price": Decimal("20.00"), "rate": Decimal(5)},
            {"words": "C", "price": Decimal("30.00"), "rate": Decimal(0)},
        ],
    )  # fmt: skip
    answered(offer, yes=offer.lines.all())
    trade = sent(remedial_at(house), **TRADE)
    answered(trade, yes=trade.lines.all())
    rows = lines(at_desk)
    shown = text_of(at_desk.get(WHERE))
    assert "20 %, reverse charge 1 £100.00 £0.00 £100.00 £20.00" in shown
    assert "5 % 1 £20.00 £1.00 £21.00 £0.00" in shown
    net, vat, pays = (sum(Decimal(row[head]) for row in rows) for head in ("Net", "VAT", "To pay"))
    assert net + vat == pays
    assert f"Together 4 £{net} £{vat} £{pays} £20.00" in shown


def test_only_standing_answers_of_the_period(at_desk, house, office):
    for days_ago, name in ((0, "today"), (40, "earlier"), (3, "taken back")):
        offer = sent(remedial_at(house, work=name))
        answered(offer, yes=offer.lines.all(), at=NOON - days_ago * DAYS)
    LineAnswer.objects.filter(line__words="taken back").update(stands=False)
    Answer.objects.filter(lines__line__words="taken back").update(
        taken_back_at=NOON, taken_back_by=office, taken_back_why="Wrong house"
    )
    assert [row["Work"] for row in lines(at_desk)] == ["earlier", "today"]
    assert [row["Work"] for row in lines(at_desk, since=str(TODAY))] == ["today"]
    assert [row["Work"] for row in lines(at_desk, until=str(TODAY - timedelta(days=1)))] == ["earlier"]


def test_the_site_is_where_the_work_is(at_desk, house):
    other = make_site("Boat House", customer=house.customer)
    both = sent(remedial_at(house, work="here"), remedial_at(other, work="there"))
    answered(both, yes=both.lines.all())
    loose = sent(sites=[other, house], prices=[{"words": "anywhere"}])
    answered(loose, yes=loose.lines.all())
    places = {row["Work"]: row["Site"] for row in lines(at_desk)}
    assert places == {"here": "Mill Cottage", "there": "Boat House", "anywhere": "Boat House, Mill Cottage"}


def test_text_like_a_formula_stays_text(at_desk, house):
    offer = sent(sites=[house], prices=[{"words": '=HYPERLINK("http://x")'}])
    answered(offer, yes=offer.lines.all(), order_number="+1", name="@me")
    assert lines(at_desk)[0]["Work"].startswith("'=HYPERLINK")
    sheet = load_workbook(io.BytesIO(at_desk.get(WHERE, {"as": "xlsx"}).content)).active
    cells = {cell.value: cell.data_type for cell in sheet[2]}
    assert cells['=HYPERLINK("http://x")'] == cells["+1"] == cells["@me"] == "s"
    assert cells[100] == "n"


def test_pages_go_through_all_lines_once(at_desk, house):
    offer = sent(sites=[house], prices=[{"words": f"Line {n}"} for n in range(120)])
    answered(offer, yes=offer.lines.all())
    seen, address = [], WHERE
    while address:
        response = at_desk.get(address)
        seen += [row["words"] for row in response.context["rows"]]
        address = response.context["pager"]["next"]
    assert seen == [f"Line {n}" for n in range(120)]


def test_an_empty_period_says_so_and_leads_to_no_file(at_desk):
    response = at_desk.get(WHERE)
    assert "Nothing was accepted in this period." in text_of(response)
    assert not [href for href in hrefs(response) if "as=" in href]
    assert at_desk.get(WHERE, {"as": "csv"}).status_code == 200


@pytest.mark.parametrize("size", [1, 30])
def test_the_page_costs_five_statements_at_any_size(at_desk, house, size):
    """Session, person, when the reminders ran, the lines, their sums."""
    offer = sent(sites=[house], prices=[{"words": f"Line {n}"} for n in range(size)])
    answered(offer, yes=offer.lines.all())
    with statements() as sql:
        at_desk.get(WHERE)
    assert len(sql) == 5
