"""Times offered, as the customer and the office see them."""

from datetime import datetime
from typing import Any

from django.db.models import Q

from jobsite import clock
from jobsite.addresses import address
from jobsite.firm.queries import the_firm
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party
from jobsite.words import day, span, when
from remedials.visits.models import Attendance, OccupierNote, OfferedTime, TimesOffer


def opened_by(link: PrivateLink) -> TimesOffer | None:
    """The offer that a link opens."""
    rows = TimesOffer.objects.filter(pk=link.thing, site=link.site) if link.thing else TimesOffer.objects.none()
    return rows.select_related("site", "unit", "party", "visit", "made_by").first()


def whom_to_ask(offer: TimesOffer) -> dict[str, str]:
    """Who is noted to be asked at the unit of `offer`, else whom it is offered to, and their e-mail address. Two statements."""
    note = OccupierNote.objects.filter(unit=offer.unit_id).first() if offer.unit_id else None
    if note is not None and note.email:
        return {"sent_to": note.contact, "email": note.email}
    party = Party.objects.filter(pk=offer.party_id or offer.site.customer_id).first()
    return {"sent_to": party.name, "email": party.email} if party else {}


def times_left(offer: TimesOffer, *, now: datetime) -> list[OfferedTime]:
    """The times that are to come and at which everybody who would go is still free. Two statements."""
    times = [time for time in offer.times.all() if time.start > now]
    if not times:
        return []
    clash = Q()
    for time in times:
        clash |= Q(start__lt=time.end, end__gt=time.start)
    busy = list(
        Attendance.objects.filter(clash, engineer__in=offer.engineers.values("pk"), cancelled=False).values_list(
            "start", "end"
        )
    )
    return [time for time in times if not any(start < time.end and end > time.start for start, end in busy)]


def customer_page(offer: TimesOffer, *, now: datetime) -> dict[str, Any]:
    """What the page behind the link says. Nothing about anybody else, no engineer's name, no code."""
    open_ = offer.state == "open" and clock.local_day(now) <= offer.answer_by
    left = times_left(offer, now=now) if open_ else []
    unit = "" if offer.unit is None or offer.unit.whole_site else f"{offer.unit.name}, "
    return {
        "place": f"{unit}{offer.site.one_line}",
        "open": open_,
        "until": day(offer.answer_by),
        "times": [{"id": str(time.pk), "words": span(time.start, time.end)} for time in left],
        "some_went": open_ and len(left) < offer.times.count(),
        "work": [remedial.work for remedial in offer.remedials.order_by("number")],
        "outage": offer.outage,
        "stands": _stands(offer, open_),
        "firm": the_firm(),
    }


def _stands(offer: TimesOffer, open_: bool) -> str:
    if offer.visit is not None and offer.visit.state == "booked":
        return f"We come {span(offer.visit.start, offer.visit.end)}. To change it, please ring us."
    if offer.visit is not None:
        return "The visit that you chose was cancelled: please ring us."
    if offer.state == "none-suits":
        return "You told us that none of the times suits. We are in touch."
    return "" if open_ else "These times are no longer open: please ring us."


def _going_out(offer: TimesOffer) -> list[str]:
    """E-mails with a link to `offer` that have not gone out: the link is made when they do. One statement."""
    rows = Message.objects.filter(reason_ref=offer.pk, filled_by="times-offered", link=None).order_by(
        "written_at", "pk"
    )
    return [f"{row.address}, e-mail {row.get_state_display()}" for row in rows]


def office_page(offer: TimesOffer, *, now: datetime) -> dict[str, Any]:
    """What the office sees of an offer. Seven statements."""
    left = {time.pk for time in times_left(offer, now=now)}
    links = PrivateLink.objects.filter(thing=offer.pk).order_by("made_at")
    return {
        "state": offer.get_state_display(),
        "open": offer.state == "open",
        "until": day(offer.answer_by),
        "despite": offer.despite,
        "times": [f"{span(t.start, t.end)}{'' if t.pk in left else ' (no longer free)'}" for t in offer.times.all()],
        "work": [{"number": r.number, "words": r.work, "address": address("desk:remedial", r.pk)} for r in offer.remedials.order_by("number")],
        "who": ", ".join(str(user) for user in offer.engineers.order_by("name", "pk")),
        "words": offer.words,
        "answered": when(offer.answered_at) if offer.answered_at else "",
        "visit": {"number": offer.visit.number, "address": address("visits:visit", offer.visit.pk)} if offer.visit else None,
        "links": [
            f"{link.sent_to}, made {when(link.made_at)}{', withdrawn' if link.withdrawn_at else f', opened {link.uses} times'}"
            for link in links
        ] + _going_out(offer),
    }  # fmt: skip
