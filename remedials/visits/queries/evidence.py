"""The attempts of a site or unit as a document: the evidence of reasonable steps, without an opinion.

That attempts are worth keeping: a landlord who was refused entry is not in breach where all reasonable steps were taken and
are evidenced (England, since 1 Nov 2025; read in a secondary page, so the document makes no claim of law).
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import OuterRef, QuerySet
from django.db.models.functions import Coalesce

from jobsite.documents import Made, make_document
from jobsite.documents.pictures import for_print
from jobsite.firm.queries import the_firm
from jobsite.ledger.files import read_file
from jobsite.ledger.queries import heads
from jobsite.people.names import AsCustomersRead, words_as_customers_read
from jobsite.premises.models import Site, Unit
from jobsite.words import day, when
from remedials.visits.models import Attempt, VisitLine
from remedials.visits.queries.getting_in import of_unit
from remedials.visits.queries.visits import begins

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "evidence.typ"


@dataclass(frozen=True)
class Evidence:
    """What the document says: its facts and pictures, before it is set."""

    title: str
    place: str
    firm: str
    site: Site
    facts: dict[str, Any]
    pictures: dict[str, bytes]


def evidence(site: Site, unit: Unit | None, first: date, last: date, *, now: datetime) -> Made:
    """Every attempt at `site`, or at its `unit` and the site as a whole, from `first` to `last`, both included, the oldest
    first. Raises Refused where it grows beyond all measure.
    """
    return set_evidence(gathered(site, unit, first, last), now=now)


def set_evidence(found: Evidence, *, now: datetime) -> Made:
    """`found` as a PDF. Raises Refused where it grows beyond all measure."""
    return make_document(
        TEMPLATE, found.facts, title=found.title, about=f"{found.title}: {found.place}", firm=found.firm, now=now,
        heads=heads([found.site.pk]), pictures=found.pictures,
    )  # fmt: skip


def gathered(
    site: Site, unit: Unit | None, first: date, last: date, *, seen: Collection[UUID] | None = None
) -> Evidence:
    """What is on record of getting in. `seen`: the units that the reader may see, None for somebody who may see all.

    Of a visit that was for some units only, the attempt is told of those. Five statements at most and the photographs.
    """
    rows = Attempt.objects.filter(site=site, at__gte=begins(first), at__lt=begins(last + timedelta(days=1)))
    found = list(with_units(rows).select_related("unit", "by", "visit", "photo").order_by("at", "pk"))
    if unit is not None:
        whole = seen is None or set(site.units.current().values_list("pk", flat=True)) <= set(seen)
        found = [row for row in found if concerns(row, unit.pk, seen, whole=whole)]
    pictures = {f"photo-{at}.jpg": for_print(read_file(row.photo)) for at, row in enumerate(found, 1) if row.photo}
    reads = words_as_customers_read()
    firm, place = the_firm(), ", ".join(part for part in (of_unit(unit), site.name, site.one_line) if part)
    facts = {
        "firm": [firm.name, *firm.address.splitlines(), firm.phone, firm.email],
        "particulars": [["Place", place], ["Days", f"{day(first)} to {day(last)}"], ["Attempts", str(len(found))]],
        "letters": any(row.letter_id for row in found),
        "rows": [_row(at, row, f"photo-{at}.jpg" if row.photo else "", reads) for at, row in enumerate(found, 1)],
    }
    return Evidence("Attempts to get in", place, firm.name, site, facts, pictures)


def with_units(rows: QuerySet[Attempt]) -> QuerySet[Attempt]:
    """`rows` with `visited`: the units that the visit of each was for."""
    lines = VisitLine.objects.filter(visit=OuterRef("visit"))
    lines = lines.annotate(where=Coalesce("unit", "remedial__unit", "observation__unit"))
    return rows.annotate(visited=ArraySubquery(lines.order_by().values("where").distinct()))


def about_units(row: Any) -> set[UUID]:
    """The units that an attempt (`with_units`) is about; none where it was at the site as a whole."""
    return {row.unit_id} if row.unit_id else set(row.visited)


def concerns(row: Any, unit: UUID, seen: Collection[UUID] | None = None, *, whole: bool = True) -> bool:
    """Whether an attempt (`with_units`) is about `unit`, and about no other than those in `seen` (None: all).

    `whole`: the reader sees the whole site, and so what was tried there for no unit by itself. What is noted at one door may
    name who lives behind another.
    """
    about = about_units(row)
    if not about:
        return whole
    return unit in about and (seen is None or about.issubset(seen))


def _row(number: int, row: Attempt, photo: str, reads: AsCustomersRead) -> dict[str, Any]:
    pairs = [
        ["Unit", of_unit(row.unit)],
        ["Whom", row.whom],
        ["By", reads.name(str(row.by))],
        ["Asked", reads.words(row.said)],
        ["Outcome", "we got in" if row.got_in else "we did not get in" if row.how == "visit" else ""],
        ["Reply", f"{day(row.replied_on)}: {reads.words(row.reply)}" if row.reply else "none on record"],
        ["Next try", day(row.next_on) if row.next_on else ""],
        ["Visit", str(row.visit.number) if row.visit else ""],
        ["Letter kept", f"SHA-256 {row.letter_id}" if row.letter_id else ""],
        ["Written down", when(row.recorded_at)],
    ]
    facts = [pair for pair in pairs if pair[1]]
    return {"number": number, "at": when(row.at), "how": row.get_how_display(), "facts": facts, "photo": photo}
