"""Whether a file is one that this firm made, to the byte, and whether the ledger still says so."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from jobsite.ledger.models import Document, Entry
from jobsite.ledger.queries import heads_not_found, looked_over, told_of_file
from jobsite.ledger.rules import read_heads
from jobsite.ledger.verbs import Verb
from jobsite.words import when

MOST_BYTES = 25 * 1024 * 1024
MOST_HEADS = 20  # a document bears one for each chain that it rests on; more are nobody's of ours
# What we make is told of by these, with what it is called, and which facts two entries share that tell of the same thing.
OURS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    Verb.DOCUMENT_MADE: ("Document", ()),  # its row says more: `_title_and_newer`
    "board-document.made": ("Chart or label of a board", ("board", "kind")),
    "paper.made": ("Letter or confirmation that goes with a report", ()),
    "quote.sent": ("Quote", ()),
    "leaving.written": ("Closing letter", ()),
}

KINDS_WORDS = (
    "How it stands, a schedule of outstanding works, a completion record, a danger notice, as PDF",
    "A summary of many units or of a year, attempts to get in, a copy of a report with personal data left out, as PDF",
    "A quote, a letter or confirmation that goes with a report, a closing letter, a chart or label of a board, as PDF",
    "An archive of our record, whole, as the ZIP that you were given",
)
"""What is known by its bytes, for whoever holds one: each is told of by an entry of a kind in `OURS`."""
NOT_HERE = (
    "A file taken out of an archive, such as its record.pdf, is not known here by itself: check the whole ZIP here, or run "
    "the check.py that lies in it. Spreadsheets and a customer's own personal data are not known here either: ask us."
)


@dataclass(frozen=True)
class Checked:
    """What is known of a file. `made_at` is None where it is none that we made; `kept_at` is set where we have it on record
    all the same, such as a photograph or a report of another firm. `part`: the ledger was not looked at as a whole.
    """

    sha256: str
    size: int
    title: str = ""
    made_at: datetime | None = None
    kept_at: datetime | None = None
    newer_at: datetime | None = None
    faults: tuple[str, ...] = ()
    heads: int = 0
    points_to_us: bool = False
    part: bool = False

    @property
    def ours(self) -> bool:
        """Whether we made just these bytes."""
        return self.made_at is not None

    @property
    def holds(self) -> bool:
        """Whether the ledger holds as far as it was looked at."""
        return not self.faults


def check_document(data: Iterable[bytes], *, most: int | None = None) -> Checked:
    """What is known of the file whose content is `data`, in pieces. Nothing of it is kept.

    The chain that tells of it is recomputed, or, where it is long, the stretches of `most` entries on both sides of that one
    and at its end; and the heads that the file itself bears must still be in the ledger, which finds a ledger that was written
    anew. Five statements and one for each head.
    """
    whole = b"".join(data)
    sha256 = hashlib.sha256(whole).hexdigest()
    told = told_of_file(sha256)
    heads = list(dict.fromkeys(read_heads([whole.decode("latin-1")])))[:MOST_HEADS]
    lost = heads_not_found(heads)
    made = next((entry for entry in told if entry.verb in OURS), None)
    if made is None:
        # What we only received says by whom it was kept; a head of ours in an unknown file, that it was one of ours once.
        kept = told[0].at if told else None
        return Checked(sha256, len(whole), kept_at=kept, points_to_us=len(lost) < len(heads))
    looked = looked_over(made, most=most)
    faults = (*looked.faults, *(f"Its own mark {head.line()} is not in the ledger." for head in lost))
    title, newer_at = _title_and_newer(made)
    return Checked(
        sha256, len(whole), title=title, made_at=made.at, newer_at=newer_at, faults=faults, heads=len(heads),
        part=not looked.whole,
    )  # fmt: skip


def _title_and_newer(made: Entry) -> tuple[str, datetime | None]:
    """What it is called, and when the latest of the same kind about the same thing was made, if that was later."""
    title, alike = OURS[made.verb]
    if made.verb != Verb.DOCUMENT_MADE:
        return title, _newer(made, alike)
    kept = Document.objects.filter(pk=made.subject).first()
    if kept is None:
        return title, None
    # By the documents and not by the entries: the firm's chain is long, and no index of it knows of kinds.
    found = Document.objects.filter(
        kind=kept.kind, site=kept.site, unit=kept.unit, party=kept.party, subject=kept.subject, made_at__gt=kept.made_at
    ).exclude(file=kept.file_id)
    return kept.title, found.order_by("-made_at").values_list("made_at", flat=True).first()


def _newer(made: Entry, alike: tuple[str, ...]) -> datetime | None:
    found = Entry.objects.filter(chain=made.chain, verb=made.verb, number__gt=made.number)
    found = found.filter(**{f"facts__{name}": made.facts[name] for name in alike if name in made.facts})
    for name in alike:
        if name not in made.facts:
            found = found.exclude(facts__has_key=name)
    if not alike:
        found = found.filter(subject=made.subject)
    return found.exclude(facts__file=made.facts["file"]).order_by("-number").values_list("at", flat=True).first()


def in_words(checked: Checked, *, stranger: bool = False) -> Iterator[str]:
    """What was found, in plain sentences, the answer first.

    No stranger is told that just this photograph or another firm's report is on record here, and since when.
    """
    if checked.ours:
        yield f"This is ours, unaltered to the last byte: {checked.title}, made {when(checked.made_at)}."
        if checked.newer_at:
            yield f"A newer one of the same kind was made {when(checked.newer_at)}: ask us for it."
        yield _ledger_words(checked)
    elif checked.kept_at and not stranger:
        yield (
            f"We did not make this file, but just these bytes have been on record with us since {when(checked.kept_at)}, "
            "such as a photograph or a report that somebody else made."
        )
    else:
        yield f"This file is altered, or not one that we made{'' if stranger else ': these bytes are not on record with us'}."
        if checked.points_to_us:
            yield "It bears a mark of our ledger, so it may have been one of ours that was changed, or printed or saved anew."
        yield (
            "Only the very file tells: one that was printed, scanned, saved anew or stamped by a mail program has other "
            "bytes. Open the file as you first received it, or ask us for it."
        )
        yield NOT_HERE


def _ledger_words(checked: Checked) -> str:
    if not checked.holds:
        return "But our ledger does not hold where it tells of it: do not rely on this answer, and ask us. " + " ".join(
            checked.faults[:3]
        )
    marks = " and the mark of the ledger that stands in the file was found in it" if checked.heads else ""
    if checked.part:
        return f"The ledger was recomputed around what tells of it and at its end: it holds as far as it was looked at{marks}."
    return f"The ledger that tells of it was recomputed and holds{marks}."
