"""The document of a paper: which it is, what it is made of, and the report that goes with it."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string

from inspections.choices import Outcome
from inspections.models import Inspection, InspectionDue, Paper
from inspections.queries import shown
from inspections.standards.duties import Trigger
from inspections.standards.law import CAUTION
from inspections.verbs import Verb
from jobsite import clock
from jobsite.documents import Made, make_document
from jobsite.firm.queries import the_firm
from jobsite.ledger.models import Entry, StoredFile
from jobsite.ledger.rules import Head
from jobsite.people.names import as_customers_read
from jobsite.premises.models import Unit
from jobsite.refused import Refused
from jobsite.words import day, joined

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "covering.typ"
COPY, CONFIRMATION, NOTICE = "copy", "confirmation", "notice"
NAMES = {COPY: "covering-letter.pdf", CONFIRMATION: "confirmation.pdf", NOTICE: "notification.pdf"}
WORDS = {COPY: "covering letter", CONFIRMATION: "written confirmation", NOTICE: "notification sheet"}
NO_DOCUMENT = "The program makes no document for this one."
LANDLORDS = "The duty is the landlord's; the firm keeps the date and the record."


def kind_of(paper: Paper) -> str:
    """Which document belongs to a paper: COPY, CONFIRMATION, NOTICE; "" where it has none."""
    if paper.trigger == Trigger.COMPLETION:
        return CONFIRMATION
    if paper.trigger in (Trigger.NOTIFIABLE_WORK, Trigger.CONNECTION):
        return NOTICE
    return COPY if "copy." in paper.duty or paper.what == "a copy of the report" else ""


def document_of(paper: Paper, *, now: datetime) -> Made:
    """The document of a paper as its facts stand now. Raises Refused where it has none, or they forbid it."""
    kind = kind_of(paper)
    if kind == COPY:
        return covering_letter(paper, now=now)
    if kind not in settings.DOCUMENTS_OF_PAPERS:
        raise Refused(NO_DOCUMENT)
    make: Callable[..., Made] = import_string(settings.DOCUMENTS_OF_PAPERS[kind])
    return make(paper, now=now)


def file_name_of(paper: Paper) -> str:
    """What its document is called as a file."""
    return NAMES[kind_of(paper)]


def report_of(paper: Paper) -> Inspection | None:
    """The report that it is about: its own, else the last one that settles when its unit is inspected next."""
    if paper.inspection:
        return paper.inspection
    due = InspectionDue.objects.filter(unit=paper.unit_id).select_related("after__file").first()
    return due.after if due and paper.change_id else None


def goes_with(paper: Paper) -> tuple[StoredFile, str] | None:
    """The report's file and its name, where it is kept: it goes with copies and with the confirmation of its works."""
    report = report_of(paper)
    if report is None or report.file is None:
        return None
    ending = "pdf" if report.file.media_type == "application/pdf" else "bin"
    return report.file, f"report-{report.number}.{ending}"


def letterhead() -> list[str]:
    """The firm as a letter names it, line by line. One statement."""
    firm = the_firm()
    return [firm.name, *firm.address.splitlines(), firm.phone, firm.email]


def place_of(unit: Unit) -> str:
    """The unit's name, where it has one of its own, and the address."""
    return joined("" if unit.whole_site else unit.name, unit.site.name, unit.site.one_line)


def addressed_to(paper: Paper) -> list[str]:
    """To whom its document is addressed: the people known by name, else the words of its rule."""
    words = paper.to[:1].upper() + paper.to[1:]
    return [paper.named or words or "The landlord"]


def about_report(report: Inspection) -> list[list[str]]:
    """The particulars of a report for a letter, pairs of a head and its words."""
    written = Outcome(report.outcome_written).label if report.outcome_written else ""
    computed = Outcome(report.outcome).label if report.outcome else ""
    differs = f"{written} as written; {computed} by the rule of its edition"
    who = report.inspector_name or (report.inspector.name if report.inspector else "")
    pairs = [
        ("Report", joined(shown.title(report), report.reference and f"its own reference {report.reference}")),
        ("Inspected", day(report.inspected_on)),
        ("By", joined(who if report.other_firm else as_customers_read().name(who), report.firm_name)),
        ("Assessment", differs if written and written != computed else computed),
        ("Next inspection", f"recommended by {day(report.next_due_on)}" if report.next_due_on else ""),
        ("Extent", report.extent),
    ]
    return [[head, said] for head, said in pairs if said]


def with_it(paper: Paper) -> str:
    """Which report goes with the document: the file that is kept, or which one is to be put with it by hand."""
    report, kept = report_of(paper), goes_with(paper)
    if report is None:
        return ""
    named = f"{shown.title(report)} of {day(report.inspected_on)}"
    if kept is None:
        return f"{named} goes with this. It is not kept here as a file: put the report itself with it."
    return f"{named} goes with this: {kept[1]}, {kept[0].size:,} bytes, SHA-256 {kept[0].hash[:16]}…"


def letter_facts(paper: Paper, *, now: datetime) -> dict[str, Any]:
    """What every document of a paper says: from whom, to whom, when, where, by which rule."""
    return {
        "firm": [line for line in letterhead() if line],
        "to": [*addressed_to(paper), *filter(None, [place_of(paper.unit) if paper.named else ""])],
        "on": day(clock.local_day(now)),
        "place": place_of(paper.unit),
        "basis": paper.basis,
        "caution": f"{LANDLORDS if paper.owed_by != 'firm' else ''} {CAUTION}".strip(),
    }


def covering_letter(paper: Paper, *, now: datetime) -> Made:
    """The letter that goes with a copy of the report. Raises Refused where no report is on record."""
    report = report_of(paper)
    if report is None:
        raise Refused("No report is on record for this unit: there is nothing to send a copy of.")
    facts = letter_facts(paper, now=now)
    facts |= {"report": about_report(report), "with": with_it(paper), "kept": goes_with(paper) is not None}
    title = "A copy of the report on the electrical installation"
    about = f"{paper.unit.site.name}, report {report.number}"
    return set_paper(paper, TEMPLATE, facts, title=title, about=about, now=now)


def set_paper(paper: Paper, template: Path, facts: dict[str, Any], *, title: str, about: str, now: datetime) -> Made:
    """The document of `paper` in `template`, with the ledger's head of what was last recorded of it."""
    return make_document(template, facts, title=title, about=about, firm=facts["firm"][0], now=now, heads=_heads(paper))


def _heads(paper: Paper) -> list[Head]:
    """That its document was made or sent before does not count: the same facts make the same document."""
    told = Entry.objects.filter(subject=paper.pk).exclude(verb__in=[str(Verb.PAPER_MADE), str(Verb.PAPER_MAILED)])
    entry = told.order_by("-at", "-number").first()
    return [Head(entry.chain, entry.number, bytes(entry.hash).hex())] if entry else []
