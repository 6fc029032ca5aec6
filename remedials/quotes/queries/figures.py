"""The firm's figures of its quotes: what is outstanding, what was accepted and refused and why, how long answers take.

Each figure is a `Table` of plain values, which the page shows in words and a file holds as they are.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Exists, FilteredRelation, Min, OuterRef, Q, QuerySet

from jobsite import clock
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.words import money
from remedials.quotes.choices import LineKind, Says, WhyNot
from remedials.quotes.models import Line, Offer, QuoteSite
from remedials.quotes.queries.periods import instants
from remedials.quotes.rules import figures as rules
from remedials.quotes.rules.figures import Became, Row
from remedials.quotes.states import STANDING_OPEN, STANDING_WORDS, Standing, State

BAR = 120  # the longest bar, in units of its drawing
COUNT, POUNDS, PERCENT = "count", "pounds", "percent"


@dataclass(frozen=True)
class Column:
    """One column of figures: its head, and what its values are."""

    head: str
    kind: str = COUNT


@dataclass(frozen=True)
class Table:
    """A figure: what it says in words, heads, rows of values (the last `totals` of them sums), `bar` the column drawn."""

    key: str
    title: str
    says: str
    first: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]
    bar: int
    empty: str
    totals: int = 1

    @property
    def heads(self) -> list[str]:
        """The heads for a file."""
        units = {POUNDS: ", £", PERCENT: ", %"}
        return [self.first, *(column.head + units.get(column.kind, "") for column in self.columns)]


def figures(user: User, first: date, last: date, *, today: date) -> list[Table]:
    """All figures for what was sent from `first` to `last`, and for what is outstanding on `today`. Three statements."""
    lines = rules.counted(offered(user, first, last, today=today))
    return [outstanding_table(user, today), *shares(lines), _times(user, first, last, today)]


# --- rows -------------------------------------------------------------------------------------------------------------


def offered(
    user: User, first: date, last: date, *, today: date, sites: QuerySet[Site] | None = None
) -> list[rules.Offered]:
    """The lines of versions sent from `first` to `last`, each by the last version that had it. One statement.

    `sites`: only lines for work at one of these, and of the whole of a quote that is for one of them.
    """
    start, end = instants(first, last)
    sent = Q(offer__sent_at__gte=start, offer__sent_at__lt=end)
    if sites is not None:
        quotes = QuoteSite.objects.filter(site__in=sites).values("quote")
        sent &= Q(site__in=sites) | Q(site=None, offer__quote__in=quotes)
    later = Line.objects.filter(
        offer__quote=OuterRef("offer__quote"), key=OuterRef("key"), offer__number__gt=OuterRef("offer__number")
    ).exclude(offer__state=State.DRAFT.value)
    rows = (
        Line.objects.filter(sent, kind=LineKind.WORK, offer__in=Offer.objects.visible_to(user))
        .exclude(offer__state=State.DRAFT.value)
        .filter(~Exists(later))
        .annotate(said=FilteredRelation("answers", condition=Q(answers__stands=True)))
        .values_list(
            "offer__quote", "offer", "either", "price", "offer__number", "code", "said__says", "said__why_not", "offer__state",
            "offer__valid_until",
        )
    )  # fmt: skip
    found: Iterable[Any] = rows
    return [_offered(*row, today=today) for row in found]


def _offered(
    quote: Any, offer: Any, either: str, price: Decimal, version: int, code: str, says: str | None, why: str | None,
    state: str, last: date, *, today: date,
) -> rules.Offered:  # fmt: skip
    sent, lapsed = state == State.SENT, last < today
    return rules.Offered(
        quote, offer, either, price, version, code, says or "", why or "", sent and not lapsed, sent and lapsed
    )


def unanswered(user: User, today: date) -> list[rules.Unanswered]:
    """What is with the customer without an answer. A call-out gets its yes with the work that it is for. One statement."""
    rows: Any = (
        Line.objects.filter(offer__state=State.SENT.value, offer__in=Offer.objects.visible_to(user))
        .with_pays()
        .annotate(said=FilteredRelation("answers", condition=Q(answers__stands=True)))
        .values_list("offer", "offer__sent_at", "offer__valid_until", "either", "price", "pays", "kind", "said__says")
    )
    lines = list(rows)
    partly = {offer for offer, *_, kind, says in lines if says and kind == LineKind.WORK}
    settled = {(offer, either) for offer, _, _, either, *_, says in lines if either and says == Says.YES}
    return [
        rules.Unanswered(offer, clock.local_day(at), _standing(last, today, offer in partly), either, price, pays)
        for offer, at, last, either, price, pays, _, says in lines
        if not says and (offer, either) not in settled
    ]


def _standing(last: date, today: date, partly: bool) -> str:
    """How a version that was sent stands, as `OfferQuerySet.with_standing` says it."""
    if last < today:
        return Standing.LAPSED.value
    return Standing.PARTLY.value if partly else Standing.SENT.value


def spans(user: User, first: date, last: date) -> QuerySet[Offer, Any]:
    """The versions sent from `first` to `last`, with `answered`: when the first answer that stands was given."""
    start, end = instants(first, last)
    sent = Offer.objects.visible_to(user).filter(sent_at__gte=start, sent_at__lt=end).exclude(state=State.DRAFT.value)
    answered = Min("answers__given_at", filter=Q(answers__taken_back_at=None))
    return sent.annotate(answered=answered).only("state", "sent_at", "valid_until")  # what it says is long


# --- tables -----------------------------------------------------------------------------------------------------------


def outstanding_table(user: User, today: date) -> Table:
    """What customers have not answered, by how long they have had it."""
    ages = rules.by_age(unanswered(user, today), today)
    words = rules.bands_in_words(rules.AGES)
    rows = [(words[age.least], *_age_cells([age])) for age in ages if age.offers]
    columns = (
        Column(STANDING_WORDS[Standing.SENT].capitalize()), Column(STANDING_WORDS[Standing.PARTLY].capitalize()),
        Column("Outstanding, net", POUNDS), Column("Outstanding, to pay", POUNDS), Column("Lapsed beside"),
        Column("Lapsed, to pay", POUNDS),
    )  # fmt: skip
    says = (
        "What customers have not answered today: of versions that are with them and have not lapsed, the lines without a "
        "yes or a no. Of lines that exclude each other the dearest counts; a call-out counts until it is charged with work that was accepted. "
        "A version that was superseded or withdrawn is not there. What has lapsed stands beside and is not in the sums."
    )
    total = [("Together", *_age_cells(ages))] if rows else []
    return Table(
        "outstanding", "Outstanding, by days since it was sent", says, "Sent", columns, (*rows, *total), 4,
        "Nothing is with a customer. A quote that is sent stands here until it is answered.",
    )  # fmt: skip


def _age_cells(ages: Iterable[rules.Age]) -> tuple[Any, ...]:
    ages = list(ages)

    def quotes(standing: str) -> int:
        return sum(len(age.offers.get(standing, ())) for age in ages)

    def pounds(which: str, *standings: str) -> Decimal:
        return sum((getattr(age, which).get(one, rules.ZERO) for age in ages for one in standings), rules.ZERO)

    return (
        quotes(Standing.SENT), quotes(Standing.PARTLY), pounds("net", *STANDING_OPEN), pounds("pays", *STANDING_OPEN),
        quotes(Standing.LAPSED), pounds("pays", Standing.LAPSED),
    )  # fmt: skip


SHARE = (
    Column("Lines"), Column("Offered, net", POUNDS), Column("Accepted"), Column("Accepted, net", POUNDS),
    Column("Share accepted", PERCENT), Column("Refused, net", POUNDS), Column("No answer yet, net", POUNDS),
    Column("Lapsed, net", POUNDS), Column("No longer offered, net", POUNDS),
)  # fmt: skip
NOTHING_SENT = "No quote was sent in this period. Choose a longer one, or send a quote."
ONCE = (
    "Lines of versions sent in the period, net. A line that stood in several versions counts once, by the last that had "
    "it; of lines that exclude each other the accepted one counts, otherwise the dearest. Call-outs are left out. "
)


def shares(lines: list[rules.Offered]) -> list[Table]:
    """What became of `lines` (counted already): by code, by price, and why they were refused. No statement."""
    total = [("Together", *_share_cells(rules.all_of(lines)))] if lines else []
    codes = [(row.head or "No code", *_share_cells(row)) for row in rules.by_code(lines)]
    words = _prices_in_words()
    prices = [(words[Decimal(row.head)], *_share_cells(row)) for row in rules.by_price(lines)]
    share = "The share accepted is by value, of all that was offered. "
    gone = "No longer offered: withdrawn, or left out of a later version without an answer."
    return [
        Table("codes", "Accepted, by code", ONCE + share + gone, "Code", SHARE, (*codes, *total), 5, NOTHING_SENT),
        Table("prices", "Accepted, by price of the line", ONCE + share, "Price", SHARE, (*prices, *total), 5, NOTHING_SENT),
        _refusals(lines),
    ]  # fmt: skip


def _share_cells(row: Row) -> tuple[Any, ...]:
    sums = [row.sum(kind) for kind in (Became.REFUSED, Became.WAITING, Became.LAPSED, Became.GONE)]
    return row.count(), row.sum(), row.count(Became.ACCEPTED), row.sum(Became.ACCEPTED), row.share, *sums


def _prices_in_words() -> dict[Decimal, str]:
    after = [*rules.PRICES[1:], None]
    return {
        least: f"{money(least)} and more" if more is None else f"{money(least)} to under {money(more)}"
        for least, more in zip(rules.PRICES, after, strict=True)
    }


def _refusals(lines: list[rules.Offered]) -> Table:
    rows = rules.by_reason(lines, WhyNot.values)
    refused = [line for line in lines if line.became == Became.REFUSED]
    whole = rules.all_of(refused)
    labels = dict(WhyNot.choices) | {"": "no reason given"}
    cells = [
        (labels[row.head].capitalize(), row.count(), row.sum(), rules.percent(row.sum(), whole.sum())) for row in rows
    ]
    total = [("Together", whole.count(), whole.sum(), rules.percent(whole.sum(), whole.sum()))] if cells else []
    columns = (Column("Lines"), Column("Refused, net", POUNDS), Column("Of what was refused", PERCENT))
    return Table(
        "reasons", "Why refused", ONCE + "Here those whose answer is no, by the reason given. Not chosen among several is no refusal.",
        "Reason", columns, (*cells, *total), 3, "Nothing that was sent in this period was refused.",
    )  # fmt: skip


def _times(user: User, first: date, last: date, today: date) -> Table:
    days, waiting, never = [], 0, 0
    for offer in spans(user, first, last):
        at = offer.answered
        if at is not None and offer.sent_at is not None:
            days.append((clock.local_day(at) - clock.local_day(offer.sent_at)).days)
        elif offer.state == State.SENT and offer.valid_until is not None and offer.valid_until >= today:
            waiting += 1
        elif offer.state != State.SUPERSEDED:
            never += 1
    words, found = rules.bands_in_words(rules.SPANS), rules.by_span(days)
    whole = len(days) + waiting + never
    rows = [(words[least], count) for least, count in found.items() if count]
    rows += [(name, count) for name, count in (("no answer yet", waiting), ("never answered", never)) if count]
    middle = rules.middle(days)
    cells = [(name, count, rules.percent(count, whole)) for name, count in rows]
    total = [("Together", whole, rules.percent(whole, whole))] if whole else []
    says = (
        "Versions sent in the period, by the days from sending to their first answer, to any line. A version that was "
        "superseded before any answer is left out: the answer is to the next. Never answered: lapsed or withdrawn. "
    )
    says += f"Half were answered within {middle:g} days." if middle is not None else ""
    return Table(
        "times", "From sent to answered", says, "Answered", (Column("Versions"), Column("Share", PERCENT)), (*cells, *total),
        2, NOTHING_SENT,
    )  # fmt: skip


# --- in words ---------------------------------------------------------------------------------------------------------


def shown(table: Table) -> dict[str, Any]:
    """`table` in ready strings, its bars drawn in proportion to the longest of their column (percent: to a hundred)."""
    parts = table.rows[: len(table.rows) - table.totals]
    drawn = table.columns[table.bar - 1]
    longest = 100 if drawn.kind == PERCENT else max((row[table.bar] or 0 for row in parts), default=0)
    return {
        "key": table.key,
        "title": table.title,
        "says": table.says,
        "first": table.first,
        "heads": [column.head for column in table.columns],
        "rows": [_shown_row(table, row, longest) for row in table.rows],
        "empty": table.empty,
    }


def _shown_row(table: Table, row: tuple[Any, ...], longest: Any) -> dict[str, Any]:
    total = row[0] == "Together"
    cells = [
        {
            "head": column.head,
            "text": _in_words(value, column.kind),
            "bar": int(BAR * value / longest) if at == table.bar and value and longest and not total else 0,
        }
        for at, (column, value) in enumerate(zip(table.columns, row[1:], strict=True), start=1)
    ]
    return {"head": row[0], "cells": cells, "total": total}


def _in_words(value: Any, kind: str) -> str:
    if value is None:
        return ""
    return money(value) if kind == POUNDS else f"{value} %" if kind == PERCENT else f"{value:,}"
