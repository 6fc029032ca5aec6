"""The record of an archive, made of what was gathered: as sections for a program, as text, as a PDF."""

import json
import logging
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from jobsite.documents import make_document
from jobsite.documents.pictures import for_print
from jobsite.ledger.rules import Head
from jobsite.refused import Refused
from remedials.status.bundles.telling import Section

log = logging.getLogger(__name__)
MOST_PICTURES = 120  # in the PDF; all of them are in the archive
TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "record.typ"
CAUTION = (
    "Electrical work is dangerous. This is a record: no instruction to work, and no statement that anything is safe or dead today. "
    "Work is for competent people, by the firm's own procedure for safe isolation and the rules of the place."
)


@dataclass
class Record:
    """What is told, ready to be set: `under` are lines below the title, `legend` says what the letters of chains stand for.

    `pictures`: photographs for print, by the hash of the whole ones; of those that rows name and are not here only the name stands.
    """

    title: str
    about: str
    firm: str
    under: list[str]
    lead: list[str]
    sections: list[Section]
    heads: list[Head]
    legend: list[str] = field(default_factory=list)
    state: dict[str, Any] = field(default_factory=dict)
    pictures: dict[str, bytes] = field(default_factory=dict)

    def files(self, *, now: datetime, in_order: Iterable[str]) -> dict[str, bytes]:
        """The record as PDF, text and JSON, and the heads.

        One that is too long to be set goes without the PDF: the text says the same, and a proof that cannot be had is none.
        """
        return {
            **self._pdf(now),
            "record.txt": ("\n".join([*self._lines(), "", "IN ORDER", *in_order]) + "\n").encode(),
            "record.json": json.dumps(self._plain(), indent=1, sort_keys=True, ensure_ascii=False).encode(),
            "heads.txt": "".join(f"{head.line()}\n" for head in self.heads).encode(),
        }

    def _pdf(self, now: datetime) -> dict[str, bytes]:
        try:
            made = make_document(
                TEMPLATE,
                self._facts(),
                title=self.title,
                about=self.about,
                firm=self.firm,
                now=now,
                heads=self.heads,
                pictures={f"{key}.jpg": data for key, data in self.pictures.items()},
            )
        except Refused:
            log.warning("%s: too long for a PDF", self.title)
            return {}
        return {"record.pdf": made.pdf}

    def _facts(self) -> dict[str, Any]:
        return {
            "under": self.under,
            "lead": self.lead,
            "sections": [self._section(section) for section in self.sections],
            "legend": self.legend,
            "caution": CAUTION,
        }

    def _section(self, section: Section) -> dict[str, Any]:
        rows = [
            {
                "head": row.head,
                "code": row.code,
                "lines": [line for line in row.lines if line],
                "refs": _refs(row.refs),
                "pictures": [{"name": f"{key}.jpg", "alt": alt} for key, alt in row.pictures if key in self.pictures],
            }
            for row in section.rows
        ]
        return {"title": section.title, "none": section.none, "note": section.note, "rows": rows}

    def _plain(self) -> dict[str, Any]:
        sections = [section.plain() for section in self.sections]
        return {"title": self.title, "under": self.under, "lead": self.lead, "sections": sections, "state": self.state}

    def _lines(self) -> Iterable[str]:
        yield self.title
        yield from self.under
        yield from ["", *self.lead, "", CAUTION]
        for section in self.sections:
            yield from ["", section.title.upper()]
            if section.note:
                yield section.note
            if not section.rows:
                yield section.none
            for row in section.rows:
                yield from ["", f"{f'{row.code}  ' if row.code else ''}{row.head}  {_refs(row.refs)}".rstrip()]
                yield from (f"    {' '.join(line.split())}" for line in row.lines if line)
        if self.legend:
            yield from ["", "CHAINS", *self.legend]


def _refs(refs: Iterable[str]) -> str:
    rows = list(refs)
    return f"[{', '.join(rows)}]" if rows else ""


def for_the_pdf(record: Record, files: dict[str, bytes]) -> dict[str, bytes]:
    """The first photographs that rows name, small enough for print; one that cannot be read is named only."""
    found = dict[str, bytes]()
    named = [key for section in record.sections for row in section.rows for key, _ in row.pictures]
    for key in list(dict.fromkeys(named))[:MOST_PICTURES]:
        with suppress(KeyError, ValueError):
            found[key] = for_print(files[f"files/{key}.jpg"])
    return found


def heads_of(ends: Mapping[UUID, tuple[int, str]]) -> list[Head]:
    """Heads of chains by their keys."""
    return [Head(chain, number, last) for chain, (number, last) in ends.items()]
