"""How often anybody may try: counted by whom, until when, and whose word for an address is believed."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test import RequestFactory

from jobsite.counting import CountingCache
from jobsite.throttle import Limit, client_address, client_network, tried, tries
from tests.factories import NOON

LIMIT = Limit("sample", each=3, together=5, seconds=600)


def asking(address: str = "192.0.2.1", *, now: datetime = NOON, told: str | None = None):
    """A request from `address`, as documentation uses them (RFC 5737, RFC 3849)."""
    more = {} if told is None else {"headers": {"X-Forwarded-For": told}}
    request = RequestFactory().get("/", REMOTE_ADDR=address, **more)
    request.now = now
    return request


@pytest.mark.django_db
def test_one_address_is_held_back_and_another_is_not():
    with time_machine.travel(NOON, tick=False):
        assert [tried(asking(), LIMIT) for _ in range(3)] == [0, 0, 0]
        assert tried(asking(), LIMIT) == 600
        assert tried(asking("192.0.2.2"), LIMIT) == 0
        assert tried(asking(), Limit("other", 3, 5)) == 0


@pytest.mark.django_db
def test_it_says_how_long_and_then_begins_anew():
    later = NOON + timedelta(seconds=599)
    with time_machine.travel(NOON, tick=False) as clock:
        for _ in range(4):
            tried(asking(), LIMIT)
        clock.move_to(later)
        assert tried(asking(now=later), LIMIT) == 1
        clock.move_to(NOON + timedelta(seconds=600))
        assert tried(asking(now=NOON + timedelta(seconds=600)), LIMIT) == 0


@pytest.mark.django_db
def test_everybody_together_is_held_back_and_one_who_goes_on_is_counted_once():
    with time_machine.travel(NOON, tick=False):
        for _ in range(50):
            tried(asking(), LIMIT)
        assert tries(LIMIT, NOON.timestamp()) == 3
        assert [tried(asking(f"192.0.2.{n}"), LIMIT) for n in (2, 3, 4)] == [0, 0, 600]


@pytest.mark.django_db
def test_no_address_of_a_device_stands_in_the_cache():
    with time_machine.travel(NOON, tick=False):
        tried(asking("203.0.113.77"), LIMIT)
    with connection.cursor() as cursor:
        cursor.execute("SELECT cache_key, value FROM cache")
        kept = str(cursor.fetchall())
    assert "tried:sample:" in kept
    assert "203.0.113.77" not in kept


@pytest.mark.django_db
def test_many_networks_make_it_forget_nothing_that_was_counted_and_has_not_ended():
    """Somebody with an IPv6 /48 has 65,536 networks; the wrong passwords of a sign-in are counted in the same table."""
    small = CountingCache("cache", {"OPTIONS": {"MAX_ENTRIES": 10}})
    small.set("allauth:rl:login:ip:192.0.2.1", 5, 300)  # sorts before all tries: it would be the first to go
    small.set("ended", 1, -1)
    for number in range(40):
        small.add(f"tried:sample:{number}", 1, 600)
    assert small.get("allauth:rl:login:ip:192.0.2.1") == 5
    assert small.get_many([f"tried:sample:{number}" for number in range(40)]).keys() == {
        f"tried:sample:{number}" for number in range(40)
    }
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM cache WHERE cache_key LIKE '%ended'")
        assert cursor.fetchone() == (0,)


@pytest.mark.django_db(transaction=True)
def test_of_many_who_count_at_once_none_is_lost():
    cache.clear()
    begin = threading.Barrier(4)

    def count() -> None:
        begin.wait()
        for _ in range(25):
            tried(asking(now=datetime.now(UTC)), Limit("sample", each=1000, together=1000, seconds=86_400))
        connection.close()

    threads = [threading.Thread(target=count) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert tries(Limit("sample", 1000, 1000, 86_400), datetime.now(UTC).timestamp()) == 100


def test_without_a_cache_nothing_is_held_back(settings, caplog):
    settings.CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": "redis://127.0.0.1:1",  # nobody listens there
        }
    }
    assert [tried(asking(), Limit("sample", each=1, together=1)) for _ in range(3)] == [0, 0, 0]
    assert "not counted" in caplog.text


@pytest.mark.parametrize(
    ("proxies", "told", "believed"),
    [
        (0, None, "198.51.100.9"),
        (0, "203.0.113.5", "198.51.100.9"),  # whoever comes directly may write what they like
        (1, "203.0.113.5", "203.0.113.5"),
        (1, "10.0.0.1, 203.0.113.5", "203.0.113.5"),  # the first was written by the client
        (2, "10.0.0.1, 203.0.113.5, 198.51.100.1", "203.0.113.5"),
        (2, "203.0.113.5", "198.51.100.9"),  # fewer than our own proxies: it came past one of them
        (1, "", "198.51.100.9"),
    ],
)
def test_whose_word_for_an_address_is_believed(settings, proxies, told, believed):
    settings.TRUSTED_PROXIES = proxies
    assert client_address(asking("198.51.100.9", told=told)) == believed


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.1", "192.0.2.1"),
        ("192.0.2.1:4711", "192.0.2.1"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("[2001:db8:1:2::9]:4711", "2001:db8:1:2::/64"),
        ("::ffff:192.0.2.1", "192.0.2.1"),
        ("<script>", "unknown"),
        ("", "unknown"),
    ],
)
def test_for_whom_tries_are_counted(address, network):
    assert client_network(asking(address)) == network
