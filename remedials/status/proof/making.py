"""Making a document, or handing out the one that says just the same."""

import re
from collections.abc import Callable
from datetime import datetime

from django.urls import reverse

from inspections.operations import keep_notice_document, kept_notice_document
from jobsite import clock
from jobsite.addresses import public_address
from jobsite.documents import PDF, make_document
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import kept_document
from jobsite.ledger.models import Document
from jobsite.ledger.operations_documents import keep_document
from jobsite.ledger.queries import heads
from jobsite.ledger.rules import FIRM_CHAIN, Head
from jobsite.premises.models import Party
from jobsite.refused import Refused
from jobsite.words import joined
from remedials.status.facts import Scope
from remedials.status.notices import notices_in
from remedials.status.portfolio.facts import units_of
from remedials.status.proof.done import completion
from remedials.status.proof.kinds import Kind
from remedials.status.proof.one_maker import one_maker
from remedials.status.proof.pictures import read_pictures
from remedials.status.proof.said import Said
from remedials.status.proof.standing import outstanding, status
from remedials.status.proof.year import year_summary

NOT_THIS = "There is no such document."
MOST_CHAINS = 12  # of as many sites the heads stand on the last page; of more, the firm's own
GATHER: dict[str, Callable[..., Said]] = {
    Kind.COMPLETION: completion,
    Kind.STATUS: status,
    Kind.OUTSTANDING: outstanding,
}
NOTICE = re.compile(rf"{Kind.NOTICE}-(\d{{1,12}})")


class NoSuchDocument(Refused):
    """Asked for by a name that is none, or that belongs to somebody else."""


def document_for(kind: str, scope: Scope, *, by: Actor, now: datetime) -> Document:
    """The document of `kind` about `scope` as it stands now; "danger-notice-31" is a copy of the notice of that number,
    as given but without the names of others, locks and keys.

    While the record says the same on the same day, the same file. The caller has asked whether `by` may. Raises Refused
    where there is nothing to say, NoSuchDocument, and `Busy` while others are being made.

    1. Gather what it says, in a bounded number of statements. 2. Hand out the one that is kept. 3. Else one at a time, and
    with no row locked: read the pictures, set it. 4. Keep it, with its hash in the ledger.
    """
    if named := NOTICE.fullmatch(kind):
        return _notice(int(named[1]), scope, by=by, now=now)
    if kind not in GATHER:
        raise NoSuchDocument(NOT_THIS)
    # The heads first: all up to them is in what is gathered afterwards.
    said_by = heads([scope.site.pk])
    return _made(GATHER[kind](scope, now=now), said_by, by=by, now=now)


def year_for(party: Party, year: int, *, by: Actor, now: datetime) -> Document:
    """The year in summary of all units of `party`, made or handed out as `document_for` does."""
    sites = set(units_of(party, clock.local_day(now)).values_list("site", flat=True))
    marks = heads(sites if len(sites) <= MOST_CHAINS else [FIRM_CHAIN])
    return _made(year_summary(party, year, now=now), marks, by=by, now=now)


def _made(said: Said, marks: list[Head], *, by: Actor, now: datetime) -> Document:
    about = said.about
    if kept := kept_document(about):
        return kept
    with one_maker():
        if kept := kept_document(about):
            return kept
        pictures = read_pictures(said.pictures)
        missing = sorted(set(said.pictures) - set(pictures))
        made = make_document(
            said.template, {**said.facts, "missing": missing, "check": _where_to_check()}, title=said.title, about=f"{said.place}: {said.kind.label.lower()}",
            firm=said.firm, now=now, heads=marks, pictures=pictures,
        )  # fmt: skip
    return keep_document(
        about, made.pdf, id=new_id(), title=joined(said.title, said.place, by=": "), name=f"{said.name}.pdf",
        media_type=PDF, fingerprint=made.fingerprint, by=by, now=now,
    )  # fmt: skip


def _where_to_check() -> str:
    """The page on which anybody has the file checked, as it is typed in; "" where there is none for those outside."""
    return public_address(reverse("status:check"))


def _notice(number: int, scope: Scope, *, by: Actor, now: datetime) -> Document:
    notice = notices_in(scope).filter(number=number).select_related("site", "given_by").first()
    if notice is None:
        raise NoSuchDocument(NOT_THIS)
    if kept := kept_notice_document(notice, copy=True):
        return kept
    with one_maker():
        return keep_notice_document(notice, by=by, now=now, copy=True)
