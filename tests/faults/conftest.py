"""A stack that stands as long as the tests run, emptied before each."""

from collections.abc import Callable, Iterator

import pytest

from tests.faults.brokers import REDIS
from tests.faults.stack import Stack

BROKERS = ["folder", "redis"]


@pytest.fixture(scope="session")
def stacks(django_db_setup, django_db_blocker) -> Iterator[Callable[[str], Stack]]:
    """The stack with a broker of that kind, started when it is first asked for."""
    there: dict[str, Stack] = {}

    def stack(kind: str) -> Stack:
        if kind not in there:
            with django_db_blocker.unblock():
                there[kind] = Stack(kind)
        return there[kind]

    yield stack
    for running in there.values():
        running.close()


@pytest.fixture(params=BROKERS)
def stack(request, stacks, django_db_blocker) -> Iterator[Stack]:
    """A running service, empty, with each kind of broker in turn; with one where a test asks for "any"."""
    kind = request.param
    if kind == "any":
        kind = "redis" if REDIS else "folder"
    if kind == "redis" and not REDIS:
        pytest.skip("NOT TESTED with Redis: there is no redis-server on this machine")
    running = stacks(kind)
    with django_db_blocker.unblock(), running.cluster.database():
        running.fresh()
        yield running
