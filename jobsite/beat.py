"""The scheduler of the clockwork, which goes on when the computer's clock is set back."""

from datetime import timedelta
from typing import Any

from celery.beat import PersistentScheduler

STEP = timedelta(seconds=5)  # a clock that is kept in time is put right by less
LONG_AGO = timedelta(days=1)  # more than any task's interval


class Scheduler(PersistentScheduler):
    """Celery's, but nothing waits for a time from before the clock was set back.

    It keeps by the clock on the wall when each task ran last and is to run next, also over a restart: after a clock that was
    a year ahead was put right, nothing would run for a year.
    """

    def tick(self, *args: Any, **kwargs: Any) -> float:
        """One look at what is due; what ran "in the future" is due now."""
        now = self.app.now()
        ahead = [entry for entry in self.schedule.values() if entry.last_run_at > now + STEP]
        for entry in ahead:
            entry.last_run_at = now - LONG_AGO
        if ahead:
            self._heap = None  # it is ordered by times of the former clock
        return super().tick(*args, **kwargs)
