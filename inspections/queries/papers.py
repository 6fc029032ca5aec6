"""What is owed in writing, in words: one paper with who has it, the papers of a report, of a site, of who moved in."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from inspections.choices import PaperAnswer, SupplyCame
from inspections.models import Inspection, InspectionDue, OccupancyChange, Paper, PaperSupply
from inspections.queries import shown
from inspections.queries.documents import WORDS, goes_with, kind_of, report_of, with_it
from inspections.queries.mailing import REASON
from inspections.queries.occupiers import occupiers_on
from inspections.standards.duty_rows import FIRM
from jobsite.addresses import address
from jobsite.messages.models import Message
from jobsite.messages.queries import sent_last
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, Site, Unit
from jobsite.words import day, joined, late, near_day, when

CHANGES_SHOWN = 20
SHOWN_AT_SITE = 200
TO_OCCUPIERS = ("each existing tenant", "the tenant", "the contract-holder", "the new tenant")


def occupancy_page(unit: Unit, today: Any) -> dict[str, Any]:
    """What the page of a unit's occupancy shows: how the last report stands, and every change with its papers.

    Three statements whatever the size.
    """
    due = InspectionDue.objects.filter(unit=unit).select_related("after").first()
    changes = OccupancyChange.objects.filter(unit=unit).select_related("occupier").prefetch_related("papers")
    return {
        "report": report_words(due),
        "basis": due.basis if due else "",
        "changes": [_change(change, today) for change in changes.order_by("-since", "-pk")[:CHANGES_SHOWN]],
    }


def report_words(due: InspectionDue | None) -> str:
    """How the last report of a unit stands, in a sentence."""
    if due is None or due.after is None:
        return "No report is on record for it."
    return f"The last report on record is of {day(due.after.inspected_on)}; the next inspection is due by {day(due.due_on)}."


def _change(change: OccupancyChange, today: Any) -> dict[str, Any]:
    granted = f"tenancy granted on {day(change.tenancy_granted_on)}" if change.tenancy_granted_on else ""
    return {
        "head": f"{change.occupier or 'Somebody'} moves in on {day(change.since)}",
        "granted": granted,
        "papers": [paper_row(paper, today) for paper in sorted(change.papers.all(), key=lambda p: (p.due_on, p.what))],
    }


def paper_row(paper: Paper, today: Any) -> dict[str, str]:
    """One paper: what, to whom, by when and why, and what became of it."""
    done = f"{paper.get_answer_display()} on {day(paper.answered_on)}: {paper.how}" if paper.answer else ""
    return {
        "what": paper.what,
        "to": joined(paper.to, paper.named and f"({paper.named})", by=" "),
        "about": paper.about,
        "owed_by": paper.owed_by,
        "by": near_day(paper.due_on, today),
        "late": "" if paper.answer else late(paper.due_on, today),
        "basis": paper.basis,
        "rule": rule_of(paper.basis),
        "done": done,
        "anew": f"Owed anew since {when(paper.superseded_at)}: {paper.superseded_why}" if paper.superseded_at else "",
        "href": address("inspections:paper", paper.pk),
    }


def rule_of(basis: str) -> str:
    """The name of the rule, with which its basis begins."""
    return basis.partition(": ")[0]


# --- the papers of a report, and of a site ----------------------------------------------------------------------------


def papers_of(inspection: Inspection, today: date) -> list[dict[str, str]]:
    """The papers of a report and of its works, those that stand first, with the unit where there are several.

    One statement.
    """
    rows = list(Paper.objects.filter(inspection=inspection).select_related("unit").order_by(*_ORDER))
    return _rows(rows, today)


def papers_at(site: Site, today: date) -> list[dict[str, Any]]:
    """All papers of a site under their heads: open, met, of former times. One statement."""
    rows = list(Paper.objects.filter(site=site).select_related("unit").order_by(*_ORDER)[:SHOWN_AT_SITE])
    open_ones = [row for row in rows if not row.answer]
    met = [row for row in rows if row.answer in (PaperAnswer.DONE, PaperAnswer.NOT_NEEDED) and not row.superseded_at]
    rest = [row for row in rows if row not in open_ones and row not in met]
    heads = [("Still to be given", open_ones), ("Given, or not needed", met), ("Past, lapsed or owed anew", rest)]
    return [{"head": head, "rows": _rows(part, today)} for head, part in heads if part]


_ORDER = ("superseded_at", "due_on", "unit__sort", "what", "pk")


def _rows(rows: list[Paper], today: date) -> list[dict[str, str]]:
    several = len({row.unit_id for row in rows}) > 1
    named = ("" if row.unit.whole_site and not several else row.unit.name for row in rows)
    return [paper_row(row, today) | {"unit": unit} for row, unit in zip(rows, named, strict=True)]


# --- one paper --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Candidate:
    """Somebody who may be named when a paper is handed over: a key for the form, a name, what they are."""

    key: str
    name: str
    what: str
    party: Party | None = None
    has_it: bool = False
    must: bool = False

    @property
    def label(self) -> str:
        """As it stands in the form."""
        return joined(self.name, self.what, "recorded already" if self.has_it else "")


def candidates(paper: Paper) -> list[Candidate]:
    """To whom a paper goes, those it must reach first, then those it may be passed on by. Three statements at most."""
    has = {row.to for row in paper.supplies.all() if not row.taken_back_at and row.came != SupplyCame.EMAILED}
    found = [Candidate(str(p.pk), p.name, what, p, p.name in has, must) for p, what, must in _parties(paper)]
    if words := _in_words(paper, found):
        found.insert(0, Candidate("words", words, "", None, words in has, must=True))
    return found


def _in_words(paper: Paper, found: list[Candidate]) -> str:
    """Who has no row of their own: an authority, whoever asked, tenants whose names nobody knows."""
    if paper.request_id and paper.request:
        return paper.request.who
    if paper.to in TO_OCCUPIERS and any(one.must for one in found):
        return ""
    return paper.to or ("" if any(one.must for one in found) else "the landlord")


def _parties(paper: Paper) -> list[tuple[Party, str, bool]]:
    """The people on record whom it goes to, or through whom."""
    if paper.owed_by == FIRM:
        return []
    rows: list[tuple[Party, str, bool]] = []
    if paper.change_id and paper.change and paper.change.occupier and paper.to in TO_OCCUPIERS:
        rows.append((paper.change.occupier, "moves in", True))
    elif paper.to in TO_OCCUPIERS:
        rows += [(party, "occupier", True) for party in occupiers_on(paper.unit, paper.event_on or paper.due_on)]
    for_landlord = not paper.to
    roles = [RoleAtUnit.OWNER, RoleAtUnit.AGENT]
    parts = paper.unit.parties.filter(Q(until__isnull=True), role__in=roles).select_related("party")
    known = {party.pk for party, _, _ in rows}
    for part in parts.order_by("party__sort", "pk"):
        if part.party_id not in known:
            rows.append((part.party, part.get_role_display(), for_landlord and part.role == RoleAtUnit.OWNER))
            known.add(part.party_id)
    return rows


def paper_page(paper: Paper, today: date) -> dict[str, Any]:
    """What the page of one paper shows: what is owed and why, its document, who has it. Six statements at most."""
    row, kind, report = paper_row(paper, today), kind_of(paper), report_of(paper)
    title = paper.what[:1].upper() + paper.what[1:]
    facts = [
        ("To", row["to"]), ("About", paper.about), ("Owed by", "the firm" if paper.owed_by == FIRM else f"the {paper.owed_by}"),
        ("By", row["by"]), ("Rule", paper.basis), ("So far", row["done"]), ("Since", row["anew"]),
    ]  # fmt: skip
    later = Paper.objects.filter(
        inspection__replaces=paper.inspection, unit=paper.unit, duty=paper.duty
    ) | Paper.objects.standing().filter(
        inspection=paper.inspection, request=paper.request, work=paper.work, unit=paper.unit, duty=paper.duty
    )
    after = later.exclude(pk=paper.pk).first() if paper.superseded_at else None
    return {
        "title": title,
        "late": row["late"],
        "facts": [(head, said) for head, said in facts if said],
        "report": {"title": shown.title(report), "href": shown.at(report)} if report else None,
        "report_file": address("inspections:file", report.pk) if report and goes_with(paper) else "",
        "document": WORDS.get(kind, ""),
        "with": with_it(paper) if kind != "notice" else "",
        "documents": _documents(paper),
        "supplies": supply_rows(list(paper.supplies.all())),
        "after": address("inspections:paper", after.pk) if after else "",
        "firms": paper.owed_by == FIRM,
        "handed_over": bool(kind or paper.to),
    }


def _documents(paper: Paper) -> list[dict[str, str]]:
    rows = paper.documents.select_related("made_by").order_by("-made_at")
    return [
        {"href": address("inspections:paper_document", row.pk), "name": row.name, "made": f"{when(row.made_at)}, {row.made_by}"}
        for row in rows
    ]  # fmt: skip


def supply_rows(rows: Iterable[PaperSupply]) -> list[dict[str, Any]]:
    """Who has it, who would not take it, to whom it was only sent: with what became of the message. One statement."""
    rows = list(rows)
    messages = sent_last({row.message for row in rows if row.message}, reason_kind=REASON)
    return [_supply(row, messages.get(row.message) if row.message else None) for row in rows]


def _supply(row: PaperSupply, message: Message | None) -> dict[str, Any]:
    sent = ""
    if message:
        sent = joined(
            f"message {message.number}: {message.get_state_display()}", message.address, when(message.settled_at)
        )
    taken_back = f"Taken back {when(row.taken_back_at)}: {row.taken_back_why}" if row.taken_back_at else ""
    confirm = row.came == SupplyCame.EMAILED and not row.taken_back_at
    return {
        "to": row.to,
        "came": row.get_came_display(),
        "how": "" if row.came == SupplyCame.EMAILED else row.get_how_display(),
        "on": day(row.on),
        "note": row.note,
        "with": row.document.name if row.document else "",
        "file": address("inspections:supply_file", row.pk) if row.file_id else "",
        "file_name": row.file_name or "file",
        "sent": sent,
        "message": address("messages:message", message.pk) if message else "",
        "wrong": bool(message and message.state in ("failed", "unknown", "returned", "dropped")),
        "confirm": confirm,
        "taken_back": taken_back,
        "back": "" if taken_back else address("inspections:supply_back", row.pk),
        "by": f"{row.recorded_by}, {when(row.recorded_at)}",
    }
