"""What the worker does about personal data."""

from celery import shared_task

from jobsite import clock
from remedials.status.privacy.operations.shedding import shed

PATIENT = {"soft_time_limit": 150, "time_limit": 180}


@shared_task(**PATIENT)
def shed_past() -> None:
    """Every six hours: erase what is past its time."""
    shed(now=clock.now())
