"""What the digest of each of the firm's people holds on a day: worked out for all of them in one statement over the due list.

The same rules as `rules.levels` and `rules.hearers`, which a test holds it against.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from django.db import connection

from jobsite.people.models import Competence, User
from jobsite.people.rights import Right
from remedials.due.rules.hearers import OF_PRICES, Hearer
from remedials.due.rules.sorts import OF_KIND, Days, Sort

DANGER, PASSED_ON, LOOSE = "Danger present, not made safe", "Passed on to you: nobody has acted", "Loose ends"
HEADINGS = (DANGER, PASSED_ON, LOOSE, "Late", "Today", "This week", "Later", "No date")
MOST_LINES = 40
"""Under one heading: whoever has more of one sort reads the list itself, and the digest says how many more there are."""

KINDS = json.dumps({**OF_KIND, "chase": Sort.CHASE})

Key = tuple[str, UUID]


@dataclass
class Heap:
    """What one person's digest has under one heading: how many rows, and the keys of the first of them."""

    count: int = 0
    keys: list[Key] = field(default_factory=list)
    places: list[tuple[object, ...]] = field(default_factory=list)

    def add(self, other: "Heap") -> None:
        """Take in what another part of the list has under the same heading, in the list's order."""
        both = sorted(zip([*self.places, *other.places], [*self.keys, *other.keys], strict=True))[:MOST_LINES]
        self.count += other.count
        self.places, self.keys = [place for place, _ in both], [key for _, key in both]


Digests = dict[UUID, dict[str, Heap]]

SAID = """
WITH people AS (
    SELECT * FROM unnest(
        %(ids)s::uuid[], %(since)s::date[], %(prices)s::boolean[], %(lent)s::boolean[], %(plans)s::boolean[],
        %(manages)s::boolean[], %(keeps)s::boolean[], %(qualified)s::boolean[], %(priced)s::boolean[], %(wanted)s::boolean[]
    ) AS p(id, since, prices, lent, plans, manages, keeps, qualified, qualified_for_prices, wanted)
),
days AS (
    SELECT * FROM unnest(
        %(sorts)s::text[], %(before)s::int[], %(every)s::int[], %(qualified_after)s::int[], %(manager_after)s::int[]
    ) AS d(sort, before, every, qualified_after, manager_after)
),
open AS MATERIALIZED (
    SELECT d.kind, d.ref, d.site_id, d.owner_id, d.due, d.rank, d.loose, d.in_hand_until,
        g.before, g.every, g.qualified_after, g.manager_after, f.danger, f.undated, f.late, f.priced,
        f.danger OR f.undated OR f.late >= -g.before AS to_owner,
        f.danger OR (NOT f.undated AND COALESCE(f.late >= g.qualified_after, FALSE)) AS to_qualified,
        f.danger OR f.undated OR COALESCE(f.late >= g.manager_after, FALSE) AS to_managers
    FROM due_list d
    CROSS JOIN LATERAL (
        SELECT d.code = 'C1' AND NOT d.made_safe AS danger, d.loose OR d.due = DATE '9999-12-31' AS undated,
            %(today)s::date - d.due AS late, d.kind = ANY(%(of_prices)s::text[]) AS priced
    ) f
    JOIN days g ON g.sort = CASE WHEN d.code = 'C1' AND d.made_safe THEN 'c1-safe'
        WHEN d.code IN ('C1', 'C2', 'FI', 'C3') THEN lower(d.code)
        ELSE COALESCE((%(of_kind)s::jsonb) ->> d.kind, 'desk') END
    WHERE d.shows_from <= %(today)s AND d.shows_until >= %(today)s AND (
        f.danger OR ((d.in_hand_until IS NULL OR d.in_hand_until < %(today)s) AND (
            d.loose OR d.in_hand_until >= %(least_since)s OR (
                f.undated AND %(today_number)s / g.every > %(least_since_number)s / g.every
            ) OR (
                f.late >= LEAST(-g.before, g.qualified_after, g.manager_after) AND (
                    f.late <= 0 OR d.due > %(least_since)s
                    OR f.late / g.every > GREATEST(%(least_since)s::date - d.due, 0) / g.every
                    OR g.qualified_after BETWEEN %(least_since)s::date - d.due + 1 AND f.late
                    OR g.manager_after BETWEEN %(least_since)s::date - d.due + 1 AND f.late
                )
            )
        ))
    ) {part}
),
told AS (
    SELECT p.id AS person, o.kind, o.ref, o.due, o.rank, o.site_id,
        CASE WHEN o.danger THEN 0 WHEN NOT mine.own THEN 1 WHEN o.loose THEN 2 WHEN o.undated THEN 7 WHEN o.late > 0 THEN 3
            WHEN o.late = 0 THEN 4 WHEN o.due <= %(sunday)s THEN 5 ELSE 6 END AS heading
    FROM open o
    LEFT JOIN people w ON w.id = o.owner_id AND (w.prices OR NOT o.priced) AND (NOT w.lent OR o.site_id IS NULL OR EXISTS (
        SELECT 1 FROM premises_siteaccess a WHERE a.site_id = o.site_id AND a.user_id = w.id
    ))
    JOIN people p ON p.wanted AND (p.prices OR NOT o.priced)
    CROSS JOIN LATERAL (
        SELECT o.to_owner AND (p.id IS NOT DISTINCT FROM w.id OR ((w.id IS NULL OR o.undated) AND p.plans)) AS own,
            (o.site_id IS NOT NULL OR p.keeps) AND (
                (o.to_qualified AND CASE WHEN o.priced THEN p.qualified_for_prices ELSE p.qualified END)
                OR (o.to_managers AND p.manages)
            ) AS passed_on
    ) mine
    WHERE (mine.own OR mine.passed_on) AND (
        o.danger OR o.loose OR o.in_hand_until >= p.since
        OR (o.undated AND %(today_number)s / o.every > (p.since - DATE '0001-01-01') / o.every)
        OR GREATEST(p.since - o.due + 1, -o.before) <= LEAST(o.late, 0)
        OR (o.late > 0 AND o.late / o.every > GREATEST(p.since - o.due, 0) / o.every)
        OR o.qualified_after BETWEEN p.since - o.due + 1 AND o.late
        OR o.manager_after BETWEEN p.since - o.due + 1 AND o.late
    )
),
placed AS (
    SELECT t.*, count(*) OVER (PARTITION BY person, heading) AS many,
        row_number() OVER (PARTITION BY person, heading ORDER BY due, rank DESC, kind, site_id, ref) AS place
    FROM told t
)
SELECT person, heading, many, kind, ref, due, -rank, COALESCE(site_id::text, '') FROM placed
WHERE place <= %(most)s ORDER BY person, heading, place
"""


def hearers_on(staff: Iterable[User], today: date) -> list[Hearer]:
    """`staff` by what reminders ask of them on `today`. One statement."""
    competent = set(Competence.objects.on(today).values_list("user", flat=True))
    return [hearer(person, ((date.min, None),) if person.pk in competent else ()) for person in staff]


def hearer(person: User, qualified: tuple[tuple[date, date | None], ...]) -> Hearer:
    """`person` by what reminders ask of them; `qualified`: the first and last days of their competences."""
    return Hearer(
        key=person.pk,
        plans=person.may(Right.PLAN_WORK),
        manages=person.may(Right.KEEP_FIRM),
        prices=person.may(Right.PRICE),
        subcontractor=person.subcontractor,
        qualified=qualified,
    )


def said_to(
    people: Sequence[Hearer],
    *,
    since: dict[UUID, date],
    days: dict[Sort, Days],
    today: date,
    sites: Sequence[UUID | None] | None = None,
) -> Digests:
    """What the digest of `today` says to those of `people` (all who work here) who are in `since`: under each heading how
    many rows, and which come first. One statement.

    `since`: the day of each one's digest before it. `sites`: only rows of these (None: of no site); all where it is None.
    Raises the database's error where a row cannot be worked out.
    """
    if not since:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_statement(sites), _arguments(people, since, days, today, sites))
        rows = cursor.fetchall()
    found: Digests = {}
    for person, heading, many, kind, ref, *place in rows:
        heap = found.setdefault(person, {}).setdefault(HEADINGS[heading], Heap(many))
        heap.keys.append((kind, ref))
        heap.places.append((*place, kind, ref))
    return found


def _statement(sites: Sequence[UUID | None] | None) -> str:
    if sites is None:
        return SAID.format(part="")
    of_none = " OR d.site_id IS NULL" if None in sites else ""
    return SAID.format(part=f"AND (d.site_id = ANY(%(sites)s::uuid[]){of_none})")


def _arguments(
    people: Sequence[Hearer],
    since: dict[UUID, date],
    days: dict[Sort, Days],
    today: date,
    sites: Sequence[UUID | None] | None,
) -> dict[str, Any]:
    ours = [person for person in people if not person.subcontractor]
    qualified = {p.key for p in ours if p.is_qualified(today)} or {p.key for p in ours if p.manages}
    sees = [person for person in ours if person.prices]
    priced = {p.key for p in sees if p.is_qualified(today)} or {p.key for p in sees if p.manages}
    figures = list(days.values())
    return {
        "ids": [p.key for p in people],
        "wanted": [p.key in since for p in people],
        "since": [since.get(p.key, today) for p in people],
        "least_since": min(since.values()),
        "prices": [p.prices for p in people],
        "lent": [p.subcontractor for p in people],
        "plans": [p.plans and not p.subcontractor for p in people],
        "manages": [p.manages and not p.subcontractor for p in people],
        "keeps": [(p.plans or p.manages) and not p.subcontractor for p in people],
        "qualified": [p.key in qualified for p in people],
        "priced": [p.key in priced for p in people],
        "sorts": [sort.value for sort in days],
        "before": [d.before for d in figures],
        "every": [d.every for d in figures],
        "qualified_after": [d.qualified_after for d in figures],
        "manager_after": [d.manager_after for d in figures],
        "of_kind": KINDS,
        "of_prices": sorted(OF_PRICES),
        "today": today,
        "today_number": today.toordinal() - 1,
        "least_since_number": min(since.values()).toordinal() - 1,
        "sunday": date.fromordinal(today.toordinal() + 6 - today.weekday()),
        "most": MOST_LINES,
        "sites": [site for site in sites or () if site],
    }
