"""The list of quotes, as dicts of ready strings and as cells for a file."""

from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from jobsite import clock
from jobsite.addresses import address
from jobsite.columns import listed
from jobsite.ids import keys_in
from jobsite.kept_plans import plan_kept
from jobsite.paging import SIZE, Slice, keyset
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.words import joined, late, many, money, near_day
from remedials.quotes.models import Answer, Line, Offer, Question, QuoteSite
from remedials.quotes.states import STANDING_OPEN, STANDING_WORDS, Standing, State

MOST_WORDS = 8
SHOWN = 12
NO_DATE = date(9999, 12, 31)
NEVER = datetime(9999, 12, 31, tzinfo=clock.LONDON)
PENNY = Decimal("0.01")

# What somebody of us still has to do something about, or waits for: with the customer, answered in part, lapsed, a draft.
STILL_OPEN = (State.DRAFT.value, State.SENT.value)
SORTS: dict[str, tuple[str, ...]] = {
    "number": ("-quote__number",),
    "lapses": ("lapses", "quote__number"),
    "sent": ("sent", "quote__number"),
    "customer": ("quote__party__sort", "quote__number"),
    "value": ("-to_pay", "-quote__number"),
}
HEADS = (
    "Quote", "Version", "State", "Customer", "Sites", "What", "Net", "To pay", "Accepted, to pay", "Lines", "Yes", "No",
    "Questions open", "Sent", "Days since sent", "Valid until", "Days left", "Owner",
)  # fmt: skip

Offers = QuerySet[Offer, Any]


def found_quotes(
    user: User, *, today: date, state: str = "open", owner: str = "", customer: str = "", site: str = "",
    words: str = "", sort: str = "",
) -> tuple[Offers, tuple[str, ...]]:  # fmt: skip
    """The quotes that `user` sees, each by the version that counts now, narrowed; and their order.

    `state`: a `Standing`, "open" for all that are not at an end, "questions" for those with a question of the customer
    unanswered, "" for all. `owner`, `customer`, `site`: keys. `words`: each must be found in the quote's name, the
    customer's, a site's, or be its number. A superseded version is never there: its quote has a later one.
    """
    rows: Any = Offer.objects.visible_to(user).current().with_standing(today)
    if state == "open":
        rows = rows.filter(state__in=STILL_OPEN)
    elif state == "questions":
        rows = rows.filter(quote__in=Question.objects.filter(open=True).values("quote"))
    elif state:
        rows = rows.filter(standing=state)
    for name, key in (("quote__owner", owner), ("quote__party", customer), ("quote__sites", site)):
        rows = rows.filter(**{f"{name}__in": keys_in([key])}) if key else rows
    for word in words.split()[:MOST_WORDS]:
        rows = rows.filter(_says(word))
    return with_columns(rows), SORTS.get(sort, SORTS["number"])


def _says(word: str) -> Q:
    found = Q(quote__name__icontains=word) | Q(quote__party__name__icontains=word)
    found |= Q(quote__in=QuoteSite.objects.filter(site__name__icontains=word).values("quote"))
    digits = word.removeprefix("#")
    return found | Q(quote__number=int(digits)) if digits.isascii() and digits.isdigit() and len(digits) < 16 else found


def with_columns(rows: Offers) -> Offers:
    """`rows` (with their standing) with all that a list of quotes shows. No statement of their own."""
    return rows.with_sums().select_related("quote__party", "quote__owner").defer("said").annotate(**_columns())  # type: ignore[attr-defined]


@cache
def _columns() -> dict[str, Any]:
    work = Line.objects.filter(offer=OuterRef("pk"), kind="work")
    sites = QuoteSite.objects.filter(quote=OuterRef("quote")).order_by("site__sort", "site")
    accepted = Answer.objects.filter(offer=OuterRef("pk"), taken_back_at=None).order_by().values("offer")
    return {
        "lapses": Coalesce("valid_until", Value(NO_DATE)),
        "sent": Coalesce("sent_at", Value(NEVER)),
        "places": listed(sites, id="site_id", name="site__name"),
        "count": _number_of(work),
        "yes": _number_of(work.filter(answers__stands=True, answers__says="yes")),
        "no": _number_of(work.filter(answers__stands=True, answers__says="no")),
        "accepted": Subquery(accepted.annotate(n=Sum("to_pay")).values("n")),
        "asked": _number_of(Question.objects.filter(quote=OuterRef("quote"), open=True), by="quote"),
    }


def _number_of(rows: QuerySet[Any], by: str = "offer") -> Any:
    return Coalesce(Subquery(rows.order_by().values(by).annotate(n=Count("pk")).values("n")), 0)


def page_of_quotes(rows: Offers, order: tuple[str, ...], *, today: date, after: str = "", size: int = SIZE) -> Slice:
    """One page of `rows` as dicts of ready strings. One statement."""
    found = keyset(rows, order, after=after, size=size)
    return Slice([quote_row(offer, today) for offer in found.rows], found.next)


def quotes_of(user: User, site: Site, *, today: date) -> list[dict[str, Any]]:
    """The latest quotes that offer work at `site`, the newest first. One statement."""
    rows, order = found_quotes(user, today=today, state="", site=str(site.pk))
    with plan_kept():
        return page_of_quotes(rows, order, today=today, size=SHOWN).rows


def quote_row(offer: Any, today: date) -> dict[str, Any]:
    """An offer (read by `with_columns`) in the words of a list."""
    standing = Standing(offer.standing)
    waits = standing in STANDING_OPEN
    return {
        "key": str(offer.quote_id),
        "number": str(offer.quote.number),
        "version": str(offer.number),
        "address": address("quotes:quote", offer.quote_id),
        "name": offer.quote.name,
        "customer": offer.quote.party.name,
        "places": [(address("desk:site", place["id"]), place["name"]) for place in offer.places],
        "standing": standing.value,
        "state": STANDING_WORDS[standing],
        "answers": answers_words(offer),
        "asked": many(offer.asked, "question") + " open" if offer.asked else "",
        "age": _ago(offer, today) if standing != Standing.DRAFT else "",
        "until": _until(offer.valid_until, today) if waits or standing == Standing.DRAFT else "",
        "late": _lapsed(offer.valid_until, today) if standing == Standing.LAPSED else "",
        "to_pay": money(offer.to_pay),
        "net": money(offer.net),
        "owner": offer.quote.owner.name,
    }


def answers_words(offer: Any) -> str:
    """What was answered so far: "2 of 3 accepted, 1 refused"; "" before any answer."""
    if not (offer.yes or offer.no):
        return ""
    return joined(f"{offer.yes} of {offer.count} accepted", f"{offer.no} refused" if offer.no else "")


def _ago(offer: Any, today: date) -> str:
    days = days_since_sent(offer, today)
    return "sent today" if not days else f"sent {many(days or 0, 'day')} ago"


def days_since_sent(offer: Any, today: date) -> int | None:
    """Whole days of London since `offer` was sent; None before."""
    return (today - clock.local_day(offer.sent_at)).days if offer.sent_at else None


def _until(last: date | None, today: date) -> str:
    """The last day and how far it is: "Thu 26 Nov, 1 day left"."""
    if last is None:
        return ""
    left = (last - today).days
    return joined(near_day(last, today), f"{many(left, 'day')} left" if left > 0 else "" if left else "the last day")


def _lapsed(last: date, today: date) -> str:
    return f"lapsed {late(last, today).removesuffix(' late')} ago"


def cells_of_quotes(rows: Offers, order: tuple[str, ...], *, today: date) -> Iterator[tuple[Any, ...]]:
    """All of `rows` as cells for a file, in their order. One statement."""
    for offer in rows.order_by(*order):
        yield _cells(offer, today)


def _cells(offer: Any, today: date) -> tuple[Any, ...]:
    quote, standing = offer.quote, Standing(offer.standing)
    places = ", ".join(place["name"] for place in offer.places)
    accepted = offer.accepted.quantize(PENNY) if offer.accepted is not None else None
    sent = clock.local_day(offer.sent_at) if offer.sent_at else None
    left = (offer.valid_until - today).days if offer.valid_until and standing in (*STANDING_OPEN, "lapsed") else None
    return (
        quote.number, offer.number, STANDING_WORDS[standing], quote.party.name, places, quote.name,
        offer.net.quantize(PENNY), offer.to_pay.quantize(PENNY), accepted, offer.count, offer.yes, offer.no, offer.asked,
        sent, days_since_sent(offer, today), offer.valid_until, left, quote.owner.name,
    )  # fmt: skip
