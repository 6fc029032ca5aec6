"""What the page foretells is what the clockwork then writes: 30 days of it, day by day, on firms made by chance.

Over the bank holidays of Christmas, over the change to summer time and Easter, over a 29th of February.
"""

import random
from collections import Counter
from datetime import date, datetime, time, timedelta
from uuid import UUID

import pytest

from inspections.models import InspectionDue
from jobsite import clock
from jobsite.messages.models import Message
from remedials.due.models import DueRow, ReminderRule, Reminding
from remedials.due.operations import sweep
from remedials.due.operations.undertaking import have_it
from remedials.due.queries.foretelling import SPAN, Plan, foretell
from remedials.due.queries.foretelling_letters import letters_foretold
from remedials.due.queries.settings import reminding, rules_in_force
from remedials.due.rules.sorts import Sort
from remedials.works.models import Waiting
from tests import factories as make

pytestmark = pytest.mark.django_db
NIGHT, MORNING = time(0, 10), time(8, 0)


def at(day: date, clock_time: time) -> datetime:
    return datetime.combine(day, clock_time, clock.LONDON).astimezone(clock.UTC)


class Firm:
    """People and rows made by chance around the day `begin`."""

    def __init__(self, begin: date, seed: int) -> None:
        self.begin, self.chance = begin, random.Random(seed)
        self.manager = make.make_user("Bess Manager", "manager")
        left = make.make_user("Lena Left", "engineer", is_active=False)
        lent = make.make_user("Sub Contractor", "engineer", subcontractor=True)
        soon = make.make_user("Sina Soon", "engineer")
        make.make_competence(soon, until=self.near(2, 20))
        if seed % 2:
            make.make_qualified("Quinn Proved")
        staff = [make.make_user("Olga Owns", "engineer"), make.make_user("Odo Office", "office"), self.manager]
        self.owners = [*staff, *staff, soon, lent, left, None]
        self.sites = [make.make_site(f"Site {n}", customer=self.customer(n)) for n in range(6)]
        make.grant_access(self.sites[0], lent)

    def customer(self, number: int):
        return make.make_party(f"Customer {number}", email="" if number == 5 else f"c{number}@example.com")

    def near(self, before: int = 45, after: int = 45) -> date:
        return self.begin + timedelta(days=self.chance.randint(-before, after))

    def one(self, things):
        return self.chance.choice(things)

    def fill(self) -> None:
        for _ in range(22):
            self.observation()
        for site in self.sites:
            InspectionDue.objects.update_or_create(
                unit=make.unit_of(site),
                defaults={
                    "due_on": self.near(60, 110),
                    "basis": "as recommended",
                    "by_law": self.one([True, False]),
                    "shows_from": self.near(200, 10),
                    "owner": self.one(self.owners),
                },
            )
            make.make_see_to(site, by=self.near(), owner=self.one(self.owners[:3]))
        for number in range(3):
            make.make_instrument(f"T-{number}", check_due=self.near(20, 60))
        make.make_paper(self.sites[1], due_on=self.near(), by=self.one(self.owners[:3]))
        self.work_on_dangers()
        start = at(self.near(0, 25), time(10))
        make.make_visit(self.sites[2], self.work(), start=start, confirm_by=self.near(20, 5), by=self.manager)

    def work(self):
        seen = make.make_observation(self.sites[2], code="C3", on=self.begin - timedelta(days=70))
        return make.make_remedial(seen, stage="booked")

    def work_on_dangers(self) -> None:
        """Works on several C1, some of them made safe, that share some; one of them waits on somebody by itself."""
        facts = [{"made_safe": self.chance.random() < 0.3, "remedy_by": self.near()} for _ in range(6)]
        seen = [make.make_observation(self.sites[3], code="C1", on=self.begin - timedelta(days=70), **f) for f in facts]
        for some in (seen[:3], seen[2:5], [*seen[4:], seen[0]]):
            make.make_remedial(*some, owner=self.one(self.owners), step_by=self.near())
        days = {"asked_on": self.begin - timedelta(days=60), "chase_on": self.near()}
        Waiting.objects.create(
            site=self.sites[3], observation=seen[2], on_whom="The landlord", for_what="permission", owner=self.one(self.owners),
            recorded_by=self.manager, **days,
        )  # fmt: skip

    def observation(self) -> None:
        code, dated = (
            self.one(["C1", "C2", "C2", "C2", "FI", "FI", "C3", "C3", "C3", "", ""]),
            self.chance.random() < 0.8,
        )
        facts = {"owner": self.one(self.owners), "step_by": self.near() if dated else None, "remedy_by": self.near()}
        if code == "C1":
            facts["made_safe"] = self.chance.random() < 0.5
        if not code:
            facts["may_be_dangerous"] = self.chance.random() < 0.5
        make.make_observation(self.one(self.sites), code=code, on=self.begin - timedelta(days=80), **facts)

    def take_in_hand(self) -> None:
        """Somebody has some of the rows in hand, of which they could say so."""
        rows = list(DueRow.objects.filter(kind="decide").exclude(code="C1").order_by("ref"))
        for row in self.chance.sample(rows, 4):
            until = self.begin + timedelta(days=self.chance.randint(0, 20))
            have_it(
                row.kind, row.ref, until=until, reason="Waiting for a part", by=self.manager, now=at(self.begin, NIGHT)
            )

    def other_figures(self) -> None:
        """The firm has set its own: some sorts, and the days of the week."""
        for sort in (Sort.C2, Sort.C3, Sort.OWN, Sort.INSPECTION):
            first, then = sorted([self.chance.randint(0, 12), self.chance.randint(0, 20)])
            ReminderRule.objects.create(
                sort=sort.value, before=self.chance.randint(0, 20), every=self.chance.randint(1, 9),
                qualified_after=self.one([None, first]), manager_after=then,
            )  # fmt: skip
        figures = Reminding.shipped()
        figures.working_days, figures.inspection_days = [1, 2, 4, 6], [60, 21, 10]
        figures.inspection_overdue_every, figures.digest_at = 9, time(1, 30)
        figures.save()


def sent_day_by_day(begin: date, days: int) -> None:
    """The clockwork of each day: shortly after midnight, and in the morning."""
    for n in range(days):
        for moment in (NIGHT, MORNING):
            now = at(begin + timedelta(days=n), moment)
            sweep(now=now)
            # As if the mail server took each at once: how it is handed over has tests of its own.
            waiting = Message.objects.filter(state="waiting", next_try_at__lte=now)
            waiting.update(state="sent", settled_at=now)


def written(begin: date) -> tuple[dict, dict, dict]:
    """What was written: lines of digests and messages about danger by day and person, letters by the day they went out."""
    lines: dict[date, Counter[UUID]] = {}
    dangers: dict[date, Counter[UUID]] = {}
    letters: Counter[date] = Counter()
    for message in Message.objects.order_by("number"):
        day = clock.local_day(message.written_at)
        if message.reason_kind == "digest":
            lines.setdefault(day, Counter())[message.to_id] += int(message.subject.rsplit(": ", 1)[1].replace(",", ""))
        elif message.danger:
            dangers.setdefault(day, Counter())[message.to_id] += 1
        elif message.reason_kind == "inspection":
            letters[clock.local_day(message.next_try_at)] += 1
    return lines, dangers, dict(letters)


@pytest.mark.parametrize(
    ("begin", "seed", "own_figures"),
    [
        (date(2026, 12, 8), 1, False),
        (date(2026, 3, 17), 2, True),
        (date(2028, 2, 15), 4, False),
    ],
)
def test_foretold_is_sent(begin, seed, own_figures):
    firm = Firm(begin, seed)
    firm.fill()
    if own_figures:
        firm.other_figures()
    firm.take_in_hand()
    plan = Plan(reminding(), rules_in_force(), "england", at(begin, NIGHT))
    told, letters = foretell(plan), letters_foretold(plan)
    ahead = plan.days[SPAN:]
    sent_day_by_day(begin, SPAN)
    lines, dangers, went = written(begin)
    assert {day: told.lines[day] for day in ahead if day in told.lines} == lines
    assert {day: told.dangers[day] for day in ahead if day in told.dangers} == dangers
    assert {day: len(letters[day]) for day in ahead if day in letters} == {
        day: count for day, count in went.items() if day <= ahead[-1]
    }
    assert len(lines) > 10
    assert sum(went.values()) > 3
    assert dangers
