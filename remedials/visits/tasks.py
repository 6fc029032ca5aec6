"""What the worker does for visits."""

from uuid import UUID

from celery import shared_task

from jobsite import clock
from remedials.visits.operations import working_out

LONG = {"soft_time_limit": 840, "time_limit": 870}
"""Seconds for a plan: below the 900 after which a broker gives a message to somebody else."""


@shared_task(**LONG)
def work_out(plan_id: str) -> None:
    """Work out one plan that somebody asked for."""
    working_out.work_out(UUID(plan_id), now=clock.now())


@shared_task(**LONG)
def work_out_waiting() -> None:
    """Every five minutes: the plans that a lost message left."""
    working_out.work_out_waiting(now=clock.now())
