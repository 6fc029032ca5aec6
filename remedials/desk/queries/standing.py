"""How a site stands: its last reports as they were, what of the works they require is confirmed complete, what is next.

An assessment never changes after the fact: remedial work stands beside a report, it does not rewrite it.
"""

from datetime import date
from functools import cache
from typing import Any

from django.db.models import OuterRef

from inspections.choices import InspectionKind, InspectionState, Outcome
from inspections.models import Inspection, Limitation, Observation, Paper
from inspections.queries.papers import rule_of
from inspections.rules import Item, required_and_complete
from inspections.standards.duty_rows import FIRM
from jobsite.addresses import address
from jobsite.premises.models import Unit
from jobsite.words import day, days_late, late
from remedials.desk.queries.columns import day_of, joined, listed

REPORTS_SHOWN = 20
ASSESSING = (InspectionKind.PERIODIC.value, InspectionKind.INITIAL.value)
CHECK_THE_LAW = "Check the current law."


@cache
def reports_column() -> Any:
    """The reports of a site, newest first: for `Site.annotate`."""
    units = Unit.objects.filter(inspections=OuterRef("pk"), whole_site=False).order_by("sort")
    reports = Inspection.objects.filter(site=OuterRef("pk")).exclude(state=InspectionState.REPLACED)
    reports = reports.annotate(its_units=listed(units, name="name"))
    return listed(
        reports.order_by("-inspected_on", "-number")[:REPORTS_SHOWN],
        id="id", number="number", kind="kind", other_firm="other_firm", firm="firm_name", on="inspected_on",
        state="state", outcome="outcome", written="outcome_written", basis="outcome_basis",
        covers="its_units",
    )  # fmt: skip


@cache
def items_column() -> Any:
    """What completion is counted from, open and ended, of a site: for `Site.annotate`."""
    return listed(
        Observation.objects.filter(site=OuterRef("pk"), draft=False), key="id", code="code", ended="ended",
        continues="continues_id", report="inspection_id",
    )  # fmt: skip


@cache
def limitations_column() -> Any:
    """What inspections of a site did not cover and nobody has covered since: for `Site.annotate`."""
    standing = Limitation.objects.standing().filter(inspection__site=OuterRef("pk"))
    return listed(
        standing.order_by("-inspection__inspected_on", "id"),
        what="what", why="why", agreed_with="agreed_with", unit="unit__name", board="board__designation",
        report="inspection__id", on="inspection__inspected_on",
    )  # fmt: skip


@cache
def units_column() -> Any:
    """The units of a site with their next inspections: for `Site.annotate`."""
    return listed(
        Unit.objects.filter(site=OuterRef("pk"), retired_at__isnull=True).order_by("-common_parts", "sort"),
        id="id", name="name", kind="kind", tenure="tenure", whole="whole_site",
        due="inspection_due__due_on", basis="inspection_due__basis", by_law="inspection_due__by_law",
    )  # fmt: skip


def assessments(reports: list[dict[str, Any]], items: list[dict[str, Any]]) -> list[dict[str, str]]:
    """The last assessment of each unit as it was written and computed at issue, newest first, in words."""
    issued = [r for r in reports if r["state"] == InspectionState.ISSUED and r["kind"] in ASSESSING]
    counted = required_and_complete(Item(**item) for item in items)
    seen: set[str] = set()
    last = []
    for report in issued:
        units = {unit["name"] for unit in report["covers"]} or {""}
        if units - seen:
            last.append(_assessment(report, *counted.get(report["id"], (0, 0))))
        seen |= units
    return last


def _assessment(report: dict[str, Any], required: int, complete: int) -> dict[str, str]:
    computed, written = Outcome(report["outcome"]), Outcome(report["written"])
    units = ", ".join(unit["name"] for unit in report["covers"])
    differs = f"The report says {written.label}; by the rule of its edition it is {computed.label}."
    done = f"Confirmed complete: {complete} of {required} that it requires put right."
    outcome = f"{written.label}, as written" if written and written != computed else computed.label
    return {
        "href": address("inspections:inspection", report["id"]),
        "head": f"Report of {day(day_of(report['on']))}{f' ({units})' if units else ''}: {outcome}.",
        "by": report["firm"] if report["other_firm"] else "",
        "differs": differs if written and written != computed else "",
        "basis": report["basis"],
        "done": done if required else "",
    }


def report_rows(reports: list[dict[str, Any]]) -> list[dict[str, str]]:
    """Every report of the site, newest first, in words."""
    return [
        {
            "href": address("inspections:inspection", report["id"]),
            "name": f"{InspectionKind(report['kind']).label.capitalize()} {report['number']}",
            "on": day(day_of(report["on"])),
            "what": "being written" if report["state"] == InspectionState.DRAFT else Outcome(report["outcome"]).label,
            "by": joined(report["firm"] if report["other_firm"] else "", *[unit["name"] for unit in report["covers"]]),
        }
        for report in reports
    ]


def next_inspections(units: list[dict[str, Any]], today: date) -> list[dict[str, str]]:
    """When the next inspection of each unit is due, with the rule that says so; that of some nothing is on record."""
    plain = len(units) == 1 and units[0]["whole"]
    return [
        _next_inspection(unit, "Next inspection" if plain else f"{unit['name']}: next inspection", today)
        for unit in units
    ]


def _next_inspection(unit: dict[str, Any], what: str, today: date) -> dict[str, str]:
    if not unit["due"]:
        return {"head": f"{what}: no date, no inspection that settles one is on record", "late": "", "basis": ""}
    due = day_of(unit["due"])
    return {
        "head": f"{what} by {day(due)}",
        "late": days_late(due, today),
        "basis": joined(unit["basis"].rstrip("."), CHECK_THE_LAW if unit["by_law"] else "", by=". "),
    }


@cache
def papers_column() -> Any:
    """What the law asks for in writing at a site and nobody has answered yet: for `Site.annotate`."""
    open_ones = Paper.objects.open().filter(site=OuterRef("pk")).order_by("due_on", "id")
    return listed(
        open_ones, id="id", what="what", to="to", named="named", about="about", firm="owed_by", due="due_on",
        unit="unit__name", basis="basis",
    )  # fmt: skip


def paper_rows(papers: list[dict[str, Any]], today: date) -> list[dict[str, str]]:
    """Those papers in words."""
    return [
        {
            "href": address("inspections:paper", paper["id"]),
            "what": joined(
                paper["what"], joined(paper["to"], paper["named"] and f"({paper['named']})", by=" "), by=" to "
            ),
            "about": paper["about"],
            "firms": paper["firm"] == FIRM,
            "where": paper["unit"],
            "by": day(day_of(paper["due"])),
            "late": late(day_of(paper["due"]), today),
            "rule": rule_of(paper["basis"]),
        }
        for paper in papers
    ]


def limitation_rows(limitations: list[dict[str, Any]]) -> list[dict[str, str]]:
    """What no inspection has covered yet, why, and with whom that was agreed."""
    return [
        {
            "what": limit["what"],
            "where": joined(limit["board"]),
            "why": joined(limit["why"], limit["agreed_with"] and f"agreed with {limit['agreed_with']}"),
            "since": f"Report of {day(day_of(limit['on']))}",
            "href": address("inspections:inspection", limit["report"]),
        }
        for limit in limitations
    ]
