"""Small helpers for tests of lists and figures of quotes: answers written straight, without the page that gives them."""

from datetime import datetime, timedelta
from decimal import Decimal

from remedials.quotes.models import Answer, LineAnswer, Offer
from tests.factories import NOON, anybody, make_line, make_observation, make_remedial, make_sent_offer

DAYS = timedelta(days=1)


def remedial_at(site, code: str = "C2", **fields):
    """A remedial for a new observation at `site`."""
    return make_remedial(make_observation(site, code=code), **fields)


def sent(*remedials, days_ago: int = 3, **fields) -> Offer:
    """An offer that was sent so many days before NOON (or `at`)."""
    return make_sent_offer(*remedials, at=fields.pop("at", NOON - days_ago * DAYS), **fields)


def answered(offer, *, yes=(), no=(), not_chosen=(), at: datetime = NOON, why: str = "price", **fields) -> Answer:
    """That somebody said yes and no to these lines of `offer`; with every line answered, the offer is answered."""
    reverse = offer.reverse_charge
    net, vat = sum((line.price for line in yes), Decimal(0)), sum((line.vat for line in yes), Decimal(0))
    usual = {"party": offer.quote.party, "name": "Petra Landlady", "how": "phone", "given_at": at, "recorded_at": at}
    usual |= {"recorded_by": anybody("office"), "fingerprint": offer.fingerprint, "net": net}
    usual |= {"vat": vat, "to_pay": net if reverse else net + vat}
    answer = Answer.objects.create(offer=offer, **usual | fields)
    for says, lines in (("yes", yes), ("no", no), ("not-chosen", not_chosen)):
        for line in lines:
            reason = why if says == "no" else ""
            LineAnswer.objects.create(answer=answer, line=line, says=says, why_not=reason)
    left = offer.lines.filter(kind="work").exclude(answers__stands=True)
    if not left.exists():
        Offer.objects.filter(pk=offer.pk).update(state="answered")
    return answer


def next_version(offer, *keep, at: datetime | None = None, state: str = "sent", besides: str = "") -> Offer:
    """The next version of the quote of `offer`, with the lines `keep` of it again, sent at `at`; `offer` is superseded.

    `besides`: the price of a new line, in pounds.
    """
    at = at or NOON
    if state == "sent" and offer.state == "sent":
        Offer.objects.filter(pk=offer.pk).update(state="superseded", ended_at=at)
    same = ("consumer", "reverse_charge", "valid_until", "made_by", "made_at", "customer_vat_number")
    more = {"cis_reportable": offer.cis_reportable, "end_user": offer.end_user, "vat_registered": offer.vat_registered}
    later = Offer.objects.create(
        quote=offer.quote, number=offer.number + 1, **{name: getattr(offer, name) for name in same} | more
    )
    for line in keep:
        fields = ("key", "position", "words", "code", "price", "vat", "cost", "rate", "either", "optional")
        make_line(later, *line.remedials.all(), **{name: getattr(line, name) for name in fields})
    if besides:
        make_line(later, words="Besides", price=Decimal(besides), position=99)
    if state == "sent":
        later.state, later.sent_at, later.sent_by, later.sent_how = "sent", at, later.made_by, "email"
        later.fingerprint, later.file = f"{offer.fingerprint}-{later.number}", offer.file
        later.save()
    return later
