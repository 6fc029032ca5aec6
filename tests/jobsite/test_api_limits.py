"""How often the API may be asked, by a person or token and from an address; the figures are ours."""

from datetime import timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from tests.factories import NOON, make_token, make_user

pytestmark = pytest.mark.django_db
SITES = "/api/v1/sites/"


@pytest.fixture(autouse=True)
def few(settings):
    settings.API_REQUESTS_A_MINUTE = 3
    cache.clear()
    with time_machine.travel(NOON + timedelta(seconds=20), tick=False):
        yield
    cache.clear()


def codes(times: int, text: str = "", client: Client | None = None) -> list[int]:
    headers = {"Authorization": f"Bearer {text}"} if text else {}
    return [(client or Client()).get(SITES, headers=headers).status_code for _ in range(times)]


def test_a_token_that_asks_too_often_hears_when_to_go_on(office) -> None:
    make_token(office, text="one")
    assert codes(3, "one") == [200] * 3
    answer = Client().get(SITES, headers={"Authorization": "Bearer one"})
    assert (answer.status_code, answer["Content-Type"]) == (429, "application/problem+json")
    assert (answer["Retry-After"], answer.json()["detail"]) == ("40", "These are too many requests: go on in 40 s.")
    with time_machine.travel(NOON + timedelta(seconds=60), tick=False):
        assert codes(1, "one") == [200]


def test_each_token_and_each_person_is_counted_alone(client, office) -> None:
    make_token(office, text="one")
    make_token(office, text="two")
    client.force_login(office)
    assert codes(4, "one") == [200, 200, 200, 429]
    assert codes(3, "two") == [200] * 3
    assert codes(3, client=client) == [200] * 3


def test_an_address_is_counted_besides_whoever_it_is(office) -> None:
    for n in range(5):
        make_token(make_user(f"Person{n} Else", "office"), text=f"token{n}")
        assert codes(3, f"token{n}") == [200] * 3
    assert codes(1) == [429]
    assert Client(REMOTE_ADDR="198.51.100.7").get(SITES).status_code == 401


def test_wrong_tokens_are_refused_after_fifty_even_uncounted_otherwise(settings, office) -> None:
    settings.API_REQUESTS_A_MINUTE = 0
    make_token(office, text="right")
    assert codes(51, "wrong") == [401] * 50 + [429]
    assert codes(1, "right") == [200]  # whoever shares the address and has a right one is not shut out


def test_pages_are_not_counted(client, office) -> None:
    client.force_login(office)
    assert [client.get("/sites/").status_code for _ in range(20)] == [200] * 20
