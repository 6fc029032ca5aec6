"""A danger notice as it was given, and as the document that is handed over.

What it says is kept with the notice: observations are coded anew, photographs added, people and firms renamed, and still
the paper that somebody signed can be made again, byte for byte. Only the answer is added when it comes.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from inspections.choices import Code, NoticeAnswer
from inspections.models import DangerNotice, Observation
from inspections.queries import shown
from jobsite.documents import Made, make_document
from jobsite.documents.pictures import for_print
from jobsite.documents.printing import printable
from jobsite.firm.queries import the_firm
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Entry, StoredFile
from jobsite.ledger.rules import Head, canonical
from jobsite.people.models import User
from jobsite.people.names import words_as_customers_read
from jobsite.premises.models import Site
from jobsite.words import joined, many, when

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "notice.typ"
PHOTOS_EACH, PHOTOS_IN_ALL = 4, 12


def as_given(about: Iterable[Observation], *, site: Site, by: User) -> dict[str, Any]:
    """What a notice says beside its own words, for the row: firm, site, who gave it, what was found. Three
    statements for the firm, its people and the site, three for each observation.
    """
    firm, reads = the_firm(), words_as_customers_read()
    return {
        "firm": [firm.name, firm.address, joined(firm.phone, firm.email)],
        "site": [site.name, site.one_line],
        "by": reads.name(by.name),
        "found": [reads.everywhere(_found(row)) for row in sorted(about, key=lambda row: row.number)],
    }


def _found(observation: Observation) -> dict[str, Any]:
    code = observation.code
    held = observation.made_safes.filter(ended="").first()
    photos = observation.photos.order_by("added_at", "pk")
    return {
        "number": observation.number,
        "code": code,
        "meaning": Code(code).label if code else "not coded yet",
        "where": shown.where(observation, with_unit=not observation.unit.whole_site),
        "text": observation.text,
        "held": _held(held) if held else "",
        "photos": [{"file": photo.file_id, "caption": photo.caption} for photo in photos],
    }


def _held(held: Any) -> str:
    lock, key = held.lock and f"lock {held.lock}", held.key_holder and f"key held by {held.key_holder}"
    return joined(
        f"{held.get_how_display().capitalize()}: {held.what}", lock, key, f"agreed with {held.agreed_with}", by="; "
    )


@dataclass(frozen=True)
class Wording:
    """All that the document of a notice says, before it is set; `found` names its pictures by their files."""

    facts: Mapping[str, Any]
    found: list[dict[str, Any]]
    firm: str
    site: str
    made_at: datetime
    heads: list[Head]

    @property
    def said(self) -> str:
        """A hash that is the same as long as all this is, without a picture read or anything set."""
        marks, made = [head.line() for head in self.heads], when(self.made_at)
        whole = {"facts": self.facts, "found": self.found, "firm": self.firm, "site": self.site}
        return hashlib.sha256(canonical(printable({**whole, "heads": marks, "made": made}))).hexdigest()


def wording(notice: DangerNotice, *, copy: bool = False) -> Wording:
    """What `notice` says as it was given, with its answer. One statement; more for one without what it said then.

    `copy`: for whoever holds a private link, which people pass on: what, where, why and what is advised, but not to whom it
    was given, who answered what, the lock or who holds its key. Those stand in the notice itself, given to whom it concerns.
    """
    given = notice.as_given or as_given(
        notice.observations.select_related("unit", "board", "circuit"), site=notice.site, by=notice.given_by
    )
    firm, site = given["firm"], given["site"]
    facts = {
        "number": notice.number,
        "firm": [line for line in firm if line],
        "site": joined(*site),
        "given": [
            ["Given", when(notice.given_at)],
            *([] if copy else [["To", notice.given_to]]),
            ["How", notice.get_how_display()],
            ["By", joined(given["by"], firm[0], firm[2])],
        ],
        "why": notice.why,
        "advised": notice.advised,
        "answer": _answer(notice, copy=copy),
        "refused": notice.answer == NoticeAnswer.REFUSED,
    }
    found = given["found"]
    if copy:  # of how it is made safe only the first words, without what, lock and key: see `_held`
        facts, found = facts | {"copy": True}, [one | {"held": one["held"].partition(":")[0]} for one in found]
    return Wording(facts, found, firm[0], site[0], notice.answered_at or notice.given_at, _head(notice))


def notice_document(notice: DangerNotice) -> Made:
    """The notice as a PDF, with its answer or lines to sign. The same notice makes the same bytes."""
    return set_notice(wording(notice))


def set_notice(says: Wording) -> Made:
    """The PDF of what a notice says."""
    found, pictures = _with_pictures(says.found)
    title = f"Danger notice {says.facts['number']}"
    return make_document(
        TEMPLATE, {**says.facts, "found": found}, title=title, about=f"{says.site}, {title.lower()}", firm=says.firm,
        now=says.made_at, heads=says.heads, pictures=pictures,
    )  # fmt: skip


def _answer(notice: DangerNotice, *, copy: bool) -> list[str]:
    """What was answered, in one line, and what was said; nothing where no answer is on record."""
    if not notice.answer:
        return []
    who = f"by {notice.answered_by}" if notice.answered_by and not copy else ""
    line = joined(notice.get_answer_display().capitalize(), when(notice.answered_at), who)
    return [line, "" if copy else notice.answer_note]


def _head(notice: DangerNotice) -> list[Head]:
    """The ledger's last entry about this notice: a head that stays the same, whatever is recorded after."""
    # By subject alone: a site that was merged into another leaves its chain behind.
    entry = Entry.objects.filter(subject=notice.pk).order_by("-at", "-number").first()
    return [Head(entry.chain, entry.number, bytes(entry.hash).hex())] if entry else []


def _with_pictures(found: list[dict[str, Any]]) -> tuple[list[dict[str, Any]], dict[str, bytes]]:
    """What was found with the names of its pictures, and these. One that storage lost is said to be missing."""
    wanted = {photo["file"] for one in found for photo in one["photos"][:PHOTOS_EACH]}
    files = StoredFile.objects.in_bulk(wanted)
    rows, pictures = [], dict[str, bytes]()
    for one in found:
        shown_here = []
        for photo in one["photos"][:PHOTOS_EACH]:
            if len(pictures) < PHOTOS_IN_ALL and (data := _picture(files.get(photo["file"]))):
                name = f"{photo['file']}.jpg"
                pictures[name] = data
                alt = joined(f"Observation {one['number']} as found", photo["caption"], by=": ")
                shown_here.append({"name": name, "caption": photo["caption"], "alt": alt})
        more = len(one["photos"]) - len(shown_here)
        rows.append(one | {"photos": shown_here, "more": f"{many(more, 'more photograph')} on record" if more else ""})
    return rows, pictures


def _picture(stored: StoredFile | None) -> bytes:
    """The photograph for print; nothing where it cannot be read: the notice must be had all the same."""
    if stored is None:
        return b""
    try:
        return for_print(read_file(stored))
    except (OSError, ValueError):
        return b""
