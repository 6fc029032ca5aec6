"""What is put on an engineer's phone before they leave: addresses of pages and pictures, visit by visit.

A bounded number of statements, whatever the number of visits (`STATEMENTS`).
"""

import hashlib
from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q

from inspections.models import MadeSafe, Observation, ObservationPhoto
from jobsite import clock
from jobsite.addresses import address
from jobsite.ledger.models import Chain
from jobsite.people.models import User
from jobsite.phone import shell_files
from jobsite.premises.models import Board, Circuit
from jobsite.words import WEEKDAYS
from remedials.desk.queries.phone_pages import AtVisit, of_the_day, pages_of
from remedials.visits.choices import LineKind
from remedials.visits.models import Visit, VisitLine
from remedials.visits.queries.visits import begins
from remedials.works.models import ProofPhoto, Remedies
from remedials.works.queries.isolating import circuits_needed
from remedials.works.states import Stage

STATEMENTS = 10
DAYS = 4  # today and the three after it
MOST_OTHER_BOARDS = 10  # a site with more is a large one: its other boards are looked up where there is signal


def pack(user: User, *, now: datetime) -> dict[str, Any]:
    """The groups of `user`'s phone, that of the day first, then today's visits and the next days', then what is left open.

    Each group has a `stamp` that changes with whatever may change its pages: the record of its site, its visit, the day,
    the version of style and scripts. Ten statements.
    """
    visits = _visits(user, now)
    found = _facts(visits, user)
    heads = _heads(visits)
    today = clock.local_day(now)
    common = (str(user.pk), today.isoformat(), settings.STATIC_VERSION)
    groups = []
    for at in found:
        visit = at.visit
        stamp = _stamp(*common, str(visit.pk), str(visit.version), visit.state, heads.get(visit.site_id, ""))
        groups.append({"name": f"visit {visit.number}", "stamp": stamp, "pages": pages_of(at), "pictures": []})
    for group, pictures in zip(groups, _pictures(found), strict=True):
        group["pictures"] = pictures
    day = {"name": "day", "stamp": _stamp(*common, *(str(g["stamp"]) for g in groups)), "pages": of_the_day()}
    last = today + timedelta(days=DAYS - 1)
    return {
        "person": str(user.pk),
        "made": now.isoformat(timespec="seconds"),
        "visits": len(visits),
        "version": settings.STATIC_VERSION,
        "shell": [*shell_files(), {"address": address("phone:nothing")}],
        "until": WEEKDAYS[last.weekday()],
        "groups": [{**day, "pictures": []}, *groups],
    }


def _stamp(*parts: str) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:16]


def _visits(user: User, now: datetime) -> list[Visit]:
    """Theirs of today and the next days by the hour, then those past with something not closed. One statement."""
    today = clock.local_day(now)
    begin, end = begins(today), begins(today + timedelta(days=DAYS))
    mine = Visit.objects.visible_to(user).filter(
        attendances__engineer=user, attendances__cancelled=False, state=Visit.State.BOOKED
    )
    left = Q(end__lte=begin, lines__active=True, lines__remedial__stage=Stage.BOOKED)
    rows = mine.filter(Q(end__gt=begin, start__lt=end) | left).select_related("site").distinct()
    return sorted(rows, key=lambda visit: (visit.end <= begin, visit.start, visit.pk))


def _facts(visits: list[Visit], user: User) -> list[AtVisit]:
    """What each visit is about. Five statements."""
    found = {visit.pk: AtVisit(visit) for visit in visits}
    lines = VisitLine.objects.filter(visit__in=found, active=True).select_related("remedial", "observation")
    for line in lines.order_by("remedial__number", "pk"):
        at = found[line.visit_id]
        if line.kind != LineKind.REMEDIAL:
            at.lines.append(line.pk)
        if line.remedial:
            at.remedials.append(line.remedial)
        if line.observation:
            at.looks.append(line.observation)
    works = [remedial.pk for at in found.values() for remedial in at.remedials]
    items: dict[UUID, list[Observation]] = defaultdict(list)
    links = Remedies.objects.filter(remedial__in=works).order_by("observation__number")
    for link in links.select_related("observation__board", "observation__circuit__board"):
        items[link.remedial_id].append(link.observation)
    needed = circuits_needed(works)
    for at in found.values():
        at.observations = {remedial.pk: items[remedial.pk] for remedial in at.remedials}
        at.needed = {remedial.pk: needed[remedial.pk] for remedial in at.remedials}
        read = [circuit.pk for circuits in at.needed.values() for circuit in circuits]
        at.circuits = list(dict.fromkeys(read + [o.circuit_id for o in at.seen if o.circuit_id]))
    _add_boards(list(found.values()), user)
    return list(found.values())


def _add_boards(found: list[AtVisit], user: User) -> None:
    """The ways of the boards that the visits are about, and the sites' other boards. Two statements."""
    about = {board for at in found for board in at.boards}
    ways: dict[UUID, list[UUID]] = defaultdict(list)
    rows = Circuit.objects.filter(board__in=about, retired_at=None).order_by("board", "way", "pk")
    for board, circuit in rows.values_list("board", "pk"):
        ways[board].append(circuit)
    here: dict[UUID, list[UUID]] = defaultdict(list)
    seen = Board.objects.visible_to(user).current().filter(site__in={at.site for at in found})
    for site, board in seen.order_by("sort", "pk").values_list("site", "pk"):
        here[site].append(board)
    for at in found:
        mine = at.boards
        at.ways = {board: ways[board] for board in mine}
        at.other_boards = [board for board in here[at.site] if board not in mine][:MOST_OTHER_BOARDS]


def _heads(visits: Iterable[Visit]) -> dict[UUID, str]:
    """The end of each site's record. One statement."""
    rows = Chain.objects.filter(pk__in={visit.site_id for visit in visits}).values_list("pk", "length", "head")
    return {site: f"{length}:{bytes(head).hex()}" for site, length, head in rows}


def _pictures(found: list[AtVisit]) -> list[list[str]]:
    """Small pictures for each visit: before the work, proof so far, and what was made safe. Three statements."""
    seen = {o.pk for at in found for o in at.seen}
    works = {remedial.pk for at in found for remedial in at.remedials}
    before = _by(ObservationPhoto.objects.filter(observation__in=seen), "observation", "inspections:photo")
    after = _by(ProofPhoto.objects.filter(remedial__in=works), "remedial", "works:photo")
    safe = MadeSafe.objects.filter(observation__in=seen, ended="", photo__isnull=False)
    made_safe = _by(safe, "observation", "inspections:made_safe_photo")
    return [
        [
            *(src for o in at.seen for src in (*before[o.pk], *made_safe[o.pk])),
            *(s for r in at.remedials for s in after[r.pk]),
        ]
        for at in found
    ]


def _by(rows: Any, of: str, name: str) -> dict[UUID, list[str]]:
    """The addresses of small pictures by what they show."""
    found: dict[UUID, list[str]] = defaultdict(list)
    for owner, key in rows.order_by("pk").values_list(of, "pk"):
        found[owner].append(f"{address(name, key)}?small")
    return found
