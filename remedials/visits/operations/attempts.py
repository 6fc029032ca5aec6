"""Attempts to get in, each with how, when and what came of it: kept as they were made."""

from datetime import date, datetime, timedelta
from uuid import UUID

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.files import store_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation, record
from jobsite.ledger.photographs import clean_photograph
from jobsite.ledger.rows import locked, made_before
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.refused import NotAllowed, Refused
from remedials.visits.choices import AttemptHow
from remedials.visits.models import Attempt, Visit
from remedials.visits.operations.ground import iso, key_of, of_site, site_in_use
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import needed, person

NOT_YOURS = "Only the office and the engineers who see this site keep attempts."
AHEAD = timedelta(minutes=10)  # a phone's clock may be a little fast


@operation
def log_attempt(
    site: Site, *, id: UUID, how: str, at: datetime, whom: str, by: Actor, now: datetime, said: str = "",
    got_in: bool = False, unit: Unit | None = None, visit: Visit | None = None, photo: bytes | None = None,
    letter: StoredFile | None = None, next_on: date | None = None, reply: str = "", replied_on: date | None = None,
) -> Attempt:  # fmt: skip
    """Keep one attempt to get in, or to agree when: who was asked how and when, what they said.

    `photo`: the bytes of a photograph as uploaded. The same form again: its row. Raises NotAllowed, and Refused for a time
    to come, a reply without its day, somebody else's unit or visit, a picture that is none.
    """
    if not _may(by, site):
        raise NotAllowed(NOT_YOURS)
    site = site_in_use(site)
    of_site(unit, site)
    if visit is not None and visit.site_id != site.pk:
        raise Refused("This visit is not to this site.", field="visit")
    if made := made_before(Attempt, id, site_id=site.pk):
        return made
    if at > now + AHEAD:
        raise Refused("This time has not come yet: an attempt is kept once it was made.", field="at")
    whom = needed(whom, "Say who was asked, or whose door it was.", field="whom")
    reply, replied_on = _reply(reply, replied_on, at=at, now=now)
    row = Attempt.objects.create(
        id=id, site=site, unit=unit, visit=visit, how=AttemptHow(how), at=at, by=person(by), whom=whom, said=said.strip(),
        got_in=got_in, reply=reply, replied_on=replied_on, photo=_kept(photo, now), letter=letter, next_on=next_on,
        recorded_at=now,
    )  # fmt: skip
    facts = {"how": row.how, "at": at.isoformat(), "unit": key_of(unit), "visit": key_of(visit), "got_in": got_in}
    facts |= {"next_on": iso(next_on), "photo": row.photo_id, "letter": row.letter_id, "replied_on": iso(replied_on)}
    words = {"whom": whom, "said": row.said, "reply": reply}
    record(Verb.ATTEMPTED, site=site.pk, subject=row, by=by, now=now, facts=facts, words=words)
    return row


@operation
def note_reply(
    attempt: Attempt, *, reply: str, replied_on: date, by: Actor, now: datetime, next_on: date | None = None
) -> Attempt:
    """Keep what they replied to `attempt`, once, and when to try again (None: nothing more is needed).

    The same again: nothing more happens. Raises NotAllowed, and Refused where another reply is kept already.
    """
    if not _may(by, attempt.site):
        raise NotAllowed(NOT_YOURS)
    site_in_use(attempt.site)
    attempt = locked(attempt)
    reply, day = _reply(needed(reply, "Say what they replied.", field="reply"), replied_on, at=attempt.at, now=now)
    if attempt.reply:
        if (attempt.reply, attempt.replied_on) == (reply, day):
            return attempt
        raise Refused("A reply is kept already: log what came after it as an attempt of its own.", field="reply")
    attempt.reply, attempt.replied_on, attempt.next_on = reply, day, next_on
    attempt.save(update_fields=["reply", "replied_on", "next_on"])
    facts = {"replied_on": iso(day), "next_on": iso(next_on)}
    record(Verb.REPLIED, site=attempt.site_id, subject=attempt, by=by, now=now, facts=facts, words={"reply": reply})
    return attempt


def _may(by: Actor, site: Site) -> bool:
    """The office anywhere; an engineer where they see the site."""
    if by.may(Right.BOOK):
        return True
    return by.may(Right.DO_WORK) and Site.objects.visible_to(person(by)).filter(pk=site.pk).exists()


def _reply(reply: str, on: date | None, *, at: datetime, now: datetime) -> tuple[str, date | None]:
    """A reply and its day: both or neither, not before the attempt, not after today."""
    if not (reply := reply.strip()):
        return "", None
    on = on or clock.local_day(now)
    if on > clock.local_day(now):
        raise Refused("This day has not come yet.", field="replied_on")
    if on < clock.local_day(at):
        raise Refused("The reply cannot be earlier than the attempt.", field="replied_on")
    return reply, on


def _kept(photo: bytes | None, now: datetime) -> StoredFile | None:
    if not photo:
        return None
    clean = clean_photograph(photo)
    return store_file(clean.data, media_type="image/jpeg", now=now, received=photo)
