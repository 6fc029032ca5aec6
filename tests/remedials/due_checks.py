"""What must hold of the due list at any time, worked out from the rows that it is about, not from its own SQL."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

import time_machine
from django.test import Client

from inspections.models import Inspection, MadeSafe, Observation, Paper
from jobsite.people.models import Competence, Instrument, User
from jobsite.premises.models import Unit
from remedials.due.models import DueRow, Leaving
from remedials.due.queries import NO_DATE, all_rows, leading_row, page_of_rows, rows_due
from remedials.due.queries.digesting import hearers_on, said_to
from remedials.due.queries.finding import maybe_urgent
from remedials.due.queries.rows import HEAPS
from remedials.due.queries.settings import rules_in_force
from remedials.due.rules.hearers import Hearer, hearers
from remedials.due.rules.levels import Level, heard_by, said_on
from remedials.due.rules.sorts import sort_of
from remedials.quotes.models import Quote
from remedials.visits.models import Attempt, SeeTo, SiteKey, Visit
from remedials.works.models import Remedial, Remedies, Waiting
from tests.remedials.histories import Firm

DANGEROUS = ("C1", "C2", "FI")
BESIDE = ("see-to", "nothing-left", "look-again")  # no step that leads to an end of the defect


def without_next_step(rows: Iterable[DueRow]) -> list[str]:
    """Open dangerous observations of sites in use for which no row leads with an owner who works here and a date, and
    that are no loose end either; and loose ends for which nothing says why.
    """
    of: dict[UUID | None, list[DueRow]] = defaultdict(list)
    by_work: dict[UUID | None, list[DueRow]] = defaultdict(list)
    for row in rows:
        of[row.observation].append(row)
        by_work[row.remedial].append(row)
    carried = defaultdict(list)
    for observation, remedial in Remedies.objects.values_list("observation", "remedial"):
        carried[observation].append(remedial)
    found = []
    for seen in Observation.objects.open().filter(code__in=DANGEROUS, site__archived_at=None):
        mine = of[seen.pk] + [row for key in carried[seen.pk] for row in by_work[key]]
        leads = leading_row(row for row in mine if row.kind not in BESIDE)
        if leads is None:
            found.append(f"{seen.code} {seen.text}: no row")
        elif not leads.loose and (leads.owner is None or not leads.owner.is_active or leads.due == NO_DATE):
            found.append(f"{seen.code} {seen.text}: {leads.kind} without owner or date is no loose end")
    found += [f"{row.kind} {row.subject}: loose without a reason" for row in rows if row.loose and not _why_loose(row)]
    return found


def _why_loose(row: DueRow) -> bool:
    nobody = row.owner is None or not row.owner.is_active
    unbooked = row.kind == "visit" and row.visit is None
    return row.rank >= 2 and (nobody or row.due == NO_DATE or unbooked)


def closed_in_list(rows: Iterable[DueRow]) -> list[str]:
    """Rows about something that is closed, ended, away, or at a site that is archived; and keys that stand twice."""
    rows = list(rows)
    keys = Counter((row.kind, row.ref) for row in rows)
    found = [f"{key} stands twice" for key, count in keys.items() if count > 1]
    seen = {row.observation for row in rows if row.observation}
    seen -= set(Observation.objects.open().filter(pk__in=seen).values_list("pk", flat=True))
    found += [f"{row.kind} {row.subject}: about what has ended" for row in rows if row.observation in seen]
    found += [f"{row.kind}: at an archived site" for row in rows if row.site and row.site.archived_at]
    for kind in {row.kind for row in rows}:
        mine = {row.ref: row for row in rows if row.kind == kind}
        left = mine.keys() - set(OPEN[kind].filter(pk__in=mine).values_list("pk", flat=True))
        found += [f"{kind} {mine[ref].subject}: closed" for ref in left]
    return found


STAGE = {"price": "to-price", "answer": "quoted", "book": "approved", "visit": "booked", "review": "done"}
OPEN: dict[str, Any] = {
    "uncoded": Observation.objects.filter(ended="", code=""),
    "decide": Observation.objects.filter(ended=""),
    "offer-again": Observation.objects.filter(ended=""),
    "notice": Observation.objects.filter(ended="", danger_notices=None),
    "look-again": MadeSafe.objects.filter(ended=""),
    "chase": Waiting.objects.filter(ended_at=None),
    "inspection": Unit.objects.filter(retired_at=None),
    "draft": Inspection.objects.filter(state="draft"),
    "nothing-left": Remedial.objects.filter(stage__in=[*STAGE.values()]),
    "codes": Inspection.objects.filter(state="issued", other_firm=True),
    "paper": Paper.objects.filter(answer=""),
    "notification": Paper.objects.filter(answer="", owed_by="firm"),
    "quote": Quote.objects.filter(offers__state="sent"),
    "confirm": Visit.objects.filter(state="booked"),
    "unclosed": Visit.objects.filter(state="booked"),
    "access": Attempt.objects.exclude(next_on=None),
    "see-to": SeeTo.objects.filter(withdrawn_at=None),
    "key": SiteKey.objects.exclude(out_to=None),
    "instrument": Instrument.objects.filter(archived_at=None),
    "competence": Competence.objects.filter(ended=False, user__is_active=True),
    "letter": Leaving.objects.filter(delivered_on=None, taken_back_at=None),
} | {kind: Remedial.objects.filter(stage=stage) for kind, stage in STAGE.items()}


def disagreements(firm: Firm, client: Client) -> list[str]:
    """What the page, the API and the digest say otherwise of the day."""
    said = []
    for person in (firm.office, firm.engineer):
        user = User.objects.get(pk=person.pk)
        listed = sorted((row.kind, str(row.ref)) for row in rows_due(user, today=firm.today))
        if not user.is_active:
            said += [f"{user} has left and sees {listed}"] if listed else []
            continue
        subjects = [row["subject"] for row in all_rows(rows_due(user, today=firm.today), today=firm.today)]
        if (page := _page(user, firm.today)) != subjects:
            said.append(f"the pages show {page}, the list {subjects}")
        if len(page) != len(listed):
            said.append(f"the page shows {page} of {listed}")
        said += _overlooked(user, firm.today)
        if (api := _api(client, user, firm)) != listed:
            said.append(f"the API says {api}, the list {listed}")
    return said + _digests(firm.today)


def _digests(today: date) -> list[str]:
    """Where a digest after a week without one has other rows than the page, by the rules of who hears of what and when."""
    staff = list(User.objects.filter(is_active=True))
    people, days, since = hearers_on(staff, today), rules_in_force(), today - timedelta(days=7)
    told = said_to(people, since={person.pk: since for person in staff}, days=days, today=today)
    found = []
    for person in staff:
        mine = {key for heap in told.get(person.pk, {}).values() for key in heap.keys}
        meant = {
            (row.kind, row.ref)
            for row in rows_due(person, today=today)
            if person.pk in _hear(row, people, since, today)
        }
        if mine != meant:
            found.append(f"the digest of {person} has {mine - meant} besides, and lacks {meant - mine}")
    return found


def _hear(row: DueRow, people: list[Hearer], since: date, today: date) -> set[UUID]:
    """Who is told of `row` on `today`, by the pure rules."""
    danger = row.code == "C1" and not row.made_safe
    days = rules_in_force()[sort_of(row.kind, row.code, made_safe=row.made_safe)]
    due, loose = None if row.due == NO_DATE else row.due, row.loose
    of_row = {
        "due": due,
        "loose": loose,
        "in_hand_until": None if danger else row.in_hand_until,
        "days": days,
        "today": today,
    }
    levels = heard_by(**of_row)
    if danger:
        levels = frozenset({Level.OWNER, Level.QUALIFIED, Level.MANAGER})
    elif not said_on(**of_row, since=since):
        return set()
    undated = due is None or loose
    return hearers(
        people, kind=row.kind, owner=row.owner_id, levels=levels, no_date_or_loose=undated, today=today,
        of_firm=row.site_id is None,
    )  # fmt: skip


def _overlooked(user: User, today: date) -> list[str]:
    """What stands above the list by its conditions, and was not found by the indexes that the page looks in."""
    leavers = [person.pk for person in User.objects.filter(is_active=False)]
    urgent = rows_due(user, today=today).filter(HEAPS["danger"] | HEAPS["loose"] | HEAPS["uncoded"])
    found = {(row.kind, row.ref) for row in urgent.filter(maybe_urgent(leavers))}
    return [f"not above the list: {row.kind} {row.subject}" for row in urgent if (row.kind, row.ref) not in found]


def _page(user: User, today: date) -> list[str]:
    """The subjects of every row that the page shows, all pages, what is folded opened."""
    rows, after, found = rows_due(user, today=today), "", []
    while True:
        page = page_of_rows(rows, today=today, after=after, user=user, size=5)
        for row in page.rows:
            found += [one["subject"] for one in row.get("folded", [row])]
        after = page.next
        if not after:
            return found


def _api(client: Client, user: User, firm: Firm) -> list[tuple[str, str]]:
    at, found = "/api/v1/due/?page_size=200", []
    with time_machine.travel(firm.now, tick=False):
        client.force_login(user)
        while at:
            answer = client.get(at)
            assert answer.status_code == 200, answer.content
            found += [(row["kind"], row["ref"]) for row in answer.json()["results"]]
            at = answer.json()["next"]
    return sorted(found)
