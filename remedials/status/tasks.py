"""What the worker does for documents and archives."""

from uuid import UUID

from celery import shared_task

from jobsite import clock
from remedials.status.bundles import operations as bundles

LONG = {"soft_time_limit": 840, "time_limit": 870}
"""Seconds for a large archive: below the 900 after which a broker gives a message to somebody else."""


@shared_task(**LONG)
def draw(bundle_id: str) -> None:
    """Draw one archive that somebody asked for."""
    bundles.draw(UUID(bundle_id), now=clock.now())


@shared_task(**LONG)
def draw_waiting() -> None:
    """Every five minutes: the archives that a lost message left."""
    bundles.draw_waiting(now=clock.now())
