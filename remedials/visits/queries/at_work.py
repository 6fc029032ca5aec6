"""What an engineer needs of each work of a visit before touching anything: isolation, what was seen, what was read."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from inspections.models import Observation, ObservationPhoto, Reading
from inspections.queries.readings import in_words, reading_row
from inspections.queries.sheets import latest
from inspections.verbs import Verb
from jobsite.addresses import address
from jobsite.ledger.models import Entry
from jobsite.marks import code_mark
from jobsite.premises.models import Circuit, Site
from jobsite.premises.queries.isolation import each_in_short
from jobsite.words import joined
from remedials.visits.models import Visit
from remedials.works.models import Remedial
from remedials.works.queries.isolating import circuits_needed, worked_on
from remedials.works.queries.locks import locks_of

MOST_PHOTOS = 6
"""Of one work, so that a day of visits stays small enough for the phone."""
Row = dict[str, Any]
Items = Mapping[UUID, Sequence[Observation]]
Needed = Mapping[UUID, Sequence[Circuit]]


def before_work(site: Site, work: Sequence[Remedial], items: Items) -> dict[UUID, Row]:
    """By remedial: "off", "photos" and "readings", as far as there are any. Eleven statements at most, none without work.

    `items`: the observations of each remedial.
    """
    if not work:
        return {}
    needed = circuits_needed(one.pk for one in work)
    off = isolation_of(site, work, items, needed)
    photos = photos_of(work, items)
    readings = readings_of(work, items, needed)
    return {
        one.pk: {"off": off.get(one.pk, {}), "photos": photos.get(one.pk, []), "readings": readings.get(one.pk, [])}
        for one in work
    }


def isolation_of(site: Site, work: Iterable[Remedial], items: Items, needed: Needed) -> dict[UUID, Row]:
    """What to switch off for each work whose power goes off or may have to. Eight statements."""
    asked = {
        one.pk: worked_on(items.get(one.pk, ()), needed.get(one.pk, ())) for one in work if one.power_off is not False
    }
    if not any(asked.values()):
        return {}
    return each_in_short(site, asked, locks=locks_of(site.pk))


def photos_of(work: Iterable[Remedial], items: Items) -> dict[UUID, list[dict[str, str]]]:
    """The pictures of what was found, for each work. One statement."""
    seen = {o.pk: o for found in items.values() for o in found}
    by_observation: dict[UUID, list[ObservationPhoto]] = defaultdict(list)
    for photo in ObservationPhoto.objects.filter(observation__in=seen).order_by("added_at", "pk"):
        by_observation[photo.observation_id].append(photo)
    return {
        one.pk: [_photo(photo, o) for o in items.get(one.pk, ()) for photo in by_observation[o.pk]][:MOST_PHOTOS]
        for one in work
    }


def _photo(photo: ObservationPhoto, seen: Observation) -> dict[str, str]:
    whole = address("inspections:photo", photo.pk)
    return {
        "whole": whole,
        "small": f"{whole}?small",
        "alt": joined(f"Observation {seen.number} as found", photo.caption, by=": "),
    }


def readings_of(work: Iterable[Remedial], items: Items, needed: Needed) -> dict[UUID, list[Row]]:
    """What was read last on the circuits of each work, by circuit: its name and the readings. One statement."""
    circuits = {
        one.pk: list(
            dict.fromkeys(
                [
                    *(o.circuit_id for o in items.get(one.pk, ()) if o.circuit_id),
                    *(c.pk for c in needed.get(one.pk, ())),
                ]
            )
        )
        for one in work
    }
    rows = in_words(latest(Reading.objects.filter(circuit__in={key for keys in circuits.values() for key in keys})))
    by_circuit: dict[UUID, list[Reading]] = defaultdict(list)
    for row in rows:
        if row.circuit_id:
            by_circuit[row.circuit_id].append(row)
    return {
        remedial: [_read(by_circuit[key]) for key in keys if by_circuit[key]] for remedial, keys in circuits.items()
    }


def _read(rows: Sequence[Reading]) -> Row:
    circuit = rows[0].circuit
    assert circuit is not None  # noqa: S101 - gathered by its circuit
    return {"circuit": _named(circuit), "rows": [reading_row(row) for row in rows]}


def _named(circuit: Circuit) -> str:
    return f"{circuit.board.designation}, way {circuit.way_name} ({circuit})"


def found_at(visit: Visit) -> list[Row]:
    """What else was found at the visit, as the record has it, in order. Two statements."""
    entries = Entry.objects.filter(chain=visit.site_id, verb=Verb.SEEN, facts__visit=str(visit.pk))
    keys = list(entries.values_list("subject", flat=True))
    rows = Observation.objects.filter(pk__in=keys).order_by("number") if keys else []
    return [
        {
            "number": str(row.number),
            "mark": code_mark(row.code, row.made_safe and not row.ended, row.ended == "remedied", row.needs_code),
            "text": row.text,
            "href": address("desk:observation", row.pk),
        }
        for row in rows
    ]
