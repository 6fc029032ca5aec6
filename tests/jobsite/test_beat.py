"""The scheduler: each task in its time, also after the computer's clock was set forward a year and back."""

from datetime import timedelta

import pytest

from jobsite.beat import Scheduler
from jobsite.celery import app
from tests.factories import NOON

YEAR = timedelta(days=365)


class Noting(Scheduler):
    """Notes what it would hand to the broker instead of handing it over."""

    def apply_entry(self, entry, producer=None):
        self.handed.append(entry.name)


@pytest.fixture
def beat(tmp_path, time_machine):
    time_machine.move_to(NOON, tick=False)
    made = Noting(app=app, schedule_filename=str(tmp_path / "beat"), lazy=True)
    made.handed = []
    made.setup_schedule()
    yield made
    made.close()


def due_at(beat, clock, at):
    """Which tasks are handed over at `at`."""
    clock.move_to(at, tick=False)
    beat.handed = []
    while beat.tick() == 0:
        pass
    return sorted(beat.handed)


NAMES = sorted(app.conf.beat_schedule)
OFTEN = sorted(name for name, entry in app.conf.beat_schedule.items() if entry["schedule"] <= 300)


def test_each_task_runs_in_its_time(beat, time_machine):
    assert due_at(beat, time_machine, NOON + timedelta(seconds=301)) == OFTEN
    assert due_at(beat, time_machine, NOON + timedelta(seconds=330)) == []
    assert due_at(beat, time_machine, NOON + timedelta(seconds=365)) == ["send"]


def test_a_clock_that_was_a_year_ahead_holds_nothing_up(beat, time_machine):
    due_at(beat, time_machine, NOON + YEAR)
    assert due_at(beat, time_machine, NOON + timedelta(minutes=1)) == NAMES
    assert due_at(beat, time_machine, NOON + timedelta(minutes=1, seconds=30)) == []
    assert due_at(beat, time_machine, NOON + timedelta(minutes=6, seconds=1)) == OFTEN


def test_nor_does_it_after_a_restart(beat, time_machine, tmp_path):
    due_at(beat, time_machine, NOON + YEAR)
    beat.close()
    again = Noting(app=app, schedule_filename=str(tmp_path / "beat"), lazy=True)
    again.handed = []
    again.setup_schedule()
    assert due_at(again, time_machine, NOON + timedelta(minutes=1)) == NAMES
    again.close()


def test_the_clockwork_is_kept_by_it():
    assert app.conf.beat_scheduler == "jobsite.beat:Scheduler"
