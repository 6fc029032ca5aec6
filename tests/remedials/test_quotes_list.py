"""The list of quotes: what a row says, how it is narrowed, sorted and paged, what it costs, and as a file."""

import csv
import io
from decimal import Decimal

import pytest

from remedials.quotes.models import Offer, Question
from tests.factories import NOON, TODAY, make_line, make_offer, make_party, make_site, make_user
from tests.remedials.desk import hrefs, read, statements, text_of
from tests.remedials.quoted import DAYS, answered, next_version, remedial_at, sent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def listed(client, **query) -> list[dict[str, str]]:
    """The rows of the list as a file, by head."""
    text = client.get("/quotes/", {"as": "csv", **query}).content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def names(client, **query) -> list[str]:
    return [row["What"] for row in listed(client, **query)]


@pytest.fixture
def house():
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


def test_a_row_says_what_for_whom_how_it_stands_and_since_when(at_desk, house):
    offer = sent(remedial_at(house), days_ago=3, name="Make the kitchen safe")
    response = at_desk.get("/quotes/")
    row = f"{offer.quote.number} version 1 Make the kitchen safe Mill Cottage Petra Landlady with the customer sent 3 days ago"
    assert row in text_of(response)
    assert "5 Mar 2026, 30 days left £120.00" in text_of(response)
    assert {f"/quotes/{offer.quote.pk}/", f"/sites/{house.pk}/"} <= hrefs(response)


LEFT = {"lapsed": -4}


@pytest.fixture
def in_every_state(house):
    """A quote in each state, named by it."""
    made = {
        name: sent(remedial_at(house), remedial_at(house), name=name, valid_until=TODAY + LEFT.get(name, 30) * DAYS)
        for name in ("sent", "partly", "answered", "withdrawn", "lapsed", "superseded")
    }
    make_offer(remedial_at(house), name="draft")
    answered(made["partly"], yes=made["partly"].lines.all()[:1])
    answered(made["answered"], yes=made["answered"].lines.all()[:1], no=made["answered"].lines.all()[1:])
    rows = Offer.objects
    rows.filter(pk=made["withdrawn"].pk).update(state="withdrawn", ended_at=NOON, end_reason="Wrong house")
    next_version(made["superseded"], *made["superseded"].lines.all())
    return made


@pytest.mark.parametrize(
    ("state", "found"),
    [
        ("draft", ["draft"]),
        ("sent", ["superseded", "sent"]),
        ("partly", ["partly"]),
        ("lapsed", ["lapsed"]),
        ("answered", ["answered"]),
        ("withdrawn", ["withdrawn"]),
        ("open", ["draft", "superseded", "lapsed", "partly", "sent"]),
        ("nonsense", ["draft", "superseded", "lapsed", "partly", "sent"]),
        ("", ["draft", "superseded", "lapsed", "withdrawn", "answered", "partly", "sent"]),
    ],
)
def test_narrowed_by_state(at_desk, in_every_state, state, found):
    assert names(at_desk, state=state) == found


def test_a_quote_stands_there_once_by_the_version_that_the_customer_has(at_desk, in_every_state):
    rows = {row["What"]: row for row in listed(at_desk, state="")}
    assert rows["superseded"]["Version"] == "2"
    assert rows["superseded"]["State"] == "with the customer"
    next_version(in_every_state["sent"], state="draft")
    assert {row["What"]: row for row in listed(at_desk)}["sent"]["Version"] == "1"


def test_the_words_of_what_was_answered_and_what_lapsed(at_desk, in_every_state):
    shown = read(at_desk, "/quotes/", state="")
    assert "answered 1 of 2 accepted, 1 refused" in shown
    assert "partly answered 1 of 2 accepted" in shown
    assert "lapsed 4 days ago" in shown


def test_of_lines_that_exclude_each_other_the_dearest_is_in_the_sum(at_desk, house):
    prices = [
        {"words": "Mend it", "price": Decimal(200), "either": "a"},
        {"words": "Renew it", "price": Decimal(500), "either": "a"},
        {"words": "As dear", "price": Decimal(500), "either": "a"},
        {"words": "Besides", "price": Decimal("10.01"), "vat": Decimal("2.00")},
    ]
    make_offer(sites=[house], prices=prices)
    (row,) = listed(at_desk)
    assert (row["Net"], row["To pay"], row["Lines"]) == ("510.01", "612.01", "4")


def test_under_the_reverse_charge_no_vat_is_paid(at_desk, house):
    conditions = {"consumer": False, "customer_vat_number": "GB 1", "cis_reportable": True, "end_user": False}
    make_offer(remedial_at(house), reverse_charge=True, **conditions)
    (row,) = listed(at_desk)
    assert (row["Net"], row["To pay"]) == ("100.00", "100.00")


def test_a_draft_without_lines_is_worth_nothing(at_desk, house):
    make_offer(sites=[house])
    assert "draft" in read(at_desk, "/quotes/")
    assert listed(at_desk)[0]["To pay"] == "0.00"


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"q": "kitchen"}, ["Kitchen"]),
        ({"q": "boat house"}, ["Slip"]),
        ({"q": "ann"}, ["Slip"]),
        ({"q": "ann kitchen"}, []),
        ({"owner": "other"}, ["Slip"]),
        ({"customer": "petra"}, ["Kitchen"]),
        ({"site": "boat"}, ["Slip"]),
        ({"site": "not a key"}, ["Slip", "Kitchen"]),
    ],
)
def test_narrowed_by_words_owner_customer_and_site(at_desk, house, query, found):
    boat = make_site("Boat House", customer=make_party("Ann"))
    other = make_user("Oscar Otherdesk", "office")
    sent(remedial_at(house), name="Kitchen")
    sent(remedial_at(boat), name="Slip", owner=other)
    keys = {"other": other.pk, "petra": house.customer_id, "boat": boat.pk}
    assert names(at_desk, **{name: keys.get(value, value) for name, value in query.items()}) == found


def test_found_by_its_number(at_desk, house):
    first, _ = sent(remedial_at(house), name="One"), sent(remedial_at(house), name="Two")
    for said in (str(first.quote.number), f"#{first.quote.number}"):
        assert names(at_desk, q=said) == ["One"]
    assert names(at_desk, q="9" * 30) == []


def test_a_customer_named_in_the_address_stays_chosen(at_desk, house):
    sent(remedial_at(house))
    shown = at_desk.get("/quotes/", {"customer": house.customer_id}).content.decode()
    assert f'<option value="{house.customer_id}" selected>Petra Landlady</option>' in shown
    assert 'name="customer"' not in at_desk.get("/quotes/").content.decode()


def test_with_a_question_open(at_desk, house, office):
    asked = sent(remedial_at(house), name="Asked")
    sent(remedial_at(house), name="Clear")
    Question.objects.create(quote=asked.quote, owner=office, reply_by=TODAY, asked_at=NOON)
    assert names(at_desk, state="questions") == ["Asked"]
    assert "1 question open" in read(at_desk, "/quotes/")


@pytest.mark.parametrize(
    ("sort", "found"),
    [
        ("number", ["C", "B", "A"]),
        ("lapses", ["B", "A", "C"]),
        ("sent", ["B", "C", "A"]),
        ("customer", ["C", "A", "B"]),
        ("value", ["A", "C", "B"]),
        ("nonsense", ["C", "B", "A"]),
    ],
)
def test_sorted(at_desk, sort, found):
    for name, customer, days_ago, left, price in (
        ("A", "Mo", 1, 5, 300), ("B", "Zoe", 9, 2, 100), ("C", "Ann", 4, 8, 200),
    ):  # fmt: skip
        site = make_site(f"{name} House", customer=make_party(customer))
        sent(
            remedial_at(site), name=name, days_ago=days_ago, valid_until=TODAY + left * DAYS,
            prices=[{"price": Decimal(price)}],
        )  # fmt: skip
    assert names(at_desk, sort=sort) == found


@pytest.mark.parametrize("sort", ["number", "lapses", "sent", "customer", "value"])
def test_every_order_pages_without_loss(at_desk, house, sort):
    for n in range(60):
        offer = make_offer(sites=[house], name=f"Quote {n}", valid_until=None if n % 5 == 0 else TODAY + n % 3 * DAYS)
        make_line(offer, words="W", price=Decimal(n % 4))
    seen, address = [], f"/quotes/?sort={sort}"
    while address:
        response = at_desk.get(address)
        seen += [row["name"] for row in response.context["rows"]]
        address = response.context["pager"]["next"]
    assert sorted(seen) == sorted(f"Quote {n}" for n in range(60))


def test_text_like_a_formula_stays_text(at_desk, house):
    make_offer(sites=[house], name="=1+1")
    assert names(at_desk) == ["'=1+1"]


def test_an_empty_list_says_what_to_do_first(at_desk):
    assert "No quote is open. Quotes are begun at a site" in read(at_desk, "/quotes/")
    assert "No quote fits this." in read(at_desk, "/quotes/", q="nowhere")


def test_engineers_see_no_prices(on_site, house):
    sent(remedial_at(house))
    assert on_site.get("/quotes/").status_code == 403
    assert "Quotes" not in text_of(on_site.get("/")).partition("Sign out")[0]


@pytest.mark.parametrize("size", [1, 40])
def test_the_page_costs_five_statements_at_any_size(at_desk, house, size):
    """Session, person, when the reminders ran, the people to choose from, the quotes."""
    for n in range(size):
        sent(remedial_at(house), name=f"Quote {n}")
    with statements() as sql:
        at_desk.get("/quotes/")
    assert len(sql) == 5
