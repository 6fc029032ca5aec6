"""What the clockwork calls. Rows are the truth: a lost or doubled call changes nothing."""

from celery import shared_task

from jobsite import clock
from remedials.due import operations

# A mail server may take its time with the last mail of a run: who cuts that off never knows whether it was taken.
PATIENT = {"soft_time_limit": 150, "time_limit": 180}


@shared_task(**PATIENT)
def sweep() -> None:
    """Every five minutes: write the messages that are due, then send."""
    if operations.sweep(now=clock.now()):
        send_on()


@shared_task(**PATIENT)
def send() -> None:
    """Every minute: send what waits."""
    send_on()


def send_on() -> None:
    """Send for as long as a task may; where more waits, another task goes on at once, on whichever worker is free."""
    if operations.send_for_a_while(now=clock.now()).more:
        send.apply_async(expires=50)
