"""Times offered to a customer: offered, chosen on the private link, none of them suits, withdrawn.

A time is offered only while nothing speaks against it, and looked at again when it is chosen: nothing is held meanwhile.
"""

from collections.abc import Iterable
from datetime import date, datetime
from uuid import UUID

from django.conf import settings
from django.urls import reverse

from jobsite import clock
from jobsite.ids import part_of
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.people.models import PrivateLink, User
from jobsite.people.operations.links import withdraw_link
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site, Unit
from jobsite.refused import NotAllowed, Refused
from jobsite.words import day, span
from remedials.visits.choices import Answered, AskedHow
from remedials.visits.models import Confirmation, OfferedTime, TimesOffer, Visit
from remedials.visits.operations.booking import Clash, book_visit, must_do_work
from remedials.visits.operations.ground import key_of, of_site, office, site_in_use
from remedials.visits.queries.checks import findings
from remedials.visits.rules.checks import Finding, Severity
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations.ground import needed, person

MOST = 12
GONE = "This time is no longer free. Please choose another one, or say that none suits."
NOT_THEN = "We cannot come at this time after all. Please choose another one, or ring us."
OVER = "These times are no longer open: please ring us."
NOT_YOURS = "This link does not choose a time here."


@operation
def offer_times(
    site: Site, *, id: UUID, remedials: Iterable[Remedial], engineers: Iterable[User],
    times: Iterable[tuple[datetime, datetime]], answer_by: date, by: Actor, now: datetime, unit: Unit | None = None,
    party: Party | None = None, access: str = "", outage: str = "", despite: str = "",
) -> TimesOffer:  # fmt: skip
    """Offer `times` (start and end, as instants) for one visit of `engineers` for `remedials`, to be answered by `answer_by`.

    Nothing is held. A time of which a booking would only be warned is offered where `despite` says why. The same form again:
    its row. Raises NotAllowed, and Refused for work of another site, for who is no engineer now, for a time that is past, or at which nobody
    could be booked.
    """
    office(by)
    site = site_in_use(site)
    of_site(unit, site)
    if made := made_before(TimesOffer, id, site_id=site.pk):
        return made
    work, going, spans = list(remedials), list(engineers), sorted(set(times))
    _sensible(site, work, going, spans, answer_by, now)
    for start, end in spans:
        found = findings(site=site, remedials=work, engineers=going, start=start, end=end, now=now)
        _may_be_offered(found, span(start, end), despite)
    row = TimesOffer.objects.create(
        id=id, site=site, unit=unit, party=party or site.customer, access=access.strip(), outage=outage.strip(),
        despite=despite.strip(), answer_by=answer_by, made_by=person(by), made_at=now,
    )  # fmt: skip
    row.remedials.set(work)
    row.engineers.set(going)
    OfferedTime.objects.bulk_create(OfferedTime(offer=row, start=start, end=end) for start, end in spans)
    facts = {
        "times": [[start.isoformat(), end.isoformat()] for start, end in spans],
        "remedials": sorted(str(one.pk) for one in work),
        "engineers": sorted(str(one.pk) for one in going),
        "unit": key_of(unit),
        "answer_by": answer_by.isoformat(),
    }
    words = {"despite": row.despite} if row.despite else None
    record(Verb.TIMES_OFFERED, site=site.pk, subject=row, by=by, now=now, facts=facts, words=words)
    return row


def _may_be_offered(found: list[Finding], when: str, despite: str) -> None:
    if refused := [one.sentence for one in found if one.severity == Severity.REFUSE]:
        raise Refused(f"{when} cannot be offered: {' '.join(refused)}", field="times")
    if found and not despite.strip():
        said = " ".join(one.sentence for one in found)
        raise Refused(f"{when}: {said} To offer it all the same, say why.", field="despite")


def _sensible(
    site: Site, work: list[Remedial], going: list[User], spans: list[tuple[datetime, datetime]], answer_by: date,
    now: datetime,
) -> None:  # fmt: skip
    if not work or any(one.stage != "approved" for one in work):
        raise Refused("Choose approved remedials that are not booked.", field="remedials")
    if any(one.site_id != site.pk for one in work):  # the customer's link shows what it is about
        raise Refused("This remedial is not of this site.", field="remedials")
    if not going:
        raise Refused("Choose who goes.", field="engineers")
    must_do_work(going)
    if not 1 <= len(spans) <= MOST:
        raise Refused(f"Offer at least one time and at most {MOST}.", field="times")
    if any(end <= start for start, end in spans):
        raise Refused("Each time must end after it begins.", field="times")
    if len({start for start, _ in spans}) < len(spans):
        raise Refused("Two of the times begin together: offer each beginning once.", field="times")
    if answer_by < clock.local_day(now):
        raise Refused("This day is past: choose today or a later day.", field="answer_by")
    if any(clock.local_day(start) < answer_by or start <= now for start, _ in spans):
        raise Refused("Every time must lie after the day of the answer.", field="times")


@operation
def choose_time(
    offer: TimesOffer, time: OfferedTime, *, link: PrivateLink, name: str, words: str, now: datetime
) -> Visit:
    """The customer behind `link` chooses `time`: the visit is booked, in the name of who offered it, and is confirmed.

    Chosen already: its visit. Raises NotAllowed for another link, and Refused for a time that went meanwhile, an offer that
    is answered, withdrawn or past, and where who offered it may no longer book.
    """
    site = site_in_use(offer.site)
    offer = _opened(offer, link, now)
    if time.offer_id != offer.pk:
        raise NotAllowed(NOT_YOURS)
    if offer.visit is not None:
        if (offer.visit.start, offer.visit.end) == (time.start, time.end):
            return offer.visit
        raise Refused("A time was chosen already. To change it, please ring us.")
    _must_be_open(offer, now)
    name = needed(name, "Write your name.", field="name")
    if time.start <= now:
        raise Refused(GONE, field="time")
    warned = _warned(offer, time, site, now)
    visit = _book(offer, time, site, now)
    Visit.objects.filter(pk=visit.pk).update(answered=Answered.CONFIRMED)
    visit.answered = Answered.CONFIRMED
    Confirmation.objects.create(
        visit=visit,
        answered=Answered.CONFIRMED,
        how=AskedHow.LINK,
        whom=name,
        words=words.strip(),
        start=visit.start,
        at=now,
    )
    _answer(offer, "chosen", words, now, visit=visit)
    facts = {"visit": str(visit.pk), "start": time.start.isoformat(), "end": time.end.isoformat()}
    told = {"name": name, "words": offer.words}
    record(Verb.TIME_CHOSEN, site=site.pk, subject=offer, by=link, now=now, facts=facts, words=told)
    said = f"{name} chose {span(time.start, time.end)}: visit {visit.number} is booked and confirmed.{warned}"
    _tell_office(offer, said, now)
    return visit


def _warned(offer: TimesOffer, time: OfferedTime, site: Site, now: datetime) -> str:
    """What a booking at `time` is warned of now, for the office: its reason was given when the times were offered."""
    if not offer.despite:
        return ""
    work, going = list(offer.remedials.all()), list(offer.engineers.order_by("pk"))
    found = findings(site=site, remedials=work, engineers=going, start=time.start, end=time.end, now=now)
    return f" Booked all the same, though: {' '.join(one.sentence for one in found)}" if found else ""


def _book(offer: TimesOffer, time: OfferedTime, site: Site, now: datetime) -> Visit:
    """Book it as its maker would. What speaks against it is the firm's matter; the customer reads whether this time went,
    whether we cannot come then, or whether there is nothing left to choose.
    """
    work = list(offer.remedials.all())
    if any(remedial.stage != "approved" for remedial in work):
        raise Refused(OVER)
    try:
        return book_visit(
            site, id=part_of(offer.pk, "visit"), remedials=work, engineers=list(offer.engineers.order_by("pk")),
            start=time.start, end=time.end, access=offer.access, outage=offer.outage, despite=offer.despite,
            by=offer.made_by, now=now,
        )  # fmt: skip
    except NotAllowed as error:
        raise Refused(OVER) from error
    except Clash as error:
        raise Refused(GONE, field="time") from error
    except Refused as error:
        raise Refused(NOT_THEN, field="time") from error


@operation
def none_suits(offer: TimesOffer, *, link: PrivateLink, name: str, words: str, now: datetime) -> TimesOffer:
    """The customer says that no time suits, and why. The same again: nothing more happens. Raises NotAllowed, Refused."""
    site = site_in_use(offer.site)
    offer = _opened(offer, link, now)
    words = needed(words, "Say why, or when would suit.", field="words")
    name = needed(name, "Write your name.", field="name")
    if (offer.state, offer.words) == ("none-suits", words):
        return offer
    _must_be_open(offer, now)
    _answer(offer, "none-suits", words, now)
    record(Verb.NONE_SUITS, site=site.pk, subject=offer, by=link, now=now, words={"name": name, "words": words})
    _tell_office(offer, f"{name}: none of the times suits. {words}", now)
    return offer


@operation
def withdraw_times(offer: TimesOffer, *, by: Actor, now: datetime) -> TimesOffer:
    """Nothing can be chosen any more, and its links end. Withdrawn already: nothing more happens. Raises NotAllowed, Refused."""
    office(by)
    site = site_in_use(offer.site)
    offer = locked(offer)
    if offer.state == "withdrawn":
        return offer
    if offer.state != "open":
        raise Refused("This was answered already.")
    offer.state, offer.version = "withdrawn", offer.version + 1
    offer.save(update_fields=["state", "version"])
    record(Verb.TIMES_WITHDRAWN, site=site.pk, subject=offer, by=by, now=now)
    for link in PrivateLink.objects.filter(thing=offer.pk, withdrawn_at=None).order_by("pk"):
        withdraw_link(link, by=by, now=now)
    return offer


def _opened(offer: TimesOffer, link: PrivateLink, now: datetime) -> TimesOffer:
    """The offer as it is now, locked. Raises NotAllowed where `link` is not one to it, or opens nothing any more."""
    mine = PrivateLink.objects.select_for_update().filter(
        pk=link.pk, purpose=PrivateLink.Purpose.TIMES, thing=offer.pk, withdrawn_at=None, expires_at__gt=now
    )
    if not mine.exists():
        raise NotAllowed(NOT_YOURS)
    return locked(offer)


def _must_be_open(offer: TimesOffer, now: datetime) -> None:
    if offer.state == "none-suits":
        raise Refused("You told us that none suits: we are in touch. To choose one after all, please ring us.")
    if offer.state != "open" or clock.local_day(now) > offer.answer_by:
        raise Refused(OVER)


def _answer(offer: TimesOffer, state: str, words: str, now: datetime, *, visit: Visit | None = None) -> None:
    offer.state, offer.words, offer.answered_at, offer.visit = state, words.strip(), now, visit
    offer.version += 1
    offer.save(update_fields=["state", "words", "answered_at", "visit", "version"])


def _tell_office(offer: TimesOffer, said: str, now: datetime) -> None:
    """Who offered the times; everybody who books, where they have left."""
    maker = offer.made_by
    to = [maker] if maker.is_active and maker.may(Right.BOOK) else User.objects.filter(is_active=True).order_by("pk")
    where = f"{settings.SITE_ADDRESS}{reverse('visits:times_offer', args=[offer.pk])}"
    body = f"{offer.site.name}, times offered {day(clock.local_day(offer.made_at))}.\n\n{said}\n\n{where}\n"
    write_messages(
        Message(
            occasion=f"times:{offer.pk}:{offer.version}:{user.pk}", to_kind=Message.To.STAFF, to_id=user.pk,
            address=user.email, subject=f"Answer to the times offered: {offer.site.name}", body=body, site=offer.site_id,
            written_at=now, next_try_at=now, why="Whoever offered times hears how they were answered.",
        )
        for user in to if user.may(Right.BOOK)
    )  # fmt: skip
