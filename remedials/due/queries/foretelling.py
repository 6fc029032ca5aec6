"""What figures of reminding would send, from the rows of the due list as they stand: read in heaps, told by the pure rules.

Bounded in statements, whatever the firm's size: rows that are alike are counted by the database.
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db.models import Case, Count, Exists, F, OuterRef, Q, QuerySet, Value, When
from django.db.models.functions import Coalesce, Greatest, Least, TruncDate

from inspections.models import Observation
from jobsite import clock
from jobsite.messages.models import Message
from jobsite.people.models import Competence, User
from jobsite.premises.models import SiteAccess
from remedials.due.models import DueRow, Reminding
from remedials.due.queries.digesting import hearer
from remedials.due.queries.reminding import bare_beside
from remedials.due.queries.rows import NO_DATE
from remedials.due.queries.settings import hours_of
from remedials.due.rules.foretelling import Alike, Digest, Reach, dangers_told, digests_of, said, told
from remedials.due.rules.hearers import Hearer
from remedials.due.rules.levels import Level
from remedials.due.rules.moments import Hours
from remedials.due.rules.sorts import Days, Sort, sort_of

SPAN = 30  # days back, and ahead
DANGER = Q(code="C1", made_safe=False)
ALARM = "alarm"
FACTS_OF_REPORT = ("first_recorded_on", "owner")
TO_CODE = frozenset({Level.OWNER, Level.QUALIFIED})
FACTS = ("kind", "code", "made_safe", "due", "loose", "in_hand_until", "hears", "of_firm", "first", "last")
ByDay = dict[date, Counter[UUID]]


@dataclass(frozen=True)
class Plan:
    """Figures that need not be saved, and the days that they are tried on: 30 before today, and 30 from today on."""

    figures: Reminding
    rules: dict[Sort, Days]
    nation: str
    now: datetime

    @cached_property
    def today(self) -> date:
        """The firm's day."""
        return clock.local_day(self.now)

    @cached_property
    def days(self) -> list[date]:
        """Every day looked at."""
        return [self.today + timedelta(days=n) for n in range(-SPAN, SPAN)]

    @cached_property
    def hours(self) -> Hours:
        """Working days and hours by these figures."""
        return hours_of(self.figures, self.nation, self.days[0], self.days[-1])

    @cached_property
    def digests(self) -> list[Digest]:
        """The digests of these days."""
        return digests_of(self.days[0], self.days[-1], self.hours)


@dataclass
class Foretold:
    """What would be said: lines of digests, messages about danger, letters to customers, by day and whom."""

    lines: ByDay
    dangers: ByDay
    names: dict[UUID, str] = field(default_factory=dict)


def foretell(plan: Plan) -> Foretold:
    """What `plan` would say to the firm's people. At most seven statements."""
    names, staff = working_staff()
    lines = told(heaps(plan, staff), plan.rules, staff, plan.digests)
    dangers = dangers_told(dangers_open(plan), staff, plan.days)
    for day, counts in alarms_told(plan, staff).items():
        dangers.setdefault(day, Counter()).update(counts)
    return Foretold(lines, dangers, names)


def working_staff() -> tuple[dict[UUID, str], list[Hearer]]:
    """Who works at the firm: names, and what reminders ask of them. Two statements."""
    spans: dict[UUID, list[tuple[date, date | None]]] = defaultdict(list)
    for user, since, until in Competence.objects.values_list("user", "since", "until"):
        spans[user].append((since, until))
    people = list(User.objects.filter(is_active=True).order_by("name", "pk"))
    return {person.pk: person.name for person in people}, [hearer(person, tuple(spans[person.pk])) for person in people]


def heaps(plan: Plan, staff: Sequence[Hearer]) -> Iterator[Alike]:
    """The rows of the due list of which something could be said on these days, those alike counted together.

    One statement, read as it comes.
    """
    rows = _facts(_within(plan), plan, staff).values_list(*FACTS).annotate(many=Count("*")).order_by()
    for *facts, count in rows.iterator(chunk_size=5000):
        yield alike(facts, count)


def _within(plan: Plan) -> QuerySet[DueRow]:
    """The rows that stand in the list on any of these days and are near enough to be said."""
    ahead = plan.days[-1] + timedelta(days=max(days.before for days in plan.rules.values()))
    rows = DueRow.objects.filter(shows_from__lte=plan.days[-1], shows_until__gte=plan.days[0])
    return rows.filter(Q(due__lte=ahead) | Q(due=NO_DATE) | Q(loose=True) | DANGER)


def _facts(rows: QuerySet[DueRow], plan: Plan, staff: Sequence[Hearer]) -> QuerySet[DueRow]:
    """`rows` with what the rules ask of each: who has it and sees it, the days on which it stands in the list."""
    lent = [person.key for person in staff if person.subcontractor]
    sees = Q(site__isnull=True) | Exists(SiteAccess.objects.filter(user=OuterRef("owner"), site=OuterRef("site")))
    return rows.annotate(
        hears=Case(When(Q(owner__in=lent) & ~sees, then=None), default=F("owner")) if lent else F("owner"),
        of_firm=Case(When(site__isnull=True, then=Value(True)), default=Value(False)),
        first=Greatest("shows_from", Coalesce("first_recorded_on", "shows_from"), Value(plan.days[0])),
        last=Least("shows_until", Value(plan.days[-1])),
    )


def alike(facts: Sequence[Any], count: int = 1) -> Alike:
    """A heap of rows by `FACTS`."""
    kind, code, made_safe, due, loose, in_hand_until, owner, of_firm, first, last = facts
    return Alike(
        kind=kind,
        sort=sort_of(kind, code, made_safe=made_safe),
        due=None if due == NO_DATE else due,
        loose=loose,
        in_hand_until=in_hand_until,
        owner=owner,
        of_firm=of_firm,
        first=first,
        last=last,
        danger=code == "C1" and not made_safe,
        count=count,
    )


def dangers_open(plan: Plan) -> list[Alike]:
    """Each C1 that is not made safe, by the first row that it leads; what leads none by the first of its work. Two statements."""
    open_now = DueRow.objects.filter(DANGER, observation__isnull=False, shows_from__lte=plan.days[-1])
    rows = _facts(open_now, plan, []).order_by("observation", "due", "kind")
    led: dict[UUID, list[Any]] = {}
    works: dict[UUID, list[Any]] = {}
    for observation, remedial, *facts in rows.values_list("observation", "remedial", *FACTS):
        led.setdefault(observation, facts)
        if remedial:
            works.setdefault(remedial, facts)
    beside = bare_beside(works, led).values()
    return [alike(facts) for facts in led.values()] + [
        replace(alike(works[remedial]), first=max(recorded, plan.days[0])) for remedial, recorded in beside
    ]


def alarms_told(plan: Plan, staff: Sequence[Hearer]) -> ByDay:
    """The messages about reports that may be dangerous, to each person once: on the day of the report, or on that on which
    they come to hear of it; today where none was written. At most two statements.
    """
    alarming = Observation.objects.uncoded().filter(pk=OuterRef("observation"), may_be_dangerous=True)
    rows = DueRow.objects.filter(Exists(alarming), kind="uncoded").values_list("observation", *FACTS_OF_REPORT)
    known = _alarmed([observation for observation, *_ in rows])
    found: ByDay = defaultdict(Counter)
    reach, everybody = Reach(staff), frozenset(person.key for person in staff)
    for observation, recorded, owner in rows:
        report = alike(("uncoded", "", False, recorded, False, None, owner, False, plan.days[0], plan.days[-1]))
        by_day = {day: reach.of(report, owner, TO_CODE, day) or everybody for day in plan.days}
        long_ago = by_day[plan.days[0]] if recorded < plan.days[0] else frozenset()
        _once_each(found, by_day, (day for day in plan.days if recorded <= day < plan.today), long_ago)
        _once_each(found, by_day, plan.days[SPAN:], known[observation])
    return {day: counts for day, counts in found.items() if counts}


def _alarmed(observations: Sequence[UUID]) -> dict[UUID | None, set[UUID]]:
    """Who was written to already about each of these reports. At most one statement."""
    found: dict[UUID | None, set[UUID]] = defaultdict(set)
    if observations:
        written = Message.objects.filter(reason_kind=ALARM, reason_ref__in=observations)
        for observation, person in written.values_list("reason_ref", "to_id"):
            found[observation].add(person)
    return found


def _once_each(
    found: ByDay, by_day: dict[date, frozenset[UUID]], days: Iterable[date], known: Collection[UUID]
) -> None:
    """Count into `found` each person on the first of `days` on which they hear, but for those `known` to have heard."""
    heard = set(known)
    for day in days:
        found[day].update(by_day[day] - heard)
        heard |= by_day[day]


def keys_said(plan: Plan, day: date, person: UUID) -> Iterator[tuple[str, UUID]]:
    """The rows that the digest of `day` would say to `person`, in the list's order, as kind and key. One statement more
    than those of `working_staff`, read as it comes.
    """
    _, staff = working_staff()
    digests = [one for one in plan.digests if one.day == day]
    reach = Reach(staff)
    rows = _facts(_within(plan), plan, staff).order_by("due", "-rank", "kind", "site_id", "ref")
    for kind, ref, *facts in rows.values_list("kind", "ref", *FACTS).iterator(chunk_size=2000):
        one = alike(facts)
        for _, levels in said(one, digests, plan.rules[one.sort]):
            if person in reach.of(one, one.owner, levels, day):
                yield kind, ref


def really_sent(plan: Plan) -> dict[date, Counter[str]]:
    """What really went out on each day: digests, messages about danger, letters about inspections, others. One statement."""
    begin = datetime.combine(plan.days[0], time(0), clock.LONDON)
    rows = Message.objects.filter(state=Message.State.SENT, settled_at__gte=begin).annotate(
        on=TruncDate("settled_at", tzinfo=clock.LONDON), what=_what()
    )
    found: dict[date, Counter[str]] = defaultdict(Counter)
    for on, what, count in rows.values_list("on", "what").annotate(many=Count("*")).order_by():
        found[on][what] = count
    return dict(found)


def _what() -> Case:
    return Case(
        When(occasion__startswith="digest ", then=Value("digests")),
        When(danger=True, to_kind=Message.To.STAFF, then=Value("dangers")),
        When(reason_kind="inspection", to_kind=Message.To.CUSTOMER, then=Value("letters")),
        default=Value("others"),
    )


def counted(by_day: ByDay, days: Iterable[date]) -> Counter[UUID]:
    """The sums over `days` for each person."""
    found: Counter[UUID] = Counter()
    for day in days:
        found.update(by_day.get(day, ()))
    return found
