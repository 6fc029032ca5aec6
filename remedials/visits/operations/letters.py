"""Letters that ask to be let in: made, kept byte for byte, and logged as an attempt, in one go."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import UUID

from jobsite import clock
from jobsite.documents import PDF, Made, make_document
from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import About
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import Document
from jobsite.ledger.operations import operation
from jobsite.ledger.operations_documents import keep_document
from jobsite.ledger.rows import made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, as_written, write_messages
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused
from jobsite.words import day
from remedials.visits.choices import AttemptHow
from remedials.visits.models import Attempt
from remedials.visits.operations.attempts import log_attempt
from remedials.visits.operations.ground import of_site, office, site_in_use
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.letters import MEANS, TITLES, Asked, answer, before, dangerous, ending, paragraphs
from remedials.works.models import Remedial
from remedials.works.operations.ground import needed
from remedials.works.queries.lists import observations_by_remedial

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "letter.typ"
FILLED_BY = "access-letter"
PRINTED = "attempts"  # the kind of document that the attempts are as they were printed
SENT = {"email": "sent by e-mail", "post": "posted", "hand": "handed in"}


def keep_evidence(made: Made, site: Site, unit: Unit | None, *, by: Actor, now: datetime) -> Document:
    """The attempts as they were printed, kept so that whoever is shown them can have them checked. Raises NotAllowed."""
    office(by)
    return keep_document(
        About(PRINTED, made.fingerprint, site=site.pk, unit=unit.pk if unit else None), made.pdf, id=new_id(),
        title=f"Attempts to get in: {site.name}", name="attempts-to-get-in.pdf", media_type=PDF,
        fingerprint=made.fingerprint, by=by, now=now,
    )  # fmt: skip


@operation
def write_letter(
    site: Site, *, id: UUID, which: str, to: str, to_address: str, answer_by: date, sent: str, by: Actor, now: datetime,
    unit: Unit | None = None, remedials: Iterable[Remedial] = (), times: Iterable[str] = (), email: str = "",
) -> Attempt:  # fmt: skip
    """Write the letter `which` (a letter of AttemptHow) to `to`, keep the file, log it as an attempt, and e-mail it where
    `sent` is "email" ("post", "hand": a person does that).

    The next is due the firm's `letter_days` later, none after the last. The same form again: its attempt.
    Raises NotAllowed, and Refused for a second letter without a first, and for work of another site.
    """
    office(by)
    site = site_in_use(site)
    of_site(unit, site)
    if made := made_before(Attempt, id, site_id=site.pk):
        return made
    to = needed(to, "Say to whom the letter goes.", field="to")
    if sent == "email" and not email:
        raise Refused("There is no e-mail address: enter one, or post the letter.", field="email")
    today = clock.local_day(now)
    if answer_by <= today:
        raise Refused("Choose a day that leaves them time to answer.", field="answer_by")
    work, offered = list(remedials), [line.strip() for line in times if line.strip()]
    if any(remedial.site_id != site.pk for remedial in work):
        raise Refused("This remedial is not of this site.", field="remedials")
    earlier = _earlier(site, unit, which)
    asked, facts = _facts(site, unit, which, to, to_address, work, offered, earlier, answer_by, today)
    document = make_document(
        TEMPLATE, facts, title=TITLES[which], about=f"{TITLES[which]}: {asked.place}", firm=asked.firm, now=now
    )
    file = store_file(document.pdf, media_type=PDF, now=now)
    next_on = None if which == AttemptHow.FINAL_LETTER else today + timedelta(days=diary_terms(today).letter_days)
    said = "; ".join([f"{TITLES[which]}, {SENT[sent]}", f"answer asked for by {day(answer_by)}", *offered])
    attempt = log_attempt(
        site, id=id, how=which, at=now, whom=to, said=said, unit=unit, letter=file, next_on=next_on, by=by, now=now
    )
    keep_document(
        About("access-letter", site=site.pk, unit=unit.pk if unit else None, subject=attempt.pk), document.pdf,
        id=new_id(), title=f"{TITLES[which]}: {asked.place}", name="letter.pdf", media_type=PDF,
        fingerprint=document.fingerprint, by=by, now=now,
    )  # fmt: skip
    if sent == "email":
        write_messages([_message(attempt, email, asked, now)])
    return attempt


def _earlier(site: Site, unit: Unit | None, which: str) -> list[Attempt]:
    """The letters before `which`. Raises Refused where the one that it follows was never written."""
    rows = list(Attempt.objects.filter(site=site, unit=unit, letter__isnull=False).order_by("at"))
    wanted = before(which)
    if wanted and wanted not in {row.how for row in rows}:
        raise Refused(f"Write the {AttemptHow(wanted).label} first: none is on record.", field="which")
    return rows


def _facts(
    site: Site, unit: Unit | None, which: str, to: str, to_address: str, work: list[Remedial], times: list[str],
    earlier: list[Attempt], answer_by: date, today: date,
) -> tuple[Asked, dict[str, object]]:  # fmt: skip
    firm = the_firm()
    items = [item for rows in observations_by_remedial(work).values() for item in rows]
    name = "" if unit is None or unit.whole_site else f"{unit.name}, "
    asked = Asked(
        which=which, place=f"{name}{site.one_line}", firm=firm.name, phone=firm.phone, codes=[o.code for o in items],
        before=list(dict.fromkeys(day(clock.local_day(row.at)) for row in earlier)), answer_by=day(answer_by),
    )  # fmt: skip
    rows = [[MEANS.get(o.code, ""), o.text] for o in items] or [["", remedial.work] for remedial in work]
    return asked, {
        "firm": [firm.name, *firm.address.splitlines(), firm.phone, firm.email],
        "to": [to, *[line.strip() for line in to_address.splitlines() if line.strip()]],
        "on": day(today),
        "greeting": f"Dear {to},",
        "paragraphs": paragraphs(asked),
        "work": rows,
        "danger": dangerous(asked.codes),
        "times": times,
        "answer": answer(asked, times=bool(times)),
        "ending": ending(asked),
        "signed": firm.name,
    }


def _message(attempt: Attempt, email: str, asked: Asked, now: datetime) -> Message:
    body = (
        f"Dear {attempt.whom},\n\nA letter about getting in to {asked.place} is attached.\n\n{answer(asked, times=False)}\n\n"
        f"{asked.firm}\n"
    )
    return Message(
        occasion=f"letter:{attempt.pk}", to_kind=Message.To.CUSTOMER, to_id=attempt.pk, address=email,
        subject=TITLES[attempt.how], body=body, site=attempt.site_id, filled_by=FILLED_BY, attachment=f"{attempt.how}.pdf",
        reason_ref=attempt.pk, written_at=now, next_try_at=now, why="A letter that asks to be let in was sent by e-mail.",
    )  # fmt: skip


def complete(message: Message) -> Complete:
    """A letter's message with the letter as it was kept."""
    attempt = (
        Attempt.objects.select_related("letter").filter(pk=message.reason_ref).first() if message.reason_ref else None
    )
    if attempt is None or attempt.letter is None:
        return as_written(message)
    return Complete(message.body, ((message.attachment, read_file(attempt.letter), attempt.letter.media_type),))
