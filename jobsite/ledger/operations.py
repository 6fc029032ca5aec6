"""The pattern of every change: one transaction, one operation, its entries in the ledger written last."""

import secrets
from collections.abc import Callable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import wraps
from typing import Any, ParamSpec, TypeVar
from uuid import UUID

from django.db import models, transaction

from jobsite.ids import new_id
from jobsite.ledger import made
from jobsite.ledger.actor import Actor
from jobsite.ledger.models import Chain, Entry, Words
from jobsite.ledger.rules import FIRM_CHAIN, START, chained_hash, hashed_fields, salted_digest

AT_ONCE = 1_000
"""Entries in one statement."""
P = ParamSpec("P")
R = TypeVar("R")


class ChainClosed(RuntimeError):
    """Somebody records at a site that went over to another: whoever may come too late for it answers this."""


@dataclass
class Draft:
    """An entry before it has its place in the chain."""

    chain: UUID
    fields: dict[str, Any]
    words: dict[str, str]


@dataclass
class Pending:
    """What the running operation will write when it ends."""

    operation: UUID
    drafts: list[Draft] = field(default_factory=list)
    closing: dict[UUID, UUID] = field(default_factory=dict)


_pending: ContextVar[Pending | None] = ContextVar("pending", default=None)


def operation(change: Callable[P, R]) -> Callable[P, R]:
    """Make `change` an operation: one transaction, and its ledger entries in it.

    The chains are locked last, in the order of their keys, when everything else has been decided: two operations
    never wait for each other crosswise. An operation called by another becomes part of it.
    """

    @wraps(change)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        if _pending.get() is not None:
            return change(*args, **kwargs)
        with transaction.atomic():
            token = _pending.set(pending := Pending(new_id()))
            try:
                result = change(*args, **kwargs)
                _write(pending)
            finally:
                _pending.reset(token)
        return result

    return run


def record(
    verb: str,
    *,
    site: UUID | None,
    subject: models.Model,
    by: Actor,
    now: datetime,
    facts: Mapping[str, Any] | None = None,
    words: Mapping[str, str] | None = None,
) -> None:
    """Note in the ledger of `site` (None: the firm's) that `by` did `verb` to `subject`.

    `facts`: identifiers, dates as ISO text, codes; never a name, an address or free text. Those go into `words`
    (empty ones are left out) and are held in the chain by their salted digest only. What a phone did earlier says so by
    itself (`jobsite.ledger.made`).
    """
    pending = _pending.get()
    if pending is None:
        raise RuntimeError("record() outside an operation")
    pending.drafts.append(
        Draft(
            chain=site or FIRM_CHAIN,
            fields={
                "at": now.astimezone(UTC).isoformat(timespec="microseconds"),
                "actor_kind": by.actor_kind,
                "actor": str(by.actor_id),
                "verb": str(verb),
                "subject_kind": str(subject._meta.model_name),
                "subject": str(subject.pk),
                "facts": {**(facts or {}), **made.facts_of(made.current(), now=now)},
            },
            words={name: text for name, text in (words or {}).items() if text},
        )
    )


def close_chain(chain: UUID, *, into: UUID) -> None:
    """Inside an operation: the chain of `chain` ends with what this operation records in it.

    The entry that is recorded in the chain of `into` with the fact `closes` names its length and its head. Whoever
    records in a closed chain later meets ChainClosed.
    """
    pending = _pending.get()
    if pending is None:
        raise RuntimeError("close_chain() outside an operation")
    pending.closing[chain] = into


def _write(pending: Pending) -> None:
    """Append what is pending: chains are locked in the order of their keys, those that end are written first."""
    chains = {chain_id: _locked(chain_id) for chain_id in sorted({draft.chain for draft in pending.drafts})}
    for chain_id in sorted(chains, key=lambda key: (key not in pending.closing, key)):
        chain = chains[chain_id]
        _append(chain, pending.operation, [draft for draft in pending.drafts if draft.chain == chain_id])
        if into := pending.closing.get(chain_id):
            Chain.objects.filter(pk=chain_id).update(closed_into=into)
            for draft in pending.drafts:
                if draft.chain == into and draft.fields["facts"].get("closes") == str(chain_id):
                    draft.fields["facts"] |= {"length": chain.length, "head": bytes(chain.head).hex()}


def _locked(chain_id: UUID) -> Chain:
    Chain.objects.bulk_create([Chain(id=chain_id, head=START)], ignore_conflicts=True)
    chain = Chain.objects.select_for_update().get(pk=chain_id)
    if chain.closed_into is not None:
        raise ChainClosed(f"The chain of {chain_id} was closed: nothing more is recorded in it.")
    return chain


def _append(chain: Chain, operation_id: UUID, drafts: list[Draft]) -> None:
    """Write `drafts` at the end of the locked `chain`."""
    previous, length = bytes(chain.head), chain.length
    for start in range(0, len(drafts), AT_ONCE):
        part = drafts[start : start + AT_ONCE]
        previous = _append_part(chain.pk, operation_id, part, previous, length + start + 1)
    chain.length, chain.head = length + len(drafts), previous
    chain.save(update_fields=["length", "head"])


def _append_part(chain_id: UUID, operation_id: UUID, drafts: list[Draft], previous: bytes, first: int) -> bytes:
    """Write the entries from number `first` on; the hash of the last. In parts: the entries of a long list fill memory."""
    entries: list[Entry] = []
    words: list[Words] = []
    for number, draft in enumerate(drafts, start=first):
        entry_id = new_id()
        kept = [Words(entry=entry_id, name=n, text=t, salt=secrets.token_bytes(16)) for n, t in draft.words.items()]
        digests = {f"{w.name}_digest": salted_digest(w.text, bytes(w.salt)) for w in kept}
        fields = draft.fields | {"facts": draft.fields["facts"] | digests}
        entry = Entry(id=entry_id, chain=chain_id, number=number, operation=operation_id, previous=previous)
        for name, value in fields.items():
            setattr(entry, name, value)
        entry.at = datetime.fromisoformat(fields["at"])
        entry.hash = previous = chained_hash(previous, hashed_fields(chain_id, number, operation_id, fields))
        entries.append(entry)
        words += kept
    Entry.objects.bulk_create(entries)
    Words.objects.bulk_create(words)
    return previous
