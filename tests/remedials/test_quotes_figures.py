"""The figures of quotes: counted by hand in small cases, and against a slow recomputation in cases by chance."""

import csv
import io
from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from random import Random
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.quotes.models import Answer, LineAnswer, Offer, Quote
from remedials.quotes.queries import figures as counting
from remedials.quotes.rules import figures as rules
from remedials.quotes.rules.figures import Became, Offered
from tests.factories import NOON, TODAY, make_offer, make_party, make_site
from tests.remedials.desk import hrefs, read, statements, text_of
from tests.remedials.quoted import DAYS, answered, next_version, remedial_at, sent

A_YEAR_AGO = TODAY - timedelta(days=364)


# --- the rules alone --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("says", "current", "lapsed", "became"),
    [
        ("yes", False, False, Became.ACCEPTED),
        ("no", True, False, Became.REFUSED),
        ("not-chosen", False, False, Became.NOT_CHOSEN),
        ("", True, False, Became.WAITING),
        ("", False, True, Became.LAPSED),
        ("", False, False, Became.GONE),
    ],
)
def test_what_became_of_a_line(says, current, lapsed, became):
    line = Offered(1, 1, "", Decimal(1), says=says, current=current, lapsed=lapsed)
    assert line.became == became


LINES = st.builds(
    Offered,
    quote=st.integers(1, 2),
    offer=st.integers(1, 3),
    either=st.sampled_from(["", "", "a", "b"]),
    price=st.decimals(0, 3000, places=2),
    version=st.integers(1, 3),
    code=st.sampled_from(rules.CODES),
    says=st.sampled_from(["", "yes", "no", "not-chosen"]),
    why=st.sampled_from(["", "price", "later"]),
    current=st.booleans(),
)


@given(st.lists(LINES, max_size=12))
def test_every_table_adds_up_to_the_same_whole(lines):
    lines = rules.counted(lines)
    whole = rules.all_of(lines)
    for rows in (rules.by_code(lines), rules.by_price(lines)):
        for kind in Became:
            assert sum(row.count(kind) for row in rows) == whole.count(kind)
            assert sum((row.sum(kind) for row in rows), Decimal(0)) == whole.sum(kind)
    reasons = rules.by_reason(lines, ["price", "later", "means"])
    assert sum(row.count() for row in reasons) == whole.count(Became.REFUSED)
    assert sum((row.sum() for row in reasons), Decimal(0)) == whole.sum(Became.REFUSED)


@given(st.lists(LINES, max_size=12))
def test_no_alternative_counts_twice_and_no_yes_is_lost(lines):
    counted = rules.counted(lines)
    assert sorted(id(line) for line in counted if line.says == "yes") == sorted(
        id(line) for line in lines if line.says == "yes"
    )
    assert not [line for line in counted if line.became == Became.NOT_CHOSEN]
    others = [(line.quote, line.either) for line in counted if line.either and line.says != "yes"]
    assert len(others) == len(set(others))


@pytest.mark.parametrize(
    ("days", "band"), [(0, 0), (1, 1), (2, 1), (3, 3), (7, 3), (8, 8), (30, 15), (31, 31), (900, 31)]
)
def test_bands(days, band):
    assert rules.by_span([days]) == {least: int(least == band) for least in rules.SPANS}


def test_bands_in_words():
    assert rules.bands_in_words(rules.SPANS) == {
        0: "the same day", 1: "1 to 2 days", 3: "3 to 7 days", 8: "8 to 14 days", 15: "15 to 30 days",
        31: "31 days and more",
    }  # fmt: skip


def test_a_share_of_nothing_is_none():
    assert rules.percent(0, 0) is None
    assert rules.percent(Decimal(1), Decimal(3)) == 33
    assert rules.all_of([]).share is None


# --- counted by hand --------------------------------------------------------------------------------------------------

pages = pytest.mark.usefixtures("at_noon")


@pytest.fixture
def house(db):
    return make_site("Mill Cottage", customer=make_party("Petra Landlady"))


def table(key: str, user, first: date = A_YEAR_AGO, last: date = TODAY) -> dict[str, tuple]:
    """The rows of a figure by their heads."""
    found = next(t for t in counting.figures(user, first, last, today=TODAY) if t.key == key)
    return {row[0]: row[1:] for row in found.rows}


def priced(*prices: int, **fields) -> list[dict]:
    return [{"words": f"Line of {price}", "price": Decimal(price)} | fields for price in prices]


def test_outstanding_is_what_has_no_answer_and_has_not_lapsed(house, office):
    sent(sites=[house], prices=priced(100, 200), days_ago=2)
    partly = sent(sites=[house], prices=priced(10, 20, 30), days_ago=10)
    answered(partly, yes=partly.lines.all()[:1])
    sent(sites=[house], prices=priced(1000), days_ago=40, valid_until=TODAY - DAYS)
    make_offer(sites=[house], prices=priced(5000))
    assert table("outstanding", office) == {
        "0 to 7 days": (1, 0, Decimal(300), Decimal(360), 0, Decimal(0)),
        "8 to 14 days": (0, 1, Decimal(50), Decimal(60), 0, Decimal(0)),
        "31 to 60 days": (0, 0, Decimal(0), Decimal(0), 1, Decimal(1200)),
        "Together": (1, 1, Decimal(350), Decimal(420), 1, Decimal(1200)),
    }


def test_superseded_versions_are_never_counted_twice(house, office):
    first = sent(sites=[house], prices=priced(100, 200), days_ago=20)
    next_version(first, *first.lines.all(), at=NOON - 5 * DAYS, besides="7")
    assert table("outstanding", office)["Together"][:3] == (1, 0, Decimal(307))
    assert table("codes", office)["Together"][:2] == (3, Decimal(307))
    assert table("times", office) == {"No answer yet".lower(): (1, 100), "Together": (1, 100)}


def test_what_was_accepted_stays_with_its_version_and_what_was_left_out_is_no_longer_offered(house, office):
    first = sent(sites=[house], prices=priced(100, 200, 300), days_ago=20)
    one, two, _ = first.lines.all()
    answered(first, yes=[one])
    next_version(first, two, at=NOON - 5 * DAYS)
    lines, offered, count, accepted, share, refused, waiting, lapsed, gone = table("codes", office)["Together"]
    assert (lines, offered, count, accepted, share) == (3, Decimal(600), 1, Decimal(100), 17)
    assert (refused, waiting, lapsed, gone) == (0, Decimal(200), 0, Decimal(300))


def test_by_code_the_worst_first(house, office):
    for code, said in (("C3", "no"), ("C1", "yes"), ("C2", "yes"), ("C2", "no")):
        offer = sent(remedial_at(house, code))
        answered(offer, **{said: offer.lines.all()})
    rows = table("codes", office)
    assert list(rows) == ["C1", "C2", "C3", "Together"]
    assert [row[4] for row in rows.values()] == [100, 50, 0, 50]


def test_by_price_of_the_line(house, office):
    sent(sites=[house], prices=priced(0, 99, 100, 2000))
    assert {head: row[:2] for head, row in table("prices", office).items()} == {
        "£0.00 to under £100.00": (2, Decimal(99)),
        "£100.00 to under £500.00": (1, Decimal(100)),
        "£2,000.00 and more": (1, Decimal(2000)),
        "Together": (4, Decimal(2199)),
    }


def test_of_what_excludes_each_other_one_counts(house, office):
    prices = priced(100, 300, 200, either="a")
    chosen, open_still = sent(sites=[house], prices=prices), sent(sites=[house], prices=prices)
    cheap, *others = chosen.lines.all()
    answered(chosen, yes=[cheap], not_chosen=others)
    refused = sent(sites=[house], prices=prices)
    answered(refused, no=refused.lines.all())
    row = table("codes", office)["Together"]
    assert row[:6] == (3, Decimal(700), 1, Decimal(100), 14, Decimal(300))
    assert table("outstanding", office)["Together"][2] == Decimal(300)
    assert open_still.lines.count() == 3


def test_a_call_out_is_outstanding_until_it_is_charged_and_is_in_no_share(house, office):
    coming = {"words": "Coming out", "price": Decimal(45), "kind": "call-out", "visits": 1}
    offer = sent(sites=[house], prices=[*priced(100, 200), coming])
    assert table("outstanding", office)["Together"][2] == Decimal(345)
    answered(offer, yes=[offer.lines.all()[0], offer.lines.all()[2]])
    assert table("outstanding", office)["Together"][2] == Decimal(200)
    assert table("codes", office)["Together"][:2] == (2, Decimal(300))


def test_why_refused_the_most_value_first(house, office):
    for price, why in ((100, "later"), (300, "price"), (50, "later")):
        offer = sent(sites=[house], prices=priced(price))
        answered(offer, no=offer.lines.all(), why=why)
    assert table("reasons", office) == {
        "The price": (1, Decimal(300), 67),
        "Not now": (2, Decimal(150), 33),
        "Together": (3, Decimal(450), 100),
    }


def test_an_answer_taken_back_counts_no_more(house, office):
    offer = sent(sites=[house], prices=priced(100))
    answered(offer, no=offer.lines.all())
    LineAnswer.objects.update(stands=False)
    Answer.objects.update(taken_back_at=NOON, taken_back_why="Another house", taken_back_by=office)
    Offer.objects.update(state="sent")
    assert table("reasons", office) == {}
    assert "no answer yet" in table("times", office)
    assert table("outstanding", office)["Together"][2] == Decimal(100)


def test_from_sent_to_the_first_answer(house, office):
    for days in (0, 2, 4):
        offer = sent(sites=[house], prices=priced(100, 200), days_ago=30)
        answered(offer, yes=offer.lines.all()[:1], at=NOON - (30 - days) * DAYS)
        answered(offer, no=offer.lines.all()[1:], at=NOON)
    sent(sites=[house], prices=priced(1), valid_until=TODAY - DAYS)
    assert table("times", office) == {
        "the same day": (1, 25), "1 to 2 days": (1, 25), "3 to 7 days": (1, 25), "never answered": (1, 25),
        "Together": (4, 100),
    }  # fmt: skip
    (times,) = [t for t in counting.figures(office, A_YEAR_AGO, TODAY, today=TODAY) if t.key == "times"]
    assert "Half were answered within 2 days." in times.says


def test_the_period_is_of_days_of_london_both_included(house, office):
    day = date(2025, 7, 1)
    sent(sites=[house], prices=priced(100), at=datetime(2025, 6, 30, 23, 30, tzinfo=UTC))  # 1 July in London
    assert table("codes", office, day, day)["Together"][0] == 1
    assert table("codes", office, day - timedelta(days=9), day - timedelta(days=1)) == {}


# --- against a slow recomputation -------------------------------------------------------------------------------------


def by_chance(random: Random, house, office) -> None:
    """Some quotes with versions, alternatives and answers, as the operations leave them."""
    for _ in range(random.randrange(3, 9)):
        groups = ["", "", "a", "b"]
        prices = [
            {"words": "W", "price": Decimal(random.randrange(0, 300_000)) / 100, "either": random.choice(groups)}
            | {"code": random.choice(["C1", "C2", "C3", "FI", ""])}
            for _ in range(random.randrange(1, 7))
        ]
        until = TODAY + timedelta(days=random.randrange(-20, 20))
        offer = sent(sites=[house], prices=prices, days_ago=random.randrange(0, 90), valid_until=until)
        while True:
            _answer_by_chance(random, offer, until)
            fate = random.random()
            open_lines = list(offer.lines.exclude(answers__says="yes").exclude(answers__says="not-chosen"))
            if fate < 0.5 or not open_lines or offer.number > 3:
                if fate < 0.1 and Offer.objects.get(pk=offer.pk).state == "sent":
                    Offer.objects.filter(pk=offer.pk).update(state="withdrawn", ended_at=NOON, end_reason="x")
                break
            offer.refresh_from_db()
            keep = [line for line in open_lines if random.random() < 0.8]
            offer = next_version(offer, *keep, at=offer.sent_at + DAYS, state="draft" if fate > 0.9 else "sent")
            if offer.state == "draft":
                break


def _answer_by_chance(random: Random, offer, until: date) -> None:
    chosen: dict[str, list] = {"yes": [], "no": [], "not_chosen": []}
    taken: set[str] = set()
    for line in offer.lines.all():
        if line.either in taken:
            chosen["not_chosen"].append(line)
        elif random.random() < 0.3:
            chosen["yes"].append(line)
            if line.either:
                taken.add(line.either)
                chosen["not_chosen"] += [other for other in chosen["no"] if other.either == line.either]
                chosen["no"] = [other for other in chosen["no"] if other.either != line.either]
        elif random.random() < 0.4:
            chosen["no"].append(line)
    # Of one group where one was chosen, those passed over without a word are not chosen either.
    said = {line.pk for lines in chosen.values() for line in lines}
    chosen["not_chosen"] += [line for line in offer.lines.all() if line.either in taken and line.pk not in said]
    if any(chosen.values()):
        at = offer.sent_at + timedelta(days=random.randrange(0, 40))
        answered(offer, at=at, why=random.choice(["price", "later", "other"]), **chosen)


def slowly(first: date, last: date) -> dict[str, object]:
    """The figures once more, walked quote by quote without any statement or rule of theirs."""
    share: dict[str, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    reasons: dict[str, tuple[int, Decimal]] = defaultdict(lambda: (0, Decimal(0)))
    outstanding, days = Decimal(0), []
    for quote in Quote.objects.all():
        versions = [v for v in quote.offers.order_by("number") if v.state != "draft"]
        for version in versions:
            if first <= version.sent_at.date() <= last and (answers := version.answers.order_by("given_at")):
                days.append((answers[0].given_at.date() - version.sent_at.date()).days)
            if version.state == "sent" and version.valid_until >= TODAY:
                outstanding += _open_sum(version)
        for version, line, says, why in _one_of_each_choice(versions, first, last):
            share[line.code or "No code"][says or _without_answer(version)] += line.price
            if says == "no":
                count, total = reasons[why]
                reasons[why] = count + 1, total + line.price
    return {"share": share, "reasons": dict(reasons), "outstanding": outstanding, "days": days}


def _one_of_each_choice(versions, first: date, last: date):
    """Each line by its last version, of those sent in the period; of alternatives one."""
    seen = {line.key: (version, line) for version in versions for line in version.lines.all()}
    groups: dict[object, list[tuple]] = defaultdict(list)
    for version, line in seen.values():
        answer = line.answers.filter(stands=True).first()
        says, why = (answer.says, answer.why_not) if answer else ("", "")
        if first <= version.sent_at.date() <= last and says != "not-chosen":
            alone = not line.either or says == "yes"
            chosen = version.lines.filter(either=line.either, answers__says="yes").exists()
            if alone or not chosen:
                groups[line.key if alone else line.either].append((version, line, says, why))
    for members in groups.values():
        newest = max(version.number for version, *_ in members)
        yield max((member for member in members if member[0].number == newest), key=lambda m: m[1].price)


def _without_answer(version) -> str:
    if version.state == "sent":
        return "waiting" if version.valid_until >= TODAY else "lapsed"
    return "gone"


def _open_sum(version) -> Decimal:
    best: dict[object, Decimal] = {}
    for line in version.lines.all():
        if not line.answers.filter(stands=True).exists():
            name = line.either or line.key
            best[name] = max(best.get(name, Decimal(0)), line.price)
    return sum(best.values(), Decimal(0))


@pytest.mark.parametrize("seed", range(12))
def test_the_figures_are_those_of_a_slow_walk(house, office, seed):
    by_chance(Random(seed), house, office)
    first, last = TODAY - timedelta(days=60), TODAY
    slow = slowly(first, last)
    rows = table("codes", office, first, last)
    kinds = ("yes", "no", "waiting", "lapsed", "gone")
    got = {head: tuple(row[at] for at in (3, 5, 6, 7, 8)) for head, row in rows.items() if head != "Together"}
    assert got == {head: tuple(sums[kind] for kind in kinds) for head, sums in slow["share"].items()}
    outstanding = table("outstanding", office)
    assert (outstanding["Together"][2] if outstanding else Decimal(0)) == slow["outstanding"]
    labels = {"The price": "price", "Not now": "later", "Another reason": "other"}
    reasons = {labels[h]: row[:2] for h, row in table("reasons", office, first, last).items() if h != "Together"}
    assert reasons == slow["reasons"]
    (times,) = [t for t in counting.figures(office, first, last, today=TODAY) if t.key == "times"]
    in_words = f"Half were answered within {median(slow['days']):g} days." if slow["days"] else ""
    assert times.says.endswith(in_words)


# --- the page ---------------------------------------------------------------------------------------------------------


@pages
def test_the_page_says_the_figures_and_what_they_mean(at_desk, house):
    offer = sent(remedial_at(house, "C2"), remedial_at(house, "C3"))
    answered(offer, yes=offer.lines.all()[:1])
    response = at_desk.get("/quotes/figures/")
    shown = text_of(response)
    assert "A version that was superseded or withdrawn is not there." in shown
    assert "C2 1 £100.00 1 £100.00 100 % £0.00 £0.00 £0.00 £0.00" in shown
    assert '<rect width="120" height="6"/>' in response.content.decode()
    assert "Nothing that was sent in this period was refused." in shown


@pages
def test_without_quotes_each_figure_says_what_to_do(at_desk, db):
    shown = read(at_desk, "/quotes/figures/")
    assert "Nothing is with a customer. A quote that is sent stands here" in shown
    assert "No quote was sent in this period." in shown


@pages
def test_the_period_stands_in_the_address(at_desk, house):
    sent(remedial_at(house), days_ago=50)
    assert "Sent from 4 Feb 2025 to 3 Feb 2026" in read(at_desk, "/quotes/figures/")
    shown = read(at_desk, "/quotes/figures/", since="2026-02-01", until="2026-02-03")
    assert "Sent from 1 Feb 2026 to 3 Feb 2026" in shown
    assert "No quote was sent in this period." in shown
    assert "Sent from 1 Feb 2026 to 3 Feb 2026" in read(
        at_desk, "/quotes/figures/", since="2026-02-03", until="2026-02-01"
    )
    assert "Sent from 4 Feb 2025 to 3 Feb 2026" in read(at_desk, "/quotes/figures/", since="never", until="0")


@pages
def test_each_figure_is_a_file(at_desk, house):
    sent(remedial_at(house))
    links = [href for href in hrefs(at_desk.get("/quotes/figures/")) if "as=csv" in href]
    assert len(links) == 4  # nothing was refused: that one has no rows
    rows = {}
    for link in links:
        text = at_desk.get(link).content.decode("utf-8-sig")
        rows[link.partition("table=")[2].partition("&")[0]] = list(csv.reader(io.StringIO(text)))
    assert rows["outstanding"][0][:4] == ["Sent", "With the customer", "Partly answered", "Outstanding, net, £"]
    assert rows["outstanding"][1][:5] == ["0 to 7 days", "1", "0", "100.00", "120.00"]
    assert at_desk.get("/quotes/figures/", {"as": "csv", "table": "nonsense"}).status_code == 404


@pages
@pytest.mark.parametrize("size", [1, 20])
def test_the_page_costs_six_statements_at_any_size(at_desk, house, size):
    """Session, person, when the reminders ran, what was offered, what is unanswered, how long answers took."""
    for _ in range(size):
        sent(remedial_at(house), remedial_at(house))
    with statements() as sql:
        at_desk.get("/quotes/figures/")
    assert len(sql) == 6
