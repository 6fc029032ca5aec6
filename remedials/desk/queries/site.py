"""One site on one page: how it is supplied, what is open, how it stands, what comes next."""

from datetime import date, datetime
from functools import cache
from typing import Any

from django.db.models import BooleanField, ExpressionWrapper, F, OuterRef, Q, QuerySet

from jobsite import clock
from jobsite.addresses import address
from jobsite.ledger.models import Hold
from jobsite.people.models import User
from jobsite.premises.choices import Nation, PremisesKind, Tenure
from jobsite.premises.drawing import drawing_parts
from jobsite.premises.graph import Marks, SupplyGraph
from jobsite.premises.models import Site
from jobsite.premises.queries import count_disagreements, supply_graph
from jobsite.premises.supply_words import board_name, label_words, origin_words, phases_in_full
from jobsite.words import day, near_day, since
from remedials.desk.queries import open_items, standing, visits
from remedials.desk.queries.columns import day_of, joined, listed
from remedials.due.models import Leaving
from remedials.works.models import Remedial, Waiting
from remedials.works.states import WORDS, Stage

REMEDIALS_SHOWN = 60
OVER = (Stage.REVIEWED, Stage.CANCELLED, Stage.BY_OTHERS)


def with_columns(sites: QuerySet[Site], user: User, *, now: datetime) -> QuerySet[Site]:
    """`sites` with all that their page shows `user` beside the drawing and the open items. No statement of their own."""
    return sites.select_related("customer").annotate(
        unit_rows=standing.units_column(),
        report_rows=standing.reports_column(),
        item_rows=standing.items_column(),
        limitation_rows=standing.limitations_column(),
        paper_rows=standing.papers_column(),
        visit_rows=visits.coming_column(user, now=now),
        past_rows=visits.past_column(user, now=now),
        waiting_rows=_waitings(),
        remedial_rows=_remedials(),
        leaving_rows=_leavings(),
        hold_rows=_holds(),
        **visits.access_columns(clock.local_day(now)),
    )


@cache
def _waitings() -> Any:
    waits = Waiting.objects.filter(site=OuterRef("pk"), ended_at__isnull=True).order_by("chase_on", "id")
    return listed(
        waits, on_whom="on_whom", for_what="for_what", reference="reference", promised="promised_for", chase="chase_on",
        owner="owner__name", remedial="remedial_id", observation="observation_id",
    )  # fmt: skip


@cache
def _leavings() -> Any:
    """The closing letter that stands."""
    rows = Leaving.objects.filter(site=OuterRef("pk"), taken_back_at__isnull=True)
    return listed(rows, number="number", why="why", by="deliver_by", delivered="delivered_on", to="delivered_to")


@cache
def _holds() -> Any:
    """The holds in force, on the site or on the whole firm."""
    rows = Hold.objects.filter(Q(site=None) | Q(site=OuterRef("pk")), lifted_at=None).order_by("placed_at", "pk")
    return listed(rows, reason="reason", site="site")


def hold_words(site: Any) -> str:
    """What holds the record of the site, in one sentence; "" where nothing does."""
    said = [f"{row['reason'].rstrip('.')}{'' if row['site'] else ' (the whole firm)'}" for row in site.hold_rows]
    return f"Held: nothing of it is erased. {'; '.join(said)}." if said else ""


@cache
def _remedials() -> Any:
    rows = Remedial.objects.filter(site=OuterRef("pk")).order_by(
        ExpressionWrapper(Q(stage__in=OVER), BooleanField()), F("step_by").asc(nulls_last=True), "-number"
    )
    return listed(
        rows[:REMEDIALS_SHOWN], id="id", number="number", work="work", stage="stage", owner="owner__name", by="step_by"
    )


def site_context(site: Any, user: User, *, now: datetime) -> dict[str, Any]:
    """What the page of `site` (read by `with_columns`) shows. Four statements, and those of the supply graph."""
    today = clock.local_day(now)
    graph = supply_graph(site)
    observations = open_items.open_observations(site)
    rows = open_items.open_rows(observations, open_items.steps_of(site, user, today=today), user, today=today)
    marks = open_items.marks_by_board(observations)
    plain = len(site.unit_rows) == 1 and site.unit_rows[0]["whole"]
    return {
        "site": site,
        "facts": head_facts(site, graph),
        "drawing": drawing_parts(graph, marks) if graph.boards else None,
        "drawing_marks": marks,
        "labels": count_disagreements(site, graph),
        "boards": board_rows(graph, marks),
        "open": [row for row in rows if row["letters"] != "C3"],
        "improvements": [row for row in rows if row["letters"] == "C3"],
        "open_count": len(rows),
        "oldest": since(min(row.first_recorded_on for row in observations), today) if observations else "",
        "required": open_items.action_required(observations, today),
        "assessments": standing.assessments(site.report_rows, site.item_rows),
        "reports": standing.report_rows(site.report_rows),
        "limitations": standing.limitation_rows(site.limitation_rows),
        "next_inspections": standing.next_inspections(site.unit_rows, today),
        "papers": standing.paper_rows(site.paper_rows, today),
        "moves_in": address("inspections:occupancy", site.unit_rows[0]["id"]) if plain else "",
        "units": [] if plain else [_unit(unit) for unit in site.unit_rows],
        "visits": [visits.visit_row(visit, now=now) for visit in site.visit_rows],
        "past_visits": [visits.visit_row(visit, now=now) for visit in site.past_rows],
        "access": visits.access_lines(site, user, today),
        "leaving": leaving_words(site),
        "held": hold_words(site),
        "waitings": [_waiting(waiting, today) for waiting in site.waiting_rows],
        "remedials": [_remedial(row, today) for row in site.remedial_rows if row["stage"] not in OVER],
        "finished": [_remedial(row, today) for row in site.remedial_rows if row["stage"] in OVER],
    }


def leaving_words(site: Any) -> dict[str, str]:
    """That our part here ends or has ended, with the page that says more; nothing where it goes on."""
    if not site.leaving_rows:
        return {}
    row = site.leaving_rows[0]
    why = Leaving.Why(row["why"]).label
    if row["delivered"]:
        words = f"Our part here ended on {day(day_of(row['delivered']))} ({why}): closing letter {row['number']}, to {row['to']}."
    else:
        words = f"Our part here is to end ({why}): closing letter {row['number']} is to be delivered by {day(day_of(row['by']))}. Until then all stays in the lists."
    return {"words": words, "href": address("due:leaving", site.pk)}


def head_facts(site: Any, graph: SupplyGraph) -> str:
    """The line below the site's name: address, customer, tenure and nation, how it is supplied."""
    nation = Nation(site.nation).label
    kinds = {(unit["kind"], unit["tenure"]) for unit in site.unit_rows}
    premises = ""
    if len(kinds) == 1:
        kind, tenure = kinds.pop()
        premises = joined(PremisesKind(kind).label, "" if tenure == Tenure.NOT_A_HOME else Tenure(tenure).label)
    supplies = [joined(*origin_words(origin)) for origin in graph.origins]
    place = site.one_line
    return joined(place, f"customer {site.customer.name}", joined(premises, nation), *supplies, by=" · ")


def board_rows(graph: SupplyGraph, marks: Marks) -> list[dict[str, Any]]:
    """The boards of a site as a list, with their open items."""
    return [
        {
            "name": board_name(board),
            "href": board.href,
            "label": label_words(board),
            "place": joined(board.place, phases_in_full(board.phases)),
            "open": open_items.tally(marks.get(board.id, ())),
        }
        for board in graph.boards
        if not board.retired
    ]


def _unit(unit: dict[str, Any]) -> dict[str, str]:
    return {
        "name": unit["name"],
        "href": address("premises:unit_edit", unit["id"]),
        "moves_in": address("inspections:occupancy", unit["id"]),
        "what": joined(PremisesKind(unit["kind"]).label, Tenure(unit["tenure"]).label),
    }


def _waiting(waiting: dict[str, Any], today: date) -> dict[str, str]:
    remedial = waiting["remedial"]
    promised = day_of(waiting["promised"])
    return {
        "on": waiting["on_whom"],
        "for": joined(waiting["for_what"], waiting["reference"] and f"reference {waiting['reference']}"),
        "href": address("desk:remedial", remedial) if remedial else address("desk:observation", waiting["observation"]),
        "promised": f"promised for {near_day(promised, today)}" if promised else "",
        "chase": f"{waiting['owner'] or 'nobody'} chases {near_day(day_of(waiting['chase']), today)}",
    }


def _remedial(row: dict[str, Any], today: date) -> dict[str, str]:
    over = row["stage"] in OVER
    return {
        "number": str(row["number"]),
        "work": row["work"],
        "key": row["id"],
        "href": address("desk:remedial", row["id"]),
        "stage": WORDS[Stage(row["stage"])],
        "who": "" if over else row["owner"] or "nobody",
        "by": "" if over else near_day(day_of(row["by"]), today),
    }
