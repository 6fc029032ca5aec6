"""Filters of visits by an instant."""

import pytest

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("when", ["0513-08-18T05:58:41-18:44", "9999-12-31T23:59:59+00:00"])
def test_an_instant_far_out_of_our_time_is_refused_in_words(client, office, when) -> None:
    client.force_login(office)
    answer = client.get("/api/v1/visits/", {"starts_before": when})
    assert (answer.status_code, "The year must be between" in answer.content.decode()) == (400, True)
    assert client.get("/api/v1/visits/", {"ends_after": "2026-03-01T08:00:00Z"}).status_code == 200
