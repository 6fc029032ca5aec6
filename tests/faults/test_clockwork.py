"""The clockwork twice, the sweep twice, the broker emptied or away: rows count, and nothing else."""

import pytest

from tests.factories import make_observation
from tests.faults.stack import SEND, SWEEP
from tests.faults.town import all_went_once, make_house, make_town


def test_the_clockwork_was_started_twice(stack):
    town = make_town()
    stack.work(2)
    beats = [stack.start_clockwork(), stack.start_clockwork()]
    for beat in beats:
        stack.until(
            lambda beat=beat: all(f"({task})" in beat.log.read_text() for task in (SWEEP, SEND)),
            "a tick of each clockwork",
        )
    stack.until(lambda: stack.swept() and stack.nothing_waits() and stack.idle(), "a sweep and its sending")
    all_went_once(stack, *town.addresses)


def test_two_sweeps_at_once(stack):
    town = make_town()
    stack.work(2)
    with stack.cluster.locked("post_message", "SHARE") as lock:
        stack.tick(SWEEP, SWEEP)
        lock.wait_for_somebody()
        stack.until(lambda: not stack.broker.waiting(), "both are at it, or one has left")
        lock.let_go()
    stack.until(lambda: stack.swept() and stack.nothing_waits() and stack.idle(), "a sweep and its sending")
    all_went_once(stack, *town.addresses)


def test_the_broker_is_emptied(stack):
    town = make_town()
    stack.kill_workers()
    stack.tick()
    assert stack.broker.waiting() == 2
    stack.broker.empty()
    assert stack.broker.waiting() == 0
    stack.round()
    all_went_once(stack, *town.addresses)


def test_the_broker_is_emptied_under_a_worker_that_sends(stack):
    town = make_town()
    stack.work()
    stack.mail.held = True
    stack.tick(SWEEP, SEND)
    stack.until(lambda: stack.mail.taken, "a mail taken")
    stack.broker.empty()
    stack.mail.held = False
    stack.round()
    all_went_once(stack, *town.addresses)


def test_the_broker_is_away_for_an_hour(stack):
    """The worker waits for it, and what became due meanwhile is said afterwards."""
    town = make_town()
    worker = stack.work()
    stack.round()
    stack.broker.stop()
    try:
        for _ in range(4):
            stack.later(minutes=15)
            stack.tick()
        seen = make_observation(town.houses[1], code="C1", owner=town.engineer, by=town.engineer)
        house = make_house(9)
    finally:
        stack.broker.start()
    stack.round()
    if stack.kind == "redis":  # whoever deletes the other's folder ends its workers, and with them the service
        assert stack.workers == [worker], "it waited for the broker"
    assert any(f"danger {seen.pk}" in occasion for occasion in stack.mailed())
    all_went_once(stack, *town.addresses, house.customer.email)


@pytest.mark.parametrize("how", ["a crash", "in order"])
def test_the_database_restarts_under_the_worker(stack, how):
    town = make_town()
    worker = stack.work()
    stack.round()
    house = make_house(9)
    stack.restart_database(crash=how == "a crash")
    stack.round()
    assert stack.workers == [worker]
    all_went_once(stack, *town.addresses, house.customer.email)


def test_the_database_is_away_while_the_clockwork_ticks(stack):
    town = make_town()
    worker = stack.work()
    stack.cluster.stop()
    stack.tick(SWEEP, SEND, SEND)
    stack.until(lambda: worker.log.read_text().count("raised unexpected") >= 3, "each task met it")
    stack.cluster.start()
    stack.round()
    assert stack.workers == [worker]
    all_went_once(stack, *town.addresses)


def test_the_database_crashes_while_a_mail_is_at_the_mail_server(stack):
    """The mail server says yes, and there is nobody to whom the worker can tell it: it waits until there is."""
    town = make_town(danger=False)
    stack.work()
    stack.mail.held = True
    stack.tick(SWEEP)
    stack.until(lambda: stack.mail.taken, "a mail taken")
    stack.cluster.stop()
    stack.mail.held = False
    stack.cluster.start()
    stack.round()
    all_went_once(stack, *town.addresses)
