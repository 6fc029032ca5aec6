"""The worker is killed at each line where it hurts. What it held is found again, or is left for a person to decide."""

import pytest

from jobsite.messages.models import Message
from remedials.due.operations import sweep
from tests.faults.stack import SEND, STATE, SWEEP
from tests.faults.town import all_went_once, make_town
from tests.smtp_server import Manner

LATER = {"minutes": 11}  # a claim holds for ten


def being_sent() -> int:
    return Message.objects.filter(state=STATE.SENDING).count()


def test_killed_while_it_sweeps(stack):
    town = make_town()
    stack.work()
    with stack.cluster.locked("post_message", "SHARE") as lock:
        stack.tick(SWEEP)
        lock.wait_for_somebody()
        stack.kill_workers()
    stack.round()
    all_went_once(stack, *town.addresses)


def test_killed_before_the_claim(stack):
    town = make_town()
    sweep(now=stack.now)
    stack.work()
    with stack.cluster.locked("post_message", "EXCLUSIVE") as lock:
        stack.tick(SEND)
        lock.wait_for_somebody()
        stack.kill_workers()
        assert set(stack.states().values()) == {STATE.WAITING}
    stack.round()
    all_went_once(stack, *town.addresses)


def test_killed_after_the_claim(stack):
    town = make_town(danger=False)
    sweep(now=stack.now)
    stack.work()
    with stack.cluster.locked("inspections_inspectiondue", "ACCESS EXCLUSIVE") as lock:  # its reason is looked at again
        stack.tick(SEND)
        lock.wait_for_somebody()
        held = being_sent()
        stack.kill_workers()
    assert held >= 1
    stack.round(**LATER)
    left = all_went_once(stack, *town.addresses, unknown=held)
    assert stack.mailed().total() == len(stack.states()) - left


@pytest.mark.parametrize("manner", [Manner.HANG_AT_CONNECT, Manner.HANG_BEFORE_DATA, Manner.HANG_AFTER_TAKING])
def test_killed_at_the_mail_server(stack, manner):
    town = make_town()
    sweep(now=stack.now)
    stack.work()
    stack.mail.manner = manner
    before = stack.mail.connections
    stack.tick(SEND)
    stack.until(lambda: stack.mail.connections > before, "a connection to the mail server")
    if manner is Manner.HANG_BEFORE_DATA:
        stack.until(lambda: "MAIL" in stack.mail.commands, "the mail's first line")
    if manner is Manner.HANG_AFTER_TAKING:
        stack.until(lambda: stack.mail.taken, "a mail taken")
    held = being_sent()
    stack.mail.manner = Manner.TAKE
    stack.kill_workers()
    stack.round(**LATER)
    all_went_once(stack, *town.addresses, unknown=held)


def test_killed_after_the_mail_servers_yes_and_before_the_commit(stack):
    town = make_town(danger=False)
    sweep(now=stack.now)
    stack.work()
    stack.mail.held = True
    stack.tick(SEND)
    stack.until(lambda: stack.mail.taken, "a mail taken")
    with stack.cluster.locked("post_message", "SHARE ROW EXCLUSIVE") as lock:
        stack.mail.held = False
        lock.wait_for_somebody()
        held = being_sent()
        stack.kill_workers()
    stack.round(**LATER)
    all_went_once(stack, *town.addresses, unknown=held)
    assert stack.mailed().total() == len(stack.states()), "the mail server had said yes"


def test_the_hand_of_a_worker_is_killed_and_the_worker_goes_on(stack):
    town = make_town()
    sweep(now=stack.now)
    worker = stack.work()
    with stack.cluster.locked("post_message", "EXCLUSIVE") as lock:
        stack.tick(SEND)
        lock.wait_for_somebody()
        worker.kill_hand()
    stack.until(stack.nothing_waits, "the task was given to another hand")
    assert worker.lives()
    all_went_once(stack, *town.addresses)
