"""What the worker does for intake."""

from uuid import UUID

from celery import shared_task

from inspections.intake import operations
from jobsite import clock


@shared_task
def read(intake_id: str) -> None:
    """Read one uploaded file."""
    operations.read(UUID(intake_id), now=clock.now())


@shared_task
def read_waiting() -> None:
    """Every five minutes: read the files that a lost message left. Apart from the sweep, so that neither eats its time."""
    operations.read_waiting(now=clock.now())
