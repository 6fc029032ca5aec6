"""The attempts of a site or unit as a document: the evidence of reasonable steps, without an opinion.

That attempts are worth keeping: a landlord who was refused entry is not in breach where all reasonable steps were taken and
are evidenced (England, since 1 Nov 2025; read in a secondary page, so the document makes no claim of law).
"""

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from jobsite.documents import Made, make_document
from jobsite.documents.pictures import for_print
from jobsite.firm.queries import the_firm
from jobsite.ledger.files import read_file
from jobsite.ledger.queries import heads
from jobsite.premises.models import Site, Unit
from jobsite.words import day, when
from remedials.visits.models import Attempt
from remedials.visits.queries.getting_in import of_unit
from remedials.visits.queries.visits import begins

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "evidence.typ"


def evidence(site: Site, unit: Unit | None, first: date, last: date, *, now: datetime) -> Made:
    """Every attempt at `site`, or at its `unit` and the site as a whole, from `first` to `last`, both included, the oldest
    first. Raises Refused where it grows beyond all measure.
    """
    rows = Attempt.objects.filter(site=site, at__gte=begins(first), at__lt=begins(last + timedelta(days=1)))
    if unit is not None:
        rows = rows.filter(unit__in=[unit]) | rows.filter(unit=None)
    found = list(rows.select_related("unit", "by", "visit", "photo").order_by("at", "pk"))
    pictures = {f"photo-{at}.jpg": for_print(read_file(row.photo)) for at, row in enumerate(found, 1) if row.photo}
    firm, place = the_firm(), ", ".join(part for part in (of_unit(unit), site.name, site.one_line) if part)
    facts = {
        "firm": [firm.name, *firm.address.splitlines(), firm.phone, firm.email],
        "particulars": [["Place", place], ["Days", f"{day(first)} to {day(last)}"], ["Attempts", str(len(found))]],
        "rows": [_row(at, row, f"photo-{at}.jpg" if row.photo else "") for at, row in enumerate(found, 1)],
    }
    title = "Attempts to get in"
    return make_document(
        TEMPLATE, facts, title=title, about=f"{title}: {place}", firm=firm.name, now=now,
        heads=heads([site.pk]), pictures=pictures,
    )  # fmt: skip


def _row(number: int, row: Attempt, photo: str) -> dict[str, Any]:
    pairs = [
        ["Unit", of_unit(row.unit)],
        ["Whom", row.whom],
        ["By", str(row.by)],
        ["Asked", row.said],
        ["Outcome", "we got in" if row.got_in else "we did not get in" if row.how == "visit" else ""],
        ["Reply", f"{day(row.replied_on)}: {row.reply}" if row.reply else "none on record"],
        ["Next try", day(row.next_on) if row.next_on else ""],
        ["Visit", str(row.visit.number) if row.visit else ""],
        ["Letter kept", f"SHA-256 {row.letter_id}" if row.letter_id else ""],
        ["Written down", when(row.recorded_at)],
    ]
    facts = [pair for pair in pairs if pair[1]]
    return {"number": number, "at": when(row.at), "how": row.get_how_display(), "facts": facts, "photo": photo}
