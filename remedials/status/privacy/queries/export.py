"""A customer's own data, for handing over on request: what is kept about them, and nothing about anybody else.

Of sites that are theirs they are told what happened since the site was theirs; the one who had it before has a right to
what is of then. What was said, and with whom, is told only where it was said with them. Names of the firm's people go by the
firm's choice, as in everything that customers read.
"""

from collections.abc import Iterator
from typing import Any

from django.db.models import Exists, OuterRef, Q

from inspections.models import PaperSupply
from jobsite.ledger.models import Document, StoredFile
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.people.names import AsCustomersRead, words_as_customers_read
from jobsite.premises.models import FormerCustomer, PartyAtUnit
from remedials.due.models import Leaving
from remedials.quotes.models import Answer, Offer, Remark
from remedials.quotes.states import State
from remedials.status.privacy.places import Subject, naming
from remedials.status.privacy.queries.about import subject_of
from remedials.visits.models import Attempt, Confirmation, OccupierNote, TimesOffer
from remedials.works.models import Approval

File = tuple[str, StoredFile]
NOT_GIVEN = ("bundle", "assessor", "copy")
"""Kinds of documents that tell of everybody at a site, or were made for somebody by name."""


def kept_about(party: Any) -> dict[str, Any]:
    """What is kept about `party`, as plain JSON, by kind. About twenty statements, whatever the size."""
    who, reads = subject_of(party, instead=""), words_as_customers_read()
    return {
        "who": {
            "name": party.name, "kind": "organisation" if party.organisation else "person", "email": party.email,
            "phone": party.phone, "address": party.address,
        },
        "sites": [_site(site, who) for site in party.sites.order_by("number")],
        "handed_over": [
            {"site": row.site.number, "until": row.until.isoformat()}
            for row in party.former_sites.select_related("site").order_by("until", "pk")
        ],
        "parts_at_units": [_part(row) for row in party.roles.select_related("unit__site").order_by("since", "pk")],
        "emails": [_message(row) for row in Message.objects.filter(to_id=party.pk).order_by("written_at", "pk")],
        "private_links": [_link(row) for row in PrivateLink.objects.filter(party=party.pk).order_by("made_at", "pk")],
        "quotes": [row.said | {"sent": _at(row.sent_at), "sent_to": row.sent_to} for row in _quotes(who)],
        "answers_to_quotes": [_answer(row) for row in _answers(who)],
        "questions_about_quotes": [
            {"name": row.name, "text": row.text, "at": _at(row.at)}
            for row in Remark.objects.filter(link__party=party.pk).order_by("at", "pk")
        ],
        "approvals_of_work": [
            {"by": row.given_by, "on": row.given_on.isoformat(), "how": row.get_how_display(), "reference": row.reference,
             "pounds": str(row.pounds) if row.pounds is not None else None, "remedial": row.remedial.number}
            for row in Approval.objects.filter(party=party).select_related("remedial").order_by("given_on", "pk")
        ],
        "attempts_to_get_in": [_attempt(row, who, reads) for row in _attempts(who)],
        "answers_about_visits": [
            {"visit": row.visit.number, "whom": row.whom, "words": reads.words(row.words), "at": _at(row.at)}
            for row in _confirmations(who)
        ],
        "answers_to_times_offered": [
            {"answered": _at(row.answered_at), "words": row.words}
            for row in TimesOffer.objects.filter(party=party).exclude(answered_at=None).order_by("answered_at", "pk")
        ],
        "whom_to_ask_to_be_let_in": [_note(row) for row in _notes(who)],
        "papers_handed_to_them": [
            {"paper": row.paper.what, "to": row.to, "on": row.on.isoformat(), "how": row.get_how_display(), "note": row.note}
            for row in PaperSupply.objects.filter(party=party, taken_back_at=None).select_related("paper")
        ],
        "closing_letters": [
            {"number": row.number, "to": row.to_name, "address": row.to_address} for row in _letters(who)
        ],
    }  # fmt: skip


def files_about(party: Any) -> Iterator[File]:
    """The documents that were given to them: a name of our own making, and the file. About six statements.

    Of a site's own documents those that were made since the site is theirs.
    """
    who = subject_of(party, instead="")
    for offer in _quotes(who):
        if offer.file:
            yield f"quote-{offer.quote.number}-version-{offer.number}.pdf", offer.file
    for leaving in _letters(who):
        if leaving.letter:
            yield f"closing-letter-{leaving.number}.pdf", leaving.letter
    of_site = Q(site__in=who.own, party=None) & _since_theirs("made_at")
    documents = Document.objects.filter(Q(party=party.pk) | of_site).exclude(kind__in=NOT_GIVEN)
    for number, document in enumerate(documents.select_related("file").order_by("made_at", "pk"), 1):
        yield f"document-{number}-{document.name}", document.file


def _at(moment: Any) -> str | None:
    return moment.isoformat() if moment else None


def _since_theirs(at: str, *, site: str = "site") -> Q:
    """That nobody handed the site over at the instant `at` of a row or later."""
    return Q(~Exists(FormerCustomer.objects.filter(site=OuterRef(site), recorded_at__gte=OuterRef(at))))


def _names(who: Subject, text: str) -> bool:
    """Whether `text` names them: a longer name that holds theirs is somebody else's."""
    return who.person.out_of(text) != text


def _site(site: Any, who: Subject) -> dict[str, Any]:
    notes = site.access_notes if _names(who, site.access_notes) else ""
    return {"number": site.number, "name": site.name, "address": site.one_line, "access_notes": notes}


def _part(row: PartyAtUnit) -> dict[str, Any]:
    where = row.unit.site.one_line if row.unit.whole_site else f"{row.unit.name}, {row.unit.site.one_line}"
    until = row.until.isoformat() if row.until else None
    return {"what": row.get_role_display(), "where": where, "since": row.since.isoformat(), "until": until}


def _message(row: Message) -> dict[str, Any]:
    what = {"to": row.address, "subject": row.subject, "words": row.body, "state": row.get_state_display()}
    return {
        "number": row.number,
        "written": _at(row.written_at),
        "why": row.why if "sent by" not in row.why else "",
    } | what


def _link(row: PrivateLink) -> dict[str, Any]:
    return {
        "opens": row.get_purpose_display(), "given_to": row.sent_to, "made": _at(row.made_at), "ends": _at(row.expires_at),
        "withdrawn": _at(row.withdrawn_at), "opened_times": row.uses, "last_opened": _at(row.last_used_at),
    }  # fmt: skip


def _quotes(who: Subject) -> Any:
    rows = Offer.objects.filter(quote__party=who.party).exclude(state=State.DRAFT)
    return rows.select_related("quote", "file").order_by("quote__number", "number")


def _answers(who: Subject) -> Any:
    rows = Answer.objects.filter(party=who.party).select_related("offer__quote")
    return rows.prefetch_related("lines__line").order_by("given_at", "pk")


def _answer(row: Answer) -> dict[str, Any]:
    lines = [{"line": one.line.words, "says": one.says, "words": one.words} for one in row.lines.all()]
    return {
        "quote": row.offer.quote.number, "version": row.offer.number, "name": row.name, "how": row.get_how_display(),
        "at": _at(row.given_at), "note": row.note, "order_number": row.order_number, "lines": lines,
        "to_pay": str(row.to_pay),
    }  # fmt: skip


def _attempts(who: Subject) -> list[Attempt]:
    """Since a site was theirs, at units in the days in which they were something there, and when they were asked."""
    theirs = Q(site__in=who.own) & _since_theirs("at") | Q(site__in=who.sites) & naming(who, "whom")
    for role in who.party.roles.all():
        then = Q(unit=role.unit_id, at__date__gte=role.since)
        theirs |= then & Q(at__date__lte=role.until) if role.until else then
    return list(Attempt.objects.filter(theirs).select_related("by").order_by("at", "pk"))


def _attempt(row: Attempt, who: Subject, reads: AsCustomersRead) -> dict[str, Any]:
    """That somebody tried is of the site; whom they asked, and what was said, is of whoever was asked."""
    told = {"at": _at(row.at), "how": row.get_how_display(), "by": reads.name(row.by.name), "got_in": row.got_in}
    if not _names(who, row.whom):
        return told
    return told | {"whom": row.whom, "said": reads.words(row.said), "reply": reads.words(row.reply)}


def _confirmations(who: Subject) -> list[Confirmation]:
    rows = Confirmation.objects.filter(naming(who, "whom"), visit__site__in=who.sites).select_related("visit")
    return [row for row in rows.order_by("at", "pk") if _names(who, row.whom)]


def _letters(who: Subject) -> list[Leaving]:
    rows = Leaving.objects.filter(naming(who, "to_name"), site__in=who.sites).select_related("letter")
    return [row for row in rows.order_by("number") if _names(who, row.to_name)]


def _notes(who: Subject) -> list[OccupierNote]:
    """Where it is they who are to be asked."""
    rows = OccupierNote.objects.filter(naming(who, "contact", "phone", "email"), site__in=who.sites).order_by("pk")
    return [row for row in rows if any(_names(who, text) for text in (row.contact, row.phone, row.email))]


def _note(row: OccupierNote) -> dict[str, Any]:
    return {name: getattr(row, name) for name in ("contact", "phone", "email", "best_times", "mind")}
