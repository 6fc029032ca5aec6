"""What the worker does when everything is taken out."""

from uuid import UUID

from celery import shared_task

from jobsite import clock
from remedials.desk.bulk import operations

LONG = {"soft_time_limit": 840, "time_limit": 870}
"""Seconds: below the 900 after which a broker gives a message to somebody else."""


@shared_task(**LONG)
def make(key: str) -> None:
    """Make what a manager asked for."""
    operations.make(UUID(key), now=clock.now())


@shared_task(**LONG)
def make_waiting() -> None:
    """Every five minutes: what a lost message left, and what is past its days."""
    operations.make_waiting(now=clock.now())
