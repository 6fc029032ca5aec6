"""What the clockwork calls. Rows are the truth: a lost or doubled call changes nothing."""

from celery import shared_task

from jobsite import clock
from remedials.due import operations


@shared_task
def sweep() -> None:
    """Every five minutes: write the messages that are due, then send."""
    if operations.sweep(now=clock.now()):
        operations.send(now=clock.now())


@shared_task
def send() -> None:
    """Every minute: send what waits."""
    operations.send(now=clock.now())
