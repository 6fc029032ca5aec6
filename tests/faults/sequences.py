"""Random sequences of faults against a running service: `make faults N=1000`, and 25 of them in every run of the tests.

Each run has a seed, which is all that decides its steps; the service stands over many runs and is emptied between them. When
the faults are over the clock is set to noon of a working day and the clockwork ticks until nothing is left to do. Then it is
counted what the firm's people and customers should have been told, what the rows say, and what is in the mailbox.
"""

import itertools
import json
import os
import random
import subprocess
import sys
import time
import traceback
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()

from inspections.models import InspectionDue
from jobsite import clock
from jobsite.messages.models import Message
from jobsite.premises.models import Site
from jobsite.premises.operations import merge_sites
from tests.factories import NOON, make_observation, make_site, unit_of
from tests.faults.brokers import KINDS, REDIS
from tests.faults.stack import SEND, STATE, SWEEP, Stack, standing
from tests.faults.town import make_house, make_town
from tests.smtp_server import Manner

FIRST_SEED = 20_261  # fixed beforehand; run n has the seed FIRST_SEED + n
# Ordinary days; the days before the clocks change; the day before 29 February.
STARTS = (
    NOON,
    datetime(2026, 3, 28, 9, 30, tzinfo=UTC),
    datetime(2026, 10, 24, 9, 30, tzinfo=UTC),
    datetime(2028, 2, 28, 15, tzinfo=UTC),
)
A_WEEK = timedelta(days=7)


@dataclass
class Outcome:
    """What came of one run."""

    seed: int
    steps: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    doubled: list[str] = field(default_factory=list)
    twice_to_staff: int = 0
    unknown: int = 0
    messages: int = 0

    @property
    def good(self) -> bool:
        return not (self.lost or self.doubled)

    def __str__(self) -> str:
        wrong = [*(f"LOST {what}" for what in self.lost), *(f"DOUBLED {what}" for what in self.doubled)]
        return "\n  ".join([f"seed {self.seed}: {' | '.join(self.steps)}", *wrong])


class Sequence:
    """One run: its steps, then calm, then the reckoning."""

    def __init__(self, stack: Stack, seed: int) -> None:
        self.stack, self.dice, self.outcome = stack, random.Random(seed), Outcome(seed)
        self.mail_down = self.broker_down = False
        self.houses = 0

    def play(self) -> Outcome:
        """Anything that goes wrong in here is an outcome too: the run is lost."""
        try:
            self.begin()
            for _ in range(self.dice.randint(4, 8)):
                step = self.dice.choices(STEPS, WEIGHTS)[0]
                self.outcome.steps.append(step.__name__)
                step(self)
            self.calm()
            self.reckon()
        except Exception:  # noqa: BLE001
            told = traceback.format_exc()
            self.outcome.lost.append(f"{told[:3000]}\n…\n{told[-3000:]}")
            self.mend()
            self.stack.kill_workers()  # the next run is not to lose by what this one left
        return self.outcome

    def begin(self) -> None:
        self.stack.fresh()
        self.stack.set_clock(self.dice.choice(STARTS))
        self.town = make_town(0, danger=False)
        for _ in range(3):
            self.new_house()
        self.new_danger()
        self.stack.work(self.dice.choice((1, 1, 2)))

    # --- what happens -------------------------------------------------------------------------------------------------

    def tick(self) -> None:
        """The clockwork ticks, and most of what it asks for is done before the next thing happens."""
        self.stack.tick(*self.dice.choice(((), (SWEEP,), (SEND,), (SWEEP, SWEEP, SEND, SEND))))
        self.wait(self.dice.choice((0.02, 0.1, 0.4)))

    def wait(self, seconds: float, until: Callable[[], object] = lambda: False) -> None:
        give_up = time.monotonic() + seconds
        while time.monotonic() < give_up and not until():
            time.sleep(0.01)

    def time_passes(self) -> None:
        self.stack.later(minutes=self.dice.choice((1, 7, 61, 600, 1440)))
        self.tick()

    def a_year_ahead_and_back(self) -> None:
        now = self.stack.now
        self.stack.later(days=365)
        self.tick()
        self.wait(0.5, self.stack.idle)
        self.stack.set_clock(now)

    def new_house(self) -> None:
        self.houses += 1
        days = (clock.local_day(self.stack.now) - clock.local_day(NOON)).days + 30
        make_house(self.houses, days=days)

    def new_danger(self) -> None:
        site = self.dice.choice(self.sites())
        make_observation(site, code="C1", owner=self.town.engineer, by=self.town.engineer)

    def an_inspection_was_done(self) -> None:
        InspectionDue.objects.filter(unit__in=unit_of(self.dice.choice(self.sites())).site.units.all()).delete()

    def two_sites_become_one(self) -> None:
        gone = self.dice.choice(self.sites())
        into = make_site(f"{gone.name} again", customer=gone.customer, address=gone.address)
        who = {"by": self.town.manager, "now": self.stack.now}
        merge_sites(gone, into=into, names={}, reason="The same door", **who)

    def sites(self) -> list[Site]:
        return list(Site.objects.filter(archived_at=None).order_by("number"))

    # --- what breaks --------------------------------------------------------------------------------------------------

    def worker_killed_before_the_claim(self) -> None:
        self._killed_at_lock("post_message", "EXCLUSIVE")

    def worker_killed_while_it_sweeps(self) -> None:
        self._killed_at_lock("post_message", "SHARE")

    def worker_killed_after_the_claim(self) -> None:
        self._killed_at_lock("inspections_inspectiondue", "ACCESS EXCLUSIVE")

    def _killed_at_lock(self, table: str, mode: str) -> None:
        with self.stack.cluster.locked(table, mode) as lock:
            self.stack.tick()
            self.wait(1, lock.somebody_waits)
            self.kill()

    def kill(self) -> None:
        """The whole worker, or the process that does its tasks only.

        That one not while it is idle with the folder as broker: celery's simple pool, which it uses there, never gives work to
        the next one then. The clockwork's banner says so after half an hour.
        """
        whole = self.dice.random() < 0.7
        busy = [worker for worker in self.stack.workers if self.stack.has_a_task(worker.hands())]
        if whole or not (busy or (self.stack.workers and self.stack.kind == "redis")):
            self.stack.kill_workers()
        else:
            killed = self.dice.choice(busy or self.stack.workers).kill_hand()
            if self.stack.kind == "folder" and not self.stack.has_a_task(killed):  # it had just ended
                self.stack.kill_workers()
        if not self.broker_down:  # without it none is ever ready
            self.stack.work(self.dice.choice((1, 1, 2)))

    def worker_killed_at_the_mail_server(self) -> None:
        hanging = (Manner.HANG_AT_CONNECT, Manner.HANG_BEFORE_DATA, Manner.HANG_AFTER_TAKING)
        self.stack.mail.manner = self.dice.choice(hanging)
        before = self.stack.mail.connections
        self.stack.tick()
        self.wait(1, lambda: self.stack.mail.connections > before)
        self.wait(0.1)
        self.stack.mail.manner = Manner.TAKE
        self.kill()

    def worker_killed_after_the_mail_servers_yes(self) -> None:
        self.stack.mail.held = True
        before = len(self.stack.mail.taken)
        self.stack.tick()
        self.wait(1, lambda: len(self.stack.mail.taken) > before)
        with self.stack.cluster.locked("post_message", "SHARE ROW EXCLUSIVE") as lock:
            self.stack.mail.held = False
            self.wait(0.5, lock.somebody_waits)
            self.kill()

    def database_crashes(self) -> None:
        self.stack.tick()
        self.wait(self.dice.choice((0, 0.05, 0.2)))
        self.stack.restart_database(crash=self.dice.random() < 0.7)

    def database_crashes_with_a_mail_on_its_way(self) -> None:
        self.stack.mail.held = True
        before = len(self.stack.mail.taken)
        self.stack.tick()
        self.wait(1, lambda: len(self.stack.mail.taken) > before)
        self.stack.cluster.stop()
        self.stack.mail.held = False
        self.stack.cluster.start()

    def broker_is_emptied(self) -> None:
        if not self.broker_down:
            self.stack.broker.empty()

    def broker_goes_or_comes(self) -> None:
        (self.stack.broker.start if self.broker_down else self.stack.broker.stop)()
        self.broker_down = not self.broker_down

    def mail_server_goes_or_comes(self) -> None:
        (self.stack.mail.start if self.mail_down else self.stack.mail.stop)()
        self.mail_down = not self.mail_down

    def mail_server_is_busy(self) -> None:
        self.stack.mail.next([self.dice.choice((Manner.BUSY, Manner.LATER, Manner.BUSY_AFTER_DATA))])
        self.tick()

    def mail_server_dies_at_one(self) -> None:
        dying = (Manner.DIE_BEFORE_DATA, Manner.DIE_IN_DATA, Manner.DIE_AFTER_TAKING)
        self.stack.mail.next([self.dice.choice(dying)])
        self.tick()

    def clockwork_started_twice(self) -> None:
        for _ in range(2):
            self.stack.start_clockwork()
        self.wait(1.0)

    # --- calm, and the reckoning --------------------------------------------------------------------------------------

    def mend(self) -> None:
        """Whatever was broken works again."""
        self.stack.cluster.start()
        self.stack.mail.manner, self.stack.mail.held = Manner.TAKE, False
        self.stack.mail.then.clear()
        if self.mail_down:
            self.mail_server_goes_or_comes()
        if self.broker_down:
            self.broker_goes_or_comes()

    def calm(self) -> None:
        """Noon of the next working day (Tuesday to Thursday), and on until nothing is left to be done."""
        self.mend()
        noon = (self.stack.now + timedelta(days=1)).replace(hour=12, minute=0)
        while noon.isoweekday() not in {2, 3, 4}:
            noon += timedelta(days=1)
        self.stack.set_clock(noon)
        for _ in range(3):
            self.stack.round(minutes=15)
        for _ in range(6):
            later = Message.objects.filter(state=STATE.WAITING).order_by("-next_try_at").first()
            if later is None:
                break
            self.stack.set_clock(max(later.next_try_at, self.stack.now))
            self.stack.round()

    def reckon(self) -> None:
        out, mailed, now = self.outcome, self.stack.mailed(), self.stack.now
        rows = list(Message.objects.order_by("number"))
        out.messages = len(rows)
        out.unknown = sum(row.state == STATE.UNKNOWN for row in rows)
        for row in rows:
            if row.state in (STATE.WAITING, STATE.SENDING) or (row.state == STATE.SENT and not mailed[row.occasion]):
                out.lost.append(f"{row.occasion} ({row.state}: {row.error})")
        twice = [row for row in rows if mailed[row.occasion] > 1]
        out.doubled += [row.occasion for row in twice if row.to_kind == Message.To.CUSTOMER]
        out.twice_to_staff = sum(row.to_kind == Message.To.STAFF for row in twice)
        self._customers(rows, now, mailed)
        self._dangers(rows)

    def _customers(self, rows: list[Message], now: datetime, mailed: dict[str, int]) -> None:
        """Whose inspection is due was written to, and nobody of one matter twice within a week."""
        there = [row for row in rows if row.to_kind == Message.To.CUSTOMER]
        for due in InspectionDue.objects.filter(unit__site__archived_at=None).select_related("unit__site__customer"):
            customer = due.unit.site.customer
            known = [row for row in there if row.to_id == customer.pk and row.written_at <= now]
            if not any(mailed[row.occasion] or row.state == STATE.UNKNOWN for row in known):
                said = [f"{row.occasion}: {row.state} {row.error}" for row in known]
                self.outcome.lost.append(f"{customer.name} was not written to ({said})")
        for address in {row.address for row in there}:
            times = sorted(row.written_at for row in there if row.address == address and mailed[row.occasion])
            close = [b - a for a, b in itertools.pairwise(times) if b - a < A_WEEK]
            self.outcome.doubled += [f"{address}: twice in {gap}" for gap in close]

    def _dangers(self, rows: list[Message]) -> None:
        """Each danger was told to its owner on the day of the reckoning."""
        from inspections.models import Observation

        today = clock.local_day(self.stack.now)
        told = {
            row.reason_ref
            for row in rows
            if row.to_id == self.town.engineer.pk
            and row.state in (STATE.SENT, STATE.UNKNOWN)
            and clock.local_day(row.written_at) == today
        }
        for seen in Observation.objects.open().filter(code="C1", made_safe=False):
            if seen.pk not in told:
                self.outcome.lost.append(f"danger {seen.pk} on {today}")


OFTEN, SOMETIMES, SELDOM = 6, 3, 1
CHOICE: dict[Callable[[Sequence], None], int] = {
    Sequence.tick: OFTEN,
    Sequence.time_passes: OFTEN,
    Sequence.a_year_ahead_and_back: SELDOM,
    Sequence.new_house: SOMETIMES,
    Sequence.new_danger: SOMETIMES,
    Sequence.an_inspection_was_done: SELDOM,
    Sequence.two_sites_become_one: SELDOM,
    Sequence.worker_killed_while_it_sweeps: SOMETIMES,
    Sequence.worker_killed_before_the_claim: SOMETIMES,
    Sequence.worker_killed_after_the_claim: SOMETIMES,
    Sequence.worker_killed_at_the_mail_server: SOMETIMES,
    Sequence.worker_killed_after_the_mail_servers_yes: SOMETIMES,
    Sequence.database_crashes: SOMETIMES,
    Sequence.database_crashes_with_a_mail_on_its_way: SOMETIMES,
    Sequence.broker_is_emptied: SOMETIMES,
    Sequence.broker_goes_or_comes: SELDOM,
    Sequence.mail_server_goes_or_comes: SOMETIMES,
    Sequence.mail_server_is_busy: SOMETIMES,
    Sequence.mail_server_dies_at_one: SOMETIMES,
    Sequence.clockwork_started_twice: SELDOM,
}
STEPS, WEIGHTS = list(CHOICE), list(CHOICE.values())


def seeds_of(broker: str, count: int) -> list[int]:
    """The seeds of `count` runs that fall to this kind of broker; each kind takes its share."""
    kinds = [kind for kind in KINDS if kind != "redis" or REDIS]
    return [seed for seed in range(FIRST_SEED, FIRST_SEED + count) if kinds[seed % len(kinds)] == broker]


def main() -> int:
    """`python -m tests.faults.sequences N`: print every losing run, and the sums; `… N SEED` plays that one again.

    Each kind of broker has a process of its own.
    """
    count, *words = sys.argv[1:] or ["25"]
    if words[:1] == ["--broker"]:
        return play_all(words[1], seeds_of(words[1], int(count)))
    if words:
        return 0 if all(play_all(broker, [int(words[0])]) == 0 for broker in KINDS if usable(broker)) else 1
    began = time.monotonic()
    command = [sys.executable, "-m", "tests.faults.sequences", count, "--broker"]
    children = [
        subprocess.Popen([*command, broker], stdout=subprocess.PIPE, text=True) for broker in KINDS if usable(broker)
    ]
    outcomes: list[Outcome] = []
    with ThreadPoolExecutor(len(children)) as pool:
        for found in pool.map(listen, children):
            outcomes += found
    say(told(outcomes, time.monotonic() - began))
    return 0 if len(outcomes) == int(count) and all(outcome.good for outcome in outcomes) else 1


def usable(broker: str) -> bool:
    if broker == "redis" and not REDIS:
        say("NOT TRIED with Redis: there is no redis-server on this machine")
        return False
    return True


def play_all(broker: str, seeds: list[int]) -> int:
    """Play these runs, a line of JSON for each outcome and plain words for a losing one."""
    good = True
    with standing(broker) as stack:
        for seed in seeds:
            outcome = Sequence(stack, seed).play()
            good = good and outcome.good
            if not outcome.good or len(seeds) == 1:
                say(f"[{broker}] {outcome}")
            say(json.dumps(asdict(outcome)))
    return 0 if good else 1


def listen(child: subprocess.Popen[str]) -> list[Outcome]:
    """The outcomes that `child` tells, while what else it says goes on to whoever watches."""
    outcomes = []
    for line in child.stdout or ():
        if not line.startswith('{"seed"'):
            say(line.rstrip())
            continue
        outcomes.append(Outcome(**json.loads(line)))
        if len(outcomes) % 20 == 0:
            say(f"… {outcomes[-1].seed - FIRST_SEED + 1} runs")
    child.wait()
    return outcomes


def told(outcomes: list[Outcome], seconds: float) -> str:
    """The sums of many runs."""
    losing = [outcome.seed for outcome in outcomes if not outcome.good]
    return (
        f"{len(outcomes)} runs in {seconds:.0f} s, {sum(o.messages for o in outcomes)} messages: "
        f"{sum(len(o.lost) for o in outcomes)} lost, {sum(len(o.doubled) for o in outcomes)} doubled for a customer, "
        f"{sum(o.twice_to_staff for o in outcomes)} twice to staff, {sum(o.unknown for o in outcomes)} left unknown "
        f"for a person to decide. Losing seeds: {losing or 'none'}"
    )


def say(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
    sys.exit(main())
