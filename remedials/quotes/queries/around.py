"""What pages of works and observations say of quotes: in which one something is offered, and what was answered."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Exists, FilteredRelation, OuterRef, Q

from inspections.standards.consumers import CANCEL_DAYS
from jobsite import clock
from jobsite.addresses import address
from jobsite.columns import listed
from jobsite.words import day, joined, money
from remedials.quotes.choices import AnsweredHow, Says, WhyNot
from remedials.quotes.models import Costing, Line, LineRemedial
from remedials.quotes.states import State


def lines_column(*, sums: bool = False, **of: Any) -> Any:
    """The lines that offer remedials, as `of` names them, newest quote first, each by the last version that had it.

    A draft stands there besides. With `sums` what they cost.
    """
    later = Line.objects.filter(
        offer__quote=OuterRef("line__offer__quote"), key=OuterRef("line__key"),
        offer__number__gt=OuterRef("line__offer__number"),
    ).exclude(offer__state=State.DRAFT.value)  # fmt: skip
    stands = FilteredRelation("line__answers", condition=Q(line__answers__stands=True))
    rows = LineRemedial.objects.filter(**of).filter(~Exists(later)).annotate(said=stands)
    price = {"price": "line__price", "vat": "line__vat", "reverse": "line__offer__reverse_charge"} if sums else {}
    return listed(
        rows.order_by("-line__offer__quote__number", "-line__offer__number", "line__position")[:MOST],
        quote="line__offer__quote_id", number="line__offer__quote__number", version="line__offer__number",
        state="line__offer__state", until="line__offer__valid_until", sent="line__offer__sent_at", words="line__words",
        **ANSWER, **price,
    )  # fmt: skip


MOST = 12
ANSWER = {
    "says": "said__says",
    "why": "said__why_not",
    "given_at": "said__answer__given_at",
    "who": "said__answer__name",
    "how": "said__answer__how",
    "order": "said__answer__order_number",
    "begin": "said__answer__begin_at_once",
    "consumer": "line__offer__consumer",
}


def offered_words(row: Mapping[str, Any], today: date) -> dict[str, str]:
    """One line of `lines_column` in words: the quote and its page, how it stands, and its sums where they were read."""
    return {
        "quote": f"Quote {row['number']}, version {row['version']}",
        "href": address("quotes:quote", row["quote"]),
        "words": row["words"],
        "state": _state(row, today),
        "sums": _sums(row),
        "order": f"order number {row['order']}" if row.get("order") else "",
        "caution": _not_yet(row, today),
    }


def _not_yet(row: Mapping[str, Any], today: date) -> str:
    """What is said where a consumer accepted and did not ask that work begins while the contract may be cancelled."""
    if row["says"] != Says.YES or not row["consumer"] or row["begin"]:
        return ""
    last = clock.local_day(datetime.fromisoformat(row["given_at"])) + timedelta(days=CANCEL_DAYS.value)
    if today > last:
        return ""
    return (
        f"They have not asked that work begins at once. Where the right to cancel applies it runs until {day(last)}: ask "
        "them before work is booked for a day up to then. Your adviser settles whether it applies."
    )


def _state(row: Mapping[str, Any], today: date) -> str:
    if row["says"]:
        return _answer(row)
    if row["state"] == State.DRAFT:
        return "in a draft, not sent"
    if row["state"] == State.SENT:
        until = date.fromisoformat(row["until"])
        if until < today:
            return f"lapsed on {day(until)} without an answer"
        return f"with the customer since {_on(row['sent'])}, valid until {day(until)}"
    return "withdrawn before an answer" if row["state"] == State.WITHDRAWN else "not offered any more"


def _answer(row: Mapping[str, Any]) -> str:
    how = AnsweredHow(row["how"]).label
    if row["says"] == Says.NOT_CHOSEN:
        return f"another was chosen instead, {_on(row['given_at'])}"
    said = "accepted" if row["says"] == Says.YES else "refused"
    why = WhyNot(row["why"]).label if row["why"] else ""
    return joined(f"{said} {_on(row['given_at'])} by {row['who']}, {how}", why, by=": ")


def _on(at: str) -> str:
    return day(clock.local_day(datetime.fromisoformat(at)))


def _sums(row: Mapping[str, Any]) -> str:
    if "price" not in row:
        return ""
    price, vat = (Decimal(str(row[name])).quantize(Decimal("0.01")) for name in ("price", "vat"))
    to_pay = price if row["reverse"] else price + vat
    return f"{money(price)} net, {money(to_pay)} to pay"


def price_words(costing: Costing | None) -> list[tuple[str, str]]:
    """What a remedial costs and is priced at, for those who may see prices; empty before it was priced."""
    if costing is None:
        return []
    margin = costing.price - costing.cost
    percent = f" ({(100 * margin / costing.price).quantize(Decimal(1))} %)" if costing.price else ""
    by_hand = f"set by hand: {costing.set_why}" if costing.set_price is not None else "worked out"
    facts = [
        ("Price, net", joined(money(costing.price), by_hand)),
        ("Cost", money(costing.cost)),
        ("Margin", f"{money(margin)}{percent}"),
        ("Call-out", "" if costing.call_out else "none is charged for it"),
        ("Priced by", f"{costing.priced_by}, {day(clock.local_day(costing.priced_at))}"),
    ]
    return [(name, text) for name, text in facts if text]
