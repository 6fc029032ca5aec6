"""What a copy of a report says before anybody looked it over, the copies that were made, the papers that one can meet."""

from collections import defaultdict
from typing import Any
from uuid import UUID

from django.db.models import Q

from inspections.choices import Code, Ended, InspectionState, Outcome
from inspections.models import Inspection, Limitation, MadeSafe, Observation, Paper
from inspections.queries.documents import COPY, kind_of
from inspections.queries.shown import NO_PLACE, where
from inspections.rules import Item, required_and_complete
from inspections.standards.editions import Edition
from jobsite.addresses import address
from jobsite.clock import local_day
from jobsite.firm.queries import the_firm
from jobsite.ledger.models import Document
from jobsite.people.models import User
from jobsite.premises.models import Party, Unit
from jobsite.words import day, joined, when
from remedials.status.copies.rules import telling_names
from remedials.status.models import ReportCopy
from remedials.status.rules import completion_words
from remedials.visits.models import OccupierNote
from remedials.works.models import Proof, ProofReview, Remedies
from remedials.works.states import Stage

KIND = "copy"
ENDED = {
    Ended.OTHERS: "Put right by others, {on}.",
    Ended.FINDING: "Investigated, {on}: what was found is an item of its own.",
    Ended.CONTINUED: "Recorded again at a later inspection.",
    Ended.GONE: "Not there any more when it was looked at, {on}.",
    Ended.NO_CODE: "Looked at by a qualified person, {on}: no code.",
}
Texts = dict[str, str]


def said_of(report: Inspection, unit: Unit | None) -> dict[str, Any]:
    """The facts of the copy, of the whole report or of one unit: no name of a person, no price, no note on access.

    Free text stands as it was written: `texts_in` lists it for whoever looks it over. Six statements.
    """
    firm, site = the_firm(), report.site
    rows = Observation.objects.filter(inspection=report, draft=False).exclude(ended=Ended.WITHDRAWN)
    rows = rows.filter(unit=unit) if unit else rows
    found = list(rows.select_related("unit", "board", "circuit").order_by("number"))
    works, safe = _works_of(found, unit), _safe(found)
    written = Outcome(report.outcome_written).label if report.outcome_written else ""
    computed = Outcome(report.outcome).label if report.outcome else ""
    named = unit.name if unit and not unit.whole_site else ""
    return {
        "firm": [line for line in (firm.name, *firm.address.splitlines(), firm.phone, firm.email) if line],
        "place": joined(named, site.name, site.one_line),
        "number": report.number,
        "report": [
            ["Report", f"{report.get_kind_display().capitalize()} {report.number}"],
            ["Inspected", day(report.inspected_on)],
            ["By the firm", report.firm_name or ("another firm" if report.other_firm else firm.name)],
            ["Its own reference", report.reference],
            ["Edition", Edition(report.edition).label],
            ["Assessment", joined(f"{written} as written" if written != computed else "", computed, by="; by its edition ")
             if written else computed],
            ["Next inspection", f"recommended by {day(report.next_due_on)}" if report.next_due_on else ""],
        ],
        "extent": report.extent,
        "items": [_item(row, works.get(row.pk, []), safe.get(row.pk, "")) for row in found],
        "limits": _limits(report, unit),
        "complete": _complete(report) if unit is None else "",
    }  # fmt: skip


def _item(row: Observation, works: list[dict[str, str]], safe: str) -> dict[str, Any]:
    place = where(row, with_unit=not row.unit.whole_site)
    ended = ENDED.get(Ended(row.ended), "") if row.ended else ""
    if row.ended == Ended.REMEDIED and not works:
        ended = "Put right, {on}."
    open_words = f"Open{f', to be put right by {day(row.remedy_by)}' if row.remedy_by and row.code != Code.C3 else ''}."
    return {
        "number": row.number,
        "item": row.item,
        "code": row.code,
        "meaning": Code(row.code).label if row.code else "not coded",
        "where": "" if place == NO_PLACE else place,
        "text": row.text,
        "works": works,
        "stands": ended.format(on=day(row.done_on or row.ended_on)) if row.ended else joined(safe, open_words, by=" "),
    }


def _works_of(rows: list[Observation], unit: Unit | None) -> dict[UUID, list[dict[str, str]]]:
    """What our closed remedials did for each: the work, and when; by whom is left out. Of work that also concerns another
    unit, only that it was done. Three statements.
    """
    pairs = Remedies.objects.filter(observation__in=rows, remedial__stage__in=[Stage.DONE, Stage.REVIEWED])
    found = list(pairs.select_related("remedial").order_by("remedial__number"))
    remedials = {row.remedial_id for row in found}
    proofs = {p.remedial_id: p for p in Proof.objects.filter(remedial__in=remedials, state=Proof.State.STANDS)}
    accepted = ProofReview.objects.filter(proof__in=proofs.values(), decision=ProofReview.Decision.ACCEPTED)
    reviewed = set(accepted.values_list("proof__remedial", flat=True))
    shared = set[UUID]()
    if unit is not None:
        others = Remedies.objects.filter(remedial__in=remedials).exclude(observation__unit=unit)
        shared = set(others.values_list("remedial", flat=True))
    by_observation: dict[UUID, list[dict[str, str]]] = defaultdict(list)
    for row in found:
        proof = proofs.get(row.remedial_id)
        done = f"Done on {day(local_day(proof.done_at))}." if proof else "Done."
        seen = "Its proof was reviewed by a qualified person." if row.remedial_id in reviewed else ""
        certificate = f"Certificate {proof.certificate_number}." if proof and proof.certificate_number else ""
        work = "" if row.remedial_id in shared else row.remedial.work
        words = {"number": str(row.remedial.number), "work": work, "done": joined(done, seen, certificate, by=" ")}
        by_observation[row.observation_id].append(words)
    return by_observation


def _safe(rows: list[Observation]) -> dict[UUID, str]:
    found = MadeSafe.objects.filter(observation__in=rows, ended="").values_list("observation", "at")
    return {key: f"Made safe for now on {day(local_day(at))}." for key, at in found}


def _limits(report: Inspection, unit: Unit | None) -> list[dict[str, str]]:
    rows = Limitation.objects.filter(inspection=report)
    rows = rows.filter(Q(unit=None) | Q(unit=unit)) if unit else rows
    return [{"key": str(row.pk), "what": row.what, "why": row.why} for row in rows.order_by("pk")]


def _complete(report: Inspection) -> str:
    rows = Observation.objects.filter(site=report.site_id, draft=False)
    items = [Item(*row) for row in rows.values_list("pk", "code", "ended", "continues", "inspection")]
    required, complete = required_and_complete(items).get(report.pk, (0, 0))
    return completion_words(complete, required)


# --- its free text ----------------------------------------------------------------------------------------------------


def texts_in(said: dict[str, Any]) -> list[tuple[str, str, str]]:
    """The free text of a copy, in its order: a key that stays, what it is, the words. Empty ones are left out."""
    found = [("place", "Where", said["place"]), ("extent", "Extent", said["extent"])]
    for item in said["items"]:
        what = f"Observation {item['number']}"
        found += [(f"where-{item['number']}", f"{what}: where", item["where"])]
        found += [(f"text-{item['number']}", f"{what}: what", item["text"])]
        found += [(f"work-{item['number']}-{w['number']}", f"{what}: work done", w["work"]) for w in item["works"]]
    for number, limit in enumerate(said["limits"], 1):
        found += [(f"limit-{limit['key']}", f"Not covered, {number}", limit["what"])]
        found += [(f"why-{limit['key']}", f"Why it was not covered, {number}", limit["why"])]
    return [row for row in found if row[2].strip()]


def with_texts(said: dict[str, Any], texts: Texts) -> dict[str, Any]:
    """`said` with `texts` in place of its own, by their keys; what is not among them stays."""

    def of(key: str, own: str) -> str:
        return texts.get(key, own).strip()

    items = [
        item
        | {
            "where": of(f"where-{item['number']}", item["where"]),
            "text": of(f"text-{item['number']}", item["text"]),
            "works": [w | {"work": of(f"work-{item['number']}-{w['number']}", w["work"])} for w in item["works"]],
        }
        for item in said["items"]
    ]
    limits = [
        {"what": of(f"limit-{limit['key']}", limit["what"]), "why": of(f"why-{limit['key']}", limit["why"])}
        for limit in said["limits"]
    ]
    report = [pair for pair in said["report"] if pair[1]]
    return said | {
        "place": of("place", said["place"]), "extent": of("extent", said["extent"]), "items": items, "limits": limits,
        "report": report,
    }  # fmt: skip


def names_around(report: Inspection) -> tuple[str, ...]:
    """The names of people on record at the site of `report` and of the firm, to look for in its words. Four statements."""
    site = report.site_id
    parties = Party.objects.filter(Q(sites=site) | Q(former_sites__site=site) | Q(roles__unit__site=site))
    names = set(parties.values_list("name", flat=True)) | set(User.objects.values_list("name", flat=True))
    names |= set(OccupierNote.objects.filter(site=site).exclude(contact="").values_list("contact", flat=True))
    names |= {report.inspector_name, report.qualified_person_name} - {""}
    limits = Limitation.objects.filter(inspection=report).exclude(agreed_with="")
    return telling_names(names | set(limits.values_list("agreed_with", flat=True)))


# --- copies that were made --------------------------------------------------------------------------------------------


def copies_of(report: Inspection) -> list[dict[str, str]]:
    """The copies made of `report`, the newest first. Two statements."""
    rows = list(Document.objects.filter(kind=KIND, subject=report.pk).order_by("-made_at", "-pk"))
    units = dict(Unit.objects.filter(pk__in=[row.unit for row in rows if row.unit]).values_list("pk", "name"))
    return [
        {
            "href": address("proof:copy", row.pk),
            "title": units.get(row.unit, "one unit") if row.unit else "the whole report",
            "made": when(row.made_at),
        }
        for row in rows
    ]


def papers_to_meet(report: Inspection, unit: UUID | None) -> list[Paper]:
    """The open papers that ask for a copy of `report`: of all its units, or of the one that the copy is about."""
    rows = Paper.objects.open().standing().exclude(owed_by="firm").select_related("unit__site", "request")
    units = [unit] if unit else report.units.values("pk")
    asks = Q(inspection=report) | Q(change__isnull=False)
    return [paper for paper in rows.filter(asks, unit__in=units).order_by("due_on", "pk") if kind_of(paper) == COPY]


def copy_by(document: UUID | None) -> ReportCopy | None:
    """The copy that is kept as `document`. One statement."""
    return ReportCopy.objects.filter(pk__in=[document]).select_related("document__file").first()


def still_in_force(copy: ReportCopy) -> bool:
    """Whether the report that was copied is still the one in force. One statement."""
    return Inspection.objects.filter(pk__in=[copy.document.subject], state=InspectionState.ISSUED).exists()
