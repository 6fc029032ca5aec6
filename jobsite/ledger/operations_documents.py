"""Documents kept as they are handed out, and what must not be erased: for the operations of every floor above."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime
from types import MappingProxyType
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import About, holds_on, kept_document
from jobsite.ledger.files import store_file
from jobsite.ledger.models import Document, Hold
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, beside, made_before
from jobsite.ledger.verbs import Verb
from jobsite.refused import Refused

HELD = "This is held, and nothing of it may be erased, since {reason}. A manager can lift that."
HOLDS = UUID("7b0c6f0e-5b0e-4d3a-9c55-2f1f6f0d4a10")
"""The key of one lock for all holds. Whoever takes it has what they erase locked already, or locks it later; whoever places a
hold takes it before anything else and locks no such row: they never wait for each other crosswise."""


@operation
def keep_document(
    about: About, data: bytes, *, id: UUID, title: str, name: str, media_type: str, fingerprint: str, by: Actor,
    now: datetime,
) -> Document:  # fmt: skip
    """Keep `data` as the document that is handed out for `about`; its hash is in the ledger from now on.

    The caller has asked whether `by` may. Done again with the same key, or by two at once for what says the same, it
    answers with the one that is kept.
    """
    alone(about.site or about.party or id)
    if found := made_before(Document, id, kind=about.kind, site=about.site, party=about.party) or kept_document(about):
        return found
    file = store_file(data, media_type=media_type, now=now)
    document = Document.objects.create(
        id=id, title=title, name=name, file=file, fingerprint=fingerprint, actor_kind=by.actor_kind, actor=by.actor_id,
        made_at=now, **asdict(about),
    )  # fmt: skip
    facts = {"kind": about.kind, "file": file.hash, "fingerprint": fingerprint}
    facts |= {key: str(value) for key, value in asdict(about).items() if value and key not in ("kind", "site", "said")}
    record(Verb.DOCUMENT_MADE, site=about.site, subject=document, by=by, now=now, facts=facts)
    return document


def no_hold_meanwhile() -> None:
    """Inside an operation that erases: a hold, on whatever it is, is placed before this or when the operation has ended."""
    beside(HOLDS)


def refuse_if_held(site: UUID | None) -> None:
    """Inside an operation that erases: raises Refused while a hold stands, and none comes before it has ended."""
    no_hold_meanwhile()
    if hold := holds_on(site).select_for_update().first():
        raise Refused(HELD.format(reason=hold.reason[:1].lower() + hold.reason[1:].rstrip(".")))


def move_documents(site: UUID, *, into: UUID, same: Mapping[UUID, UUID] = MappingProxyType({})) -> None:
    """Inside an operation: documents of `site` are those of `into` from now on, and what holds the one holds the other.

    `same`: which of its units are which of the other's. Their words stand in the closed chain, which the hold still finds.
    A document is the file that it was; it is not handed out again as what the other site says.
    """
    no_hold_meanwhile()
    for mine, theirs in same.items():
        Document.objects.filter(unit=mine).update(unit=theirs, said="")
    Document.objects.filter(site=site).update(site=into, said="")
    Hold.objects.filter(site=site).update(site=into)
