"""Earlier open observations that may be of the same defect: at the same circuit, board or place, in like words."""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db import connection

from inspections.models import Inspection, Observation
from inspections.queries import shown
from inspections.rules import LIKE_ENOUGH, Near, may_be_same, rank_of_same
from jobsite import words
from jobsite.addresses import address

MOST = 3
ALIKE_PLACES = 0.5  # of pg_trgm's similarity: "meter cupboard, hall" is "hall, meter cupboard", not "hall, ceiling"

# The open observations of one site are few and have an index of their own: one over trigrams would not be asked. What
# stands on another board is told apart before any words are compared.
FIND = """
WITH asked AS MATERIALIZED (
    SELECT key, unit, board, circuit, lower(place) AS place, telling_words(text) AS telling
    FROM jsonb_to_recordset(%(asked)s::jsonb) AS a(key text, text text, unit uuid, board uuid, circuit uuid, place text)
)
SELECT a.key, o.id, o.text, similarity(a.telling, o.telling), stand.near
FROM asked a JOIN inspections_observation o ON o.site_id = %(site)s AND o.ended = '' AND NOT o.draft
    AND o.recorded_on <= %(on)s AND (o.inspection_id = %(report)s::uuid) IS NOT TRUE AND o.id <> ALL(%(besides)s::uuid[])
    AND (a.circuit <> o.circuit_id OR a.board <> o.board_id) IS NOT TRUE
CROSS JOIN LATERAL (SELECT CASE
    WHEN a.circuit = o.circuit_id THEN 'circuit'
    WHEN a.board = o.board_id THEN 'board'
    WHEN a.unit <> o.unit_id THEN NULL
    WHEN a.board IS NULL AND o.board_id IS NULL AND a.place = '' AND o.place = '' THEN 'place'
    WHEN similarity(a.place, lower(o.place)) >= %(places)s THEN 'place'
    ELSE 'unit' END AS near) stand
WHERE stand.near IS NOT NULL AND similarity(a.telling, o.telling) >= %(least)s
"""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was noted, or is being typed, with where it stands."""

    key: str
    text: str
    unit: UUID
    board: UUID | None = None
    circuit: UUID | None = None
    place: str = ""


@dataclass(frozen=True, slots=True)
class Alike:
    """An earlier observation that may be of the same defect, how near it stands, and how alike the words are (0 to 1)."""

    id: UUID
    near: Near
    likeness: float


def asked_of(observation: Observation) -> Asked:
    """An observation as it is asked about; its key is the row's."""
    return Asked(
        str(observation.pk),
        observation.text,
        observation.unit_id,
        observation.board_id,
        observation.circuit_id,
        observation.place,
    )


def earlier_like(
    asked: Iterable[Asked],
    *,
    site: UUID,
    on: date,
    report: UUID | None = None,
    besides: Collection[UUID] = (),
) -> dict[str, list[Alike]]:
    """By key of `asked`: the open observations of `site` that may be of the same defect, the likeliest first, at most three.

    Those recorded by `on` (the day of the inspection), but for those of the `report` itself and `besides`. One statement,
    however many are asked about; none for none.
    """
    rows = [one for one in asked if one.text.strip()]
    said = {one.key: one.text for one in rows}
    if not rows:
        return {}
    given: dict[str, Any] = {"site": site, "on": on, "report": report, "besides": list(besides)}
    given |= {"asked": json.dumps([asdict(one) for one in rows], default=str)}
    given |= {"places": ALIKE_PLACES, "least": min(LIKE_ENOUGH.values())}
    found: dict[str, list[Alike]] = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(FIND, given)
        for key, pk, text, likeness, near in cursor.fetchall():
            if may_be_same(Near(near), likeness, said[key], text):
                found[key].append(Alike(pk, Near(near), likeness))
    return {key: sorted(many, key=_likeliest)[:MOST] for key, many in found.items()}


def in_draft(inspection: Inspection, asked: Asked) -> list[Alike]:
    """The earlier ones that what is being noted on a draft may be, without those that it has noted again. Two statements."""
    taken = inspection.observations.exclude(continues=None).values_list("continues", flat=True)
    found = earlier_like(
        [asked], site=inspection.site_id, on=inspection.inspected_on, report=inspection.pk, besides=list(taken)
    )
    return found.get(asked.key, [])


def _likeliest(one: Alike) -> tuple[float, UUID]:
    return (-rank_of_same(one.near, one.likeness), one.id)


def proposals(found: Iterable[Alike], *, today: date) -> list[dict[str, str]]:
    """What was found as rows of ready strings, in its order. One statement."""
    found = list(found)
    rows = Observation.objects.filter(pk__in=[one.id for one in found])
    by_key = {row.pk: row for row in rows.select_related("unit", "board", "circuit", "inspection")}
    return [proposal(by_key[one.id], today=today) for one in found if one.id in by_key]


def proposal(row: Observation, *, today: date) -> dict[str, str]:
    """An earlier observation as a choice: number, code, where, since when, of whose report. No statement."""
    report = row.inspection
    whose = f"{report.firm_name or 'our'} report" if report and report.other_firm else "our report"
    return {
        "id": str(row.pk),
        "number": str(row.number),
        "href": address("desk:observation", row.pk),
        "mark": shown.mark(row),
        "where": shown.where(row, with_unit=not row.unit.whole_site),
        "text": row.text,
        "year": str(row.recorded_on.year),
        "of": f"{whose if report else 'reported'} {words.day(row.recorded_on)}",
        "since": words.since(row.first_recorded_on, today),
    }
