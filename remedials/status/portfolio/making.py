"""A document of a portfolio as it is handed out: made once for what it says, and kept."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from jobsite.documents import PDF, make_document
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import About, kept_document
from jobsite.ledger.models import Document
from jobsite.ledger.operations_documents import keep_document
from jobsite.ledger.queries import heads
from jobsite.ledger.rules import FIRM_CHAIN, canonical
from remedials.status.proof.one_maker import one_maker


def made_for(
    about: About, facts: Mapping[str, Any], *, template: Path, title: str, foot: str, name: str, by: Actor, now: datetime,
    pictures: Mapping[str, bytes] | None = None,
) -> Document:  # fmt: skip
    """The document that says `facts`: the one that is kept already, or else a new one. Set while no row is locked.

    `foot` stands below each page. Raises Refused where it grows beyond all measure, and `Busy` while others are being made.
    """
    pictures = pictures or {}
    hashes = {file: hashlib.sha256(content).hexdigest() for file, content in pictures.items()}
    said = hashlib.sha256(canonical({"title": title, "facts": dict(facts), "pictures": hashes})).hexdigest()
    about = replace(about, said=said)
    if kept := kept_document(about):
        return kept
    with one_maker():
        if kept := kept_document(about):
            return kept
        made = make_document(
            template, facts, title=title, about=foot, firm=facts["firm"][0], now=now, pictures=pictures,
            heads=heads([about.site or FIRM_CHAIN]),
        )  # fmt: skip
    return keep_document(
        about,
        made.pdf,
        id=new_id(),
        title=foot,
        name=name,
        media_type=PDF,
        fingerprint=made.fingerprint,
        by=by,
        now=now,
    )
