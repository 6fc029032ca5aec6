"""What the worker does for intake."""

from uuid import UUID

from celery import shared_task

from inspections.intake import operations
from jobsite import clock

LONG = {"soft_time_limit": 840, "time_limit": 870}
"""Seconds for a long file: below the 900 after which a broker gives a message to somebody else."""


@shared_task(**LONG)
def take_in(intake_id: str) -> None:
    """Take in one file that somebody asked for."""
    operations.take_in_asked(UUID(intake_id), now=clock.now())


@shared_task(**LONG)
def read(intake_id: str) -> None:
    """Read one uploaded file."""
    operations.read(UUID(intake_id), now=clock.now())


@shared_task(**LONG)
def read_waiting() -> None:
    """Every five minutes: read or take in the files that a lost message left. Apart from the sweep, so that neither eats its time."""
    operations.read_waiting(now=clock.now())
