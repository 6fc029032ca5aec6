"""The sheet for building control or the network operator: what they commonly ask, from the record; blank where it is not."""

from datetime import datetime
from pathlib import Path
from typing import Any

from inspections.models import Paper
from inspections.queries.documents import letter_facts, place_of, set_paper
from inspections.queries.occupiers import names_of, occupiers_on
from inspections.standards.duties import Trigger
from jobsite.clock import local_day
from jobsite.documents import Made
from jobsite.firm.queries import the_firm
from jobsite.premises.choices import Earthing
from jobsite.premises.models import SecondSource, Supply
from jobsite.refused import Refused
from jobsite.words import day, joined
from remedials.works.choices import Network
from remedials.works.models import Proof, Remedial

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "notification.typ"
TITLES = {
    Trigger.NOTIFIABLE_WORK.value: "Notifiable electrical work: the facts",
    Trigger.CONNECTION.value: "Connected to the supply: the facts",
}
NOT_DONE = "The work is not done: there is nothing to notify yet."


def notification_sheet(paper: Paper, *, now: datetime) -> Made:
    """The sheet for the notification `paper`, as a PDF. What is asked is common practice, from memory: no form of theirs.

    Raises Refused where the work is not done, or was opened again.
    """
    remedial = Remedial.objects.filter(pk=paper.work).first() if paper.work else None
    proof = _proof(remedial) if remedial else None
    if remedial is None or proof is None or paper.answer == "lapsed":
        raise Refused(NOT_DONE)
    operator = paper.trigger == Trigger.CONNECTION
    facts = letter_facts(paper, now=now)
    facts |= {
        "to": [f"To {paper.to}"],
        "where": _where(paper),
        "work": _work(remedial, proof),
        "supply": _supply(paper) if operator else [],
        "sources": _sources(remedial, paper) if operator else [],
        "who": _who(proof),
    }
    about = f"{paper.unit.site.name}, remedial {remedial.number}"
    return set_paper(paper, TEMPLATE, facts, title=TITLES[paper.trigger], about=about, now=now)


def _proof(remedial: Remedial) -> Proof | None:
    rows = remedial.proofs.filter(state=Proof.State.STANDS).select_related("done_by", "review__by")
    return rows.first()


def _where(paper: Paper) -> list[list[str]]:
    unit = paper.unit
    owners = unit.parties.filter(role="owner", until__isnull=True).values_list("party__name", flat=True)
    return [
        ["Address", place_of(unit)],
        ["Kind of premises", unit.get_kind_display()],
        ["Owner", joined(*owners.order_by("party__sort"))],
        ["Occupier", names_of(occupiers_on(unit, paper.event_on or paper.due_on))],
        ["Nation", unit.site.get_nation_display()],
    ]


def _work(remedial: Remedial, proof: Proof) -> list[list[str]]:
    done = proof.done_at
    places = remedial.observations.select_related("board", "circuit")
    boards = {str(row.board) for row in places if row.board}
    ways = {f"{row.circuit.board}, way {row.circuit.way_name}" for row in places if row.circuit}
    stints = remedial.stints.order_by("at").values_list("at", flat=True)
    begun = min([done, *stints])
    return [
        ["What was done", remedial.work],
        ["Where in the installation", joined(*sorted(ways or boards), by="; ")],
        ["Begun", day(local_day(begun))],
        ["Completed", day(local_day(done))],
        ["Certificate", joined(remedial.certificate_kind, proof.certificate_number)],
        ["Standard it was done to", ""],
        ["Our number", f"remedial {remedial.number}"],
    ]


def _supply(paper: Paper) -> list[list[str]]:
    rows = []
    for supply in Supply.objects.filter(site=paper.site_id, retired_at__isnull=True).order_by("sort"):
        fuse = f"{supply.main_fuse_a} A" if supply.main_fuse_a else ""
        earthing = "" if supply.earthing == Earthing.UNKNOWN else supply.earthing
        phases = f"{len(supply.phases)}-phase" if supply.phases else ""
        rows.append(
            [supply.name, joined(phases, f"{supply.voltage} V to earth", fuse and f"main fuse {fuse}", earthing)]
        )
    return [["Supply number (on the bill or the meter)", ""], *rows, ["Greatest demand after this work", ""]]


def _sources(remedial: Remedial, paper: Paper) -> list[dict[str, Any]]:
    """What was connected: the sources on record; for a charging point, or where none is recorded, lines to fill in."""
    if remedial.network == Network.CHARGING_POINT:
        heads = (
            "Maker and model",
            "Rating, in kW or A",
            "Phases",
            "Protection against an open neutral",
            "Load management",
        )
        return [{"name": "Charging point", "facts": [[head, ""] for head in heads]}]
    sources = SecondSource.objects.filter(site=paper.site_id, retired_at__isnull=True).select_related("board")
    found = [
        {
            "name": source.name,
            "facts": [
                ["Kind", source.get_kind_display()],
                ["Rating", f"{source.rating_kw.normalize():f} kW" if source.rating_kw else ""],
                ["Phases", joined(*source.phases)],
                ["Connected at", str(source.board)],
                ["Isolated at", joined(source.isolate_supply_side, source.isolate_source_side, by="; ")],
                *_UNKNOWN,
            ],
        }
        for source in sources.order_by("sort")
    ]
    return found or [{"name": "What was connected", "facts": [["Kind", ""], ["Rating", ""], ["Phases", ""], *_UNKNOWN]}]


_UNKNOWN = [["Maker and model", ""], ["Type-tested reference", ""], ["Commissioned on", ""]]


def _who(proof: Proof) -> list[list[str]]:
    # Not for_customers: building control and the network operator ask who did the work; no customer is handed this sheet.
    firm = the_firm()
    review = getattr(proof, "review", None)
    return [
        ["Firm", joined(firm.name, *firm.address.splitlines())],
        ["Telephone and e-mail", joined(firm.phone, firm.email)],
        ["Registration with a scheme, and its number", ""],
        ["Done by", joined(proof.done_by.name, proof.supervisor_name and f"supervised by {proof.supervisor_name}")],
        ["Proof reviewed by", review.by.name if review and review.decision == "accepted" else ""],
    ]
