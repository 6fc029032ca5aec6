"""What the worker does for intake."""

from uuid import UUID

from celery import shared_task

from inspections.intake import operations
from jobsite import clock


@shared_task
def read(intake_id: str) -> None:
    """Read one uploaded file."""
    operations.read(UUID(intake_id), now=clock.now())
