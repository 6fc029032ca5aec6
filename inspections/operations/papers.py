"""What becomes of a paper: asked for in writing, its document made, sent, handed over, refused, taken back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.choices import AskedBy, InspectionState, PaperAnswer, SupplyCame, SupplyHow
from inspections.models import Inspection, Paper, PaperDocument, PaperRequest, PaperSupply
from inspections.operations import ground
from inspections.operations.keeping import requests_papers
from inspections.queries.documents import document_of, file_name_of, goes_with
from inspections.queries.mailing import REASON, subject_and_body
from inspections.queries.papers import candidates
from inspections.verbs import Verb
from jobsite import clock
from jobsite.documents import PDF
from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation, record
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, as_written, write_messages
from jobsite.messages.queries import first_of, sent_last
from jobsite.people.models import User
from jobsite.premises.models import Party, Unit
from jobsite.refused import Refused

FILLED_BY = "paper"
NOT_YOURS = "Your rights do not cover papers that the law asks for."
GONE = "This paper was given and is owed anew: see the one that took its place."


@dataclass(frozen=True)
class Recipient:
    """Whom a paper goes to: a name, and the party where it is one on record; `email` where it is sent there."""

    name: str
    party: Party | None = None
    email: str = ""


@operation
def record_request(
    inspection: Inspection,
    unit: Unit,
    *,
    id: UUID,
    asked_by: str,
    who: str,
    asked_on: date,
    by: User,
    now: datetime,
    how: str = "",
) -> PaperRequest:
    """Record that the local authority, or somebody who may become the tenant, asked in writing for a copy of the report.

    What the law of the nation asks then stands as a paper, counted from the day on which they asked; where it asks for
    nothing the request is on record all the same. Raises Refused for a report that is not in force, a unit that it does not
    cover and a day that cannot be.
    """
    ground.must(policy.may_keep_papers(by), NOT_YOURS)
    site = ground.locked_site(inspection.site)
    if made := ground.made_before(PaperRequest, id, inspection_id=inspection.pk):
        return made
    inspection = ground.locked(inspection)
    if inspection.state != InspectionState.ISSUED:
        raise Refused("This report is not in force: record it with the one that is.")
    if not inspection.units.filter(pk=unit.pk).exists():
        raise Refused("The report does not cover this unit.", field="unit")
    if asked_by not in AskedBy.values:
        raise Refused("Say who asked.", field="asked_by")
    who = ground.said(who, "Say who asked: which authority, which person.", "who")
    if asked_on > clock.local_day(now):
        raise Refused("That day is still to come.", field="asked_on")
    if asked_on < inspection.inspected_on:
        raise Refused("They asked before the inspection was done: it was another report then.", field="asked_on")
    request = PaperRequest(id=id, site=site, unit=unit, inspection=inspection, asked_by=asked_by, who=who)
    request.asked_on, request.how, request.recorded_by, request.recorded_at = asked_on, how.strip(), by, now
    request.save(force_insert=True)
    facts = {"inspection": str(inspection.pk), "unit": str(unit.pk), "asked_by": asked_by}
    facts |= {"asked_on": asked_on.isoformat()}
    words = {"who": who, "how": request.how}
    record(Verb.PAPER_REQUESTED, site=site.pk, subject=request, by=by, now=now, facts=facts, words=words)
    requests_papers(request, by=by, now=now)
    return request


@operation
def make_paper_document(paper: Paper, *, id: UUID, by: User, now: datetime) -> PaperDocument:
    """Make the document of a paper and keep it byte for byte: a covering letter, a confirmation, a notification sheet.

    The same form again, and the same facts at the same instant: the one that is there. Raises Refused where the paper has
    no document, was superseded, or what it would confirm is not so any more.
    """
    ground.must(policy.may_keep_papers(by), NOT_YOURS)
    if made := ground.made_before(PaperDocument, id, paper_id=paper.pk):
        return made
    if paper.superseded_at:
        raise Refused(GONE)
    made_of = document_of(paper, now=now)
    file = store_file(made_of.pdf, media_type=PDF, now=now)
    ground.held_site(paper.site)
    paper = ground.locked(paper)
    if made := PaperDocument.objects.filter(paper=paper, file=file).first():
        return made
    document = PaperDocument(id=id, paper=paper, file=file, name=file_name_of(paper), made_by=by, made_at=now)
    document.save(force_insert=True)
    facts = {"document": str(id), "file": file.hash}
    record(Verb.PAPER_MADE, site=paper.site_id, subject=paper, by=by, now=now, facts=facts)
    return document


@operation
def mail_paper(paper: Paper, *, id: UUID, to: Sequence[Recipient], by: User, now: datetime) -> list[PaperSupply]:
    """Send the paper by e-mail to each of `to`, with its document and the report where that is kept.

    What is sent was not given yet: each is noted as e-mailed, with the message whose outcome is shown, and the paper stays
    open until a person records that it reached them. The same form again: nothing more is sent. Raises Refused without an
    address, and as `make_paper_document` does.
    """
    ground.must(policy.may_keep_papers(by), NOT_YOURS)
    if made := list(PaperSupply.objects.filter(form=id, paper=paper)):
        return made
    if not to:
        raise Refused("Choose to whom it goes, or write an address.", field="to")
    for one in to:
        if not one.email:
            raise Refused(f"There is no e-mail address for {one.name}.", field="to")
    document = make_paper_document(paper, id=new_id(), by=by, now=now)
    ground.locked_site(paper.site)
    paper = ground.locked(paper)
    if paper.superseded_at:
        raise Refused(GONE)
    more = goes_with(paper)
    rows, messages = [], []
    for one in to:
        subject, body = subject_and_body(paper, one.name, one.party, with_file=more is not None)
        message = Message(
            occasion=f"paper:{id}:{one.email}", to_kind=Message.To.CUSTOMER, to_id=one.party.pk if one.party else paper.pk,
            address=one.email, subject=subject, body=body, reminder=False, why=paper.basis, site=paper.site_id,
            filled_by=FILLED_BY, attachment=document.name, reason_kind=REASON, reason_ref=document.pk, written_at=now, next_try_at=now,
        )  # fmt: skip
        messages.append(message)
        rows.append(PaperSupply(
            paper=paper, form=id, to=one.name, party=one.party, came=SupplyCame.EMAILED, how=SupplyHow.EMAIL,
            on=clock.local_day(now), document=document, file=more[0] if more else None,
            file_name=more[1] if more else "", message=message.pk, recorded_by=by, recorded_at=now,
        ))  # fmt: skip
    write_messages(messages)
    _keep(rows)
    facts: dict[str, Any] = {"messages": [str(m.pk) for m in messages], "document": str(document.pk)}
    facts |= {"file": more[0].hash if more else None}
    record(Verb.PAPER_MAILED, site=paper.site_id, subject=paper, by=by, now=now, facts=facts)
    return rows


def complete(message: Message) -> Complete:
    """The message of a paper with its document, and the report that goes with it, as they were when it was written."""
    document = PaperDocument.objects.select_related("file").filter(pk=message.reason_ref).first()  # type: ignore[misc]
    if document is None:
        return as_written(message)
    files = [(document.name, read_file(document.file), PDF)]
    row = PaperSupply.objects.filter(message=first_of(message)).select_related("file").first()
    if row and row.file:
        files.append((row.file_name, read_file(row.file), row.file.media_type))
    return Complete(message.body, tuple(files))


def still_stands(message: Message) -> bool:
    """Whether the paper is still to be had as it is: not owed anew, not lapsed since the message was written."""
    rows = PaperSupply.objects.filter(message=first_of(message), taken_back_at=None, paper__superseded_at=None)
    return rows.exclude(paper__answer=PaperAnswer.LAPSED).exists()


@operation
def record_supply(
    paper: Paper,
    *,
    id: UUID,
    to: Sequence[Recipient],
    came: str,
    how: str,
    on: date,
    settles: bool,
    version: int,
    by: User,
    now: datetime,
    note: str = "",
    document: PaperDocument | None = None,
    file: StoredFile | None = None,
    file_name: str = "",
) -> Paper:
    """Record that the paper was given to each of `to`, or that they would not take it: on which day, how, which document.

    `settles`: nobody else is to have it, so that the paper is met; else it stays open for the others. `file`: what else
    shows it (a receipt, their answer). The same form again: nothing more. Raises Refused for a day that cannot be, without
    a word on what happened where somebody refused; ChangedMeanwhile where somebody else was faster.
    """
    ground.must(policy.may_keep_papers(by), NOT_YOURS)
    ground.held_site(paper.site)
    paper = ground.locked(paper)
    if PaperSupply.objects.filter(form=id, paper=paper).exists():
        return paper
    ground.unchanged(paper, version, "Somebody else recorded something of this meanwhile.")
    if paper.superseded_at:
        raise Refused(GONE)
    _soundly_given(to, came, how, on, note, clock.local_day(now), paper)
    sent = {one.name: _message_to(paper, one) for one in to if how == SupplyHow.EMAIL and came == SupplyCame.GIVEN}
    if settles:
        _must_have_it(paper, {one.name for one in to})
    rows = [
        PaperSupply(
            paper=paper, form=id, to=one.name, party=one.party, came=came, how=how, on=on, note=note.strip(),
            document=document, file=file, file_name=file_name, message=sent.get(one.name), recorded_by=by,
            recorded_at=now,
        )
        for one in to
    ]  # fmt: skip
    _keep(rows)
    settles = settles and paper.answer != PaperAnswer.DONE
    if settles:
        _meet(paper, by=by)
    paper.version += 1
    paper.save(update_fields=["answer", "answered_on", "how", "answered_by", "version"])
    facts: dict[str, Any] = {"supplies": [str(row.pk) for row in rows], "came": came, "how": how, "on": on.isoformat()}
    facts |= {"parties": [str(row.party_id) for row in rows if row.party_id], "met": settles}
    facts |= {"document": ground.key(document), "file": file.hash if file else None}
    words = {"to": "; ".join(row.to for row in rows), "note": note.strip()}
    record(Verb.PAPER_SUPPLIED, site=paper.site_id, subject=paper, by=by, now=now, facts=facts, words=words)
    return paper


def _soundly_given(
    to: Sequence[Recipient], came: str, how: str, on: date, note: str, today: date, paper: Paper
) -> None:
    if not to:
        raise Refused("Say who has it now.", field="to")
    if came not in (SupplyCame.GIVEN, SupplyCame.REFUSED):
        raise Refused("Say whether they have it, or would not take it.", field="came")
    if how not in SupplyHow.values:
        raise Refused("Say how.", field="how")
    if on > today:
        raise Refused("That day is still to come.", field="on")
    if paper.event_on and paper.trigger != "new-occupation" and on < paper.event_on:
        raise Refused("That is before what it is about: it cannot have been given then.", field="on")
    if came == SupplyCame.REFUSED and not note.strip():
        raise Refused("Say how it was offered, and what they said.", field="note")


def _must_have_it(paper: Paper, now_given: set[str]) -> None:
    """Raises Refused where somebody on record whom it must reach neither has it nor would not take it."""
    lacking = [one.name for one in candidates(paper) if one.must and one.party and not one.has_it]
    if missing := [name for name in lacking if name not in now_given]:
        names = " and ".join(filter(None, [", ".join(missing[:-1]), missing[-1]]))
        raise Refused(f"Not recorded for {names}: record it for them too, or leave the paper open.", field="settles")


def _message_to(paper: Paper, one: Recipient) -> UUID | None:
    """The message by which it went there last, where one did. Raises Refused where that has surely not gone out."""
    rows = paper.supplies.filter(to=one.name, came=SupplyCame.EMAILED, taken_back_at=None)
    key = rows.order_by("-recorded_at").values_list("message", flat=True).first()
    message = sent_last([key], reason_kind=REASON).get(key) if key else None
    if message and message.state not in (Message.State.SENT, Message.State.UNKNOWN):
        words = f"message {message.number} to {one.name}: {message.get_state_display()}"
        raise Refused(
            f"It did not reach them by e-mail, {words}. Send it again, or say how else they have it.", field="how"
        )
    return message.pk if message else key


def _keep(rows: Sequence[PaperSupply]) -> None:
    """Keep the rows. Raises Refused where one name stands twice in a form."""
    if len({row.to for row in rows}) < len(rows):
        raise Refused("One name stands there twice: tell them apart.", field="to")
    PaperSupply.objects.bulk_create(rows)


def _meet(paper: Paper, *, by: User) -> None:
    """Let the paper be met by what stands of its supplies: on the day of the last."""
    rows = [row for row in paper.supplies.filter(taken_back_at=None) if row.came != SupplyCame.EMAILED]
    paper.answer, paper.answered_on, paper.answered_by = PaperAnswer.DONE, max(row.on for row in rows), by
    paper.how = "; ".join(f"{row.get_came_display()}: {row.to}, {row.get_how_display()}" for row in rows)


@operation
def take_back_supply(supply: PaperSupply, *, why: str, by: User, now: datetime) -> Paper:
    """Take back an entry that was recorded in error; the paper is open again where it had been met. The row stays.

    Taken back already: nothing more. Raises Refused without a reason.
    """
    ground.must(policy.may_keep_papers(by), NOT_YOURS)
    ground.held_site(supply.paper.site)
    paper = ground.locked(supply.paper)
    supply = ground.locked(supply)
    if supply.taken_back_at:
        return paper
    why = ground.said(why, "Say why the entry is taken back.", "why")
    supply.taken_back_at, supply.taken_back_why = now, why
    supply.save(update_fields=["taken_back_at", "taken_back_why"])
    opened = paper.answer == PaperAnswer.DONE and not paper.superseded_at and supply.came != SupplyCame.EMAILED
    if opened:
        paper.answer, paper.answered_on, paper.how, paper.answered_by = "", None, "", None
    paper.version += 1
    paper.save(update_fields=["answer", "answered_on", "how", "answered_by", "version"])
    facts = {"supply": str(supply.pk), "opened": opened}
    record(Verb.PAPER_SUPPLY_BACK, site=paper.site_id, subject=paper, by=by, now=now, facts=facts, words={"why": why})
    return paper
