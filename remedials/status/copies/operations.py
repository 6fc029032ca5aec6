"""A copy of a report is made once it was looked over, and kept as it is handed out."""

import hashlib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from inspections.choices import InspectionState
from inspections.models import Inspection
from jobsite.documents import PDF, make_document
from jobsite.ledger.documents import About, kept_document
from jobsite.ledger.models import Document
from jobsite.ledger.operations import operation
from jobsite.ledger.operations_documents import keep_document
from jobsite.ledger.queries import heads
from jobsite.ledger.rows import made_before
from jobsite.ledger.rules import canonical
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.premises.operations.sharing import Opens
from jobsite.refused import NotAllowed, Refused
from remedials.status.copies.queries import KIND, said_of, texts_in, with_texts
from remedials.status.models import ReportCopy
from remedials.status.proof.one_maker import one_maker

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "copy.typ"
TITLE = "Copy of a report, personal data left out"
CHANGED = "The record changed since this was opened: what is new is shown with the rest. Look it over once more."
WHY = "The office sent a copy of a report with personal data left out."
NOT_IN_FORCE = "This report was replaced, or is a draft: copy the one that is in force."


def opens_copy(site: Site) -> Opens:
    """What a private link to a copy opens, as its letter says it."""
    about = f"A copy of a report on the electrical installation of {site.name}, with personal data left out."
    return Opens(f"Copy of a report: {site.name}", about)


def state_of(said: Mapping[str, Any]) -> str:
    """The hash of what would be copied, before anybody changed words: another one means that the record changed since."""
    return hashlib.sha256(canonical(said)).hexdigest()


def make_copy(
    report: Inspection, *, id: UUID, unit: Unit | None, texts: Mapping[str, str], seen: str, by: User, now: datetime
) -> Document:
    """Make the copy of `report`, or of its `unit`, with `texts` (by the keys of `texts_in`) in place of the report's own.

    `seen`: the state that whoever looked it over saw. The report itself is not touched. The same form again, and the same
    words on an unchanged record: the copy that is kept. It is set while no row is locked. Raises NotAllowed; Refused for a
    report that is not in force, a unit that it does not cover, and where the record changed since.
    """
    if not by.may(Right.SHARE_STATUS):
        raise NotAllowed("Only the office hands out copies of reports.")
    if made := made_before(Document, id, kind=KIND, subject=report.pk):
        return made
    if report.state != InspectionState.ISSUED:
        raise Refused(NOT_IN_FORCE)
    if unit is not None and not report.units.filter(pk=unit.pk).exists():
        raise Refused("The report does not cover this unit.")
    known_by = heads([report.site_id])
    said = said_of(report, unit)
    if state_of(said) != seen:
        raise Refused(CHANGED)
    facts = with_texts(said, dict(texts))
    about = About(
        kind=KIND, said=state_of(facts), site=report.site_id, unit=unit.pk if unit else None, subject=report.pk
    )
    if kept := kept_document(about):
        return kept
    with one_maker():
        pdf = make_document(
            TEMPLATE, facts, title=TITLE, about=f"Report {report.number}, copy: {facts['place']}", firm=facts["firm"][0],
            now=now, heads=known_by,
        )  # fmt: skip
    changed = sum(texts.get(key, words).strip() != words.strip() for key, _, words in texts_in(said))
    return _keep(about, pdf.pdf, pdf.fingerprint, facts, changed, id=id, number=report.number, by=by, now=now)


@operation
def _keep(
    about: About, pdf: bytes, fingerprint: str, facts: dict[str, Any], changed: int, *, id: UUID, number: int, by: User,
    now: datetime,
) -> Document:  # fmt: skip
    document = keep_document(
        about, pdf, id=id, title=f"Copy of report {number}, personal data left out", name=f"report-{number}-copy.pdf",
        media_type=PDF, fingerprint=fingerprint, by=by, now=now,
    )  # fmt: skip
    ReportCopy.objects.get_or_create(document=document, defaults={"facts": facts, "changed": changed})
    return document
