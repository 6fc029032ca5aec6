"""Reading the ledger back, and proving it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC
from typing import Any
from uuid import UUID

from django.db import models
from django.db.models.fields.json import KT

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
    People may be at work meanwhile: a chain that has grown since it was begun with is no fault.
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


def told_of_file(content_hash: str) -> list[Entry]:
    """The entries that tell of a file with this SHA-256 as their fact `file`, in the order of their time. One statement."""
    found = Entry.objects.filter(facts__has_key="file").annotate(file=KT("facts__file")).filter(file=content_hash)
    return list(found.order_by("at", "chain", "number"))


@dataclass(frozen=True, slots=True)
class LookedOver:
    """What is wrong with a chain, a sentence each, and whether all of it was looked at."""

    faults: tuple[str, ...]
    whole: bool


def looked_over(entry: Entry, *, most: int | None = None) -> LookedOver:
    """The chain of `entry`, recomputed: each entry must follow the one before and have the hash that its content makes.

    Of one with more than three times `most` entries only so many before this one, after it, and before its end: whoever
    asks without end must not make us recompute years each time. What came while it was read is not looked at.
    """
    chain = Chain.objects.filter(pk=entry.chain).first()
    if chain is None:
        return LookedOver((f"Chain {entry.chain}: there are entries, but no chain.",), whole=True)
    if entry.number > chain.length:
        beyond = f"Chain {chain.pk}: entry {entry.number} stands after its end, {chain.length} are recorded."
        return LookedOver((beyond,), whole=False)
    if most is None or chain.length <= 3 * most:
        return LookedOver(tuple(_faults_in(chain, 1, chain.length)), whole=True)
    first, last, end = max(1, entry.number - most), entry.number + most, chain.length - most + 1
    pieces = [(first, chain.length)] if last + 1 >= end else [(first, last), (end, chain.length)]
    found = (fault for piece in pieces for fault in _faults_in(chain, *piece))
    return LookedOver(tuple(found), whole=False)


def _faults_in(chain: Chain, first: int, last: int) -> Iterator[str]:
    """What is wrong with the entries `first` to `last`; at the end of the chain they must come to its recorded head."""
    previous, number = START if first == 1 else None, first - 1
    rows = Entry.objects.filter(chain=chain.pk, number__range=(first, last)).order_by("number")
    for row in rows.iterator():
        number += 1
        if row.number != number:
            yield f"Chain {chain.pk}: entry {number} is missing."
            number = row.number
        if previous is not None and bytes(row.previous) != previous:
            yield f"Chain {chain.pk}: entry {number} does not follow the one before it."
        previous = bytes(row.hash)
        if chained_hash(bytes(row.previous), _fields(row)) != previous:
            yield f"Chain {chain.pk}: entry {number} was changed."
    if number != last:
        yield f"Chain {chain.pk}: entry {number + 1} is missing."
    elif last == chain.length and previous != bytes(chain.head):
        yield f"Chain {chain.pk}: its last entry is not the one that is recorded as its head."


def heads_not_found(kept: Iterable[Head]) -> list[Head]:
    """Those of `kept` that the ledger has not, or has otherwise. One statement for each."""
    return [
        head
        for head in kept
        if not Entry.objects.filter(chain=head.chain, number=head.number, hash=bytes.fromhex(head.hash)).exists()
    ]


def _words_by_entry() -> dict[UUID, list[Words]]:
    found: dict[UUID, list[Words]] = {}
    for words in Words.objects.iterator():
        found.setdefault(words.entry, []).append(words)
    return found


def _faults_of(chain: Chain, wanted: dict[int, str], words: dict[UUID, list[Words]]) -> Iterator[str]:
    previous, number, at_end = START, 0, START
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
        if _other_words(entry, words.get(entry.pk, [])):
            yield f"Chain {chain.pk}: the words beside entry {number} were changed."
        if number == chain.length:
            at_end = previous
        if wanted.pop(number, previous.hex()) != previous.hex():
            yield f"Chain {chain.pk}: entry {number} is not the one whose head was kept outside."
    for missing in wanted:
        yield f"Chain {chain.pk}: entry {missing} was kept as a head outside, but is gone."
    if number < chain.length or at_end != bytes(chain.head) or not _grown_to(chain, number):
        yield f"Chain {chain.pk}: it ends at entry {number}, but {chain.length} are recorded."


def _other_words(entry: Entry, beside: Iterable[Words]) -> bool:
    """Whether any of the words `beside` is not what the entry has the digest of."""
    return any(salted_digest(said.text, bytes(said.salt)) != entry.facts.get(f"{said.name}_digest") for said in beside)


def _grown_to(chain: Chain, number: int) -> bool:
    """Whether the chain has so many entries, by what was read of it or, since people are at work, by what is recorded now."""
    return number <= chain.length or Chain.objects.filter(pk=chain.pk, length__gte=number).exists()


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
