"""What a document is going to say, before it is set: its facts, and which pictures stand in it."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any
from uuid import UUID

from jobsite.documents.printing import printable
from jobsite.ledger.documents import About
from jobsite.ledger.rules import canonical
from remedials.status.proof.kinds import Kind

TEMPLATES = Path(__file__).resolve().parent.parent / "documents"
TEMPLATE_OF = {Kind.STATUS: "standing", Kind.OUTSTANDING: "standing"}


@dataclass(frozen=True)
class Said:
    """All that a document says but the instant: two that are equal are the same document.

    `pictures`: the SHA-256 of the stored photograph by the name under which the facts call it. `place` stands at the foot
    of each page.
    """

    kind: Kind
    title: str
    place: str
    firm: str
    facts: Mapping[str, Any]
    on: date
    site: UUID | None = None
    unit: UUID | None = None
    party: UUID | None = None
    subject: UUID | None = None
    year: int | None = None
    pictures: Mapping[str, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """The kind under which it is kept: another year is another document, and no newer one."""
        return f"{self.kind}-{self.year}" if self.year else str(self.kind)

    @property
    def template(self) -> Path:
        """The file that sets it."""
        return TEMPLATES / f"{TEMPLATE_OF.get(self.kind, self.kind)}.typ"

    @property
    def about(self) -> About:
        """What is kept of it beside the file."""
        whole = printable({"title": self.title, "place": self.place, "firm": self.firm, "facts": dict(self.facts)})
        said = hashlib.sha256(canonical({**whole, "pictures": dict(self.pictures)})).hexdigest()
        return About(
            self.name, said, site=self.site, unit=self.unit, party=self.party, subject=self.subject, as_of=self.on
        )
