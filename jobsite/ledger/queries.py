"""Reading the ledger back, and proving it."""

from collections.abc import Iterable, Iterator
from datetime import UTC
from typing import Any
from uuid import UUID

from django.db import models

from jobsite.ledger.models import Chain, Entry, Words
from jobsite.ledger.rules import START, Head, chained_hash, hashed_fields, salted_digest


def heads(chains: Iterable[UUID] | None = None) -> list[Head]:
    """The heads of `chains` (all when None), to be kept outside the database in a digest or a document."""
    rows = Chain.objects.order_by("pk")
    if chains is not None:
        rows = rows.filter(pk__in=list(chains))
    return [Head(chain.pk, chain.length, bytes(chain.head).hex()) for chain in rows if chain.length]


def faults(kept: Iterable[Head] = ()) -> Iterator[str]:
    """What is wrong with the ledger, a sentence each; nothing when it holds.

    Recomputes every chain, compares it with its recorded head, the words beside it with their digests, and with
    `kept`, heads that left the database earlier: those find a tail that was cut and a chain that was recomputed.
    """
    wanted: dict[UUID, dict[int, str]] = {}
    for head in kept:
        wanted.setdefault(head.chain, {})[head.number] = head.hash
    words = _words_by_entry()
    for chain in Chain.objects.order_by("pk"):
        yield from _faults_of(chain, wanted.pop(chain.pk, {}), words)
        yield from _closing_faults(chain)
    for chain_id in wanted:
        yield f"Chain {chain_id}: a kept head names it, but it is gone."
    known = Chain.objects.values("pk")
    for chain_id in Entry.objects.exclude(chain__in=known).values_list("chain", flat=True).distinct():
        yield f"Chain {chain_id}: there are entries, but no chain."


def _words_by_entry() -> dict[UUID, list[Words]]:
    found: dict[UUID, list[Words]] = {}
    for words in Words.objects.iterator():
        found.setdefault(words.entry, []).append(words)
    return found


def _faults_of(chain: Chain, wanted: dict[int, str], words: dict[UUID, list[Words]]) -> Iterator[str]:
    previous, number = START, 0
    for entry in Entry.objects.filter(chain=chain.pk).order_by("number").iterator():
        number += 1
        if entry.number != number:
            yield f"Chain {chain.pk}: entry {number} is missing."
            number = entry.number
        if bytes(entry.previous) != previous:
            yield f"Chain {chain.pk}: entry {number} does not follow the one before it."
        previous = bytes(entry.hash)
        if chained_hash(bytes(entry.previous), _fields(entry)) != previous:
            yield f"Chain {chain.pk}: entry {number} was changed."
        for said in words.get(entry.pk, []):
            if salted_digest(said.text, bytes(said.salt)) != entry.facts.get(f"{said.name}_digest"):
                yield f"Chain {chain.pk}: the words beside entry {number} were changed."
        if wanted.pop(number, previous.hex()) != previous.hex():
            yield f"Chain {chain.pk}: entry {number} is not the one whose head was kept outside."
    for missing in wanted:
        yield f"Chain {chain.pk}: entry {missing} was kept as a head outside, but is gone."
    if (number, previous) != (chain.length, bytes(chain.head)):
        yield f"Chain {chain.pk}: it ends at entry {number}, but {chain.length} are recorded."


def _closing_faults(chain: Chain) -> Iterator[str]:
    """What is wrong with the end of a chain that was closed into another: that one names its length and head."""
    if chain.closed_into is None:
        return
    named = Entry.objects.filter(chain=chain.closed_into, facts__closes=str(chain.pk)).first()
    if named is None:
        yield f"Chain {chain.pk}: it was closed, but the chain it went over to does not name it."
    elif (named.facts.get("length"), named.facts.get("head")) != (chain.length, bytes(chain.head).hex()):
        yield f"Chain {chain.pk}: it does not end where it was closed."


def _fields(entry: Entry) -> dict[str, object]:
    fields = {
        "at": entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "actor_kind": entry.actor_kind,
        "actor": str(entry.actor),
        "verb": entry.verb,
        "subject_kind": entry.subject_kind,
        "subject": str(entry.subject),
        "facts": entry.facts,
    }
    return hashed_fields(entry.chain, entry.number, entry.operation, fields)


def words_of(entries: Iterable[UUID]) -> dict[UUID, dict[str, str]]:
    """The words kept beside `entries`: for each entry, name to text."""
    found: dict[UUID, dict[str, str]] = {}
    for entry, name, text in Words.objects.filter(entry__in=list(entries)).values_list("entry", "name", "text"):
        found.setdefault(entry, {})[name] = text
    return found


def told_by_form(verb: str, subject: models.Model, form: UUID) -> bool:
    """Whether `subject`'s entries have one of `verb` from this form: what makes no row of its own keeps its key there.

    Ask with the subject locked: the same form sent twice at once waits for the first.
    """
    return Entry.objects.filter(subject=subject.pk, verb=str(verb), facts__form=str(form)).exists()


def facts_by_form(verb: str, subject: models.Model, form: UUID) -> dict[str, Any]:
    """What `subject`'s first entry of `verb` from this form holds as facts; empty where there is none."""
    entries = Entry.objects.filter(subject=subject.pk, verb=str(verb), facts__form=str(form))
    return entries.order_by("chain", "number").values_list("facts", flat=True).first() or {}


def just_told(verb: str, subject: models.Model, **words: str) -> bool:
    """Whether the last entry about `subject` is of `verb` and says just `words`: the same was sent twice.

    Somebody else's words are no repetition: their page must not say that they were recorded. Ask with the subject locked.
    """
    last = Entry.objects.filter(subject=subject.pk).order_by("-chain", "-number").first()
    if last is None or last.verb != str(verb):
        return False
    said = words_of([last.pk]).get(last.pk, {})
    return said == {name: text for name, text in words.items() if text}
