"""Helpers for tests of the API's verbs. What is sent may have any field: those of a helper's own stand before the stroke."""

from tests.factories import recorded
from tests.remedials.test_api_verbs import fresh


def sent(client, user, address: str, version: object, body: dict):
    """The answer to `body` at the address of a verb."""
    client.force_login(user)
    return client.post(f"/api/v1/{address}/", body, content_type="application/json", headers=fresh(version))


def done(client, user, address: str, /, *verbs: str, status: int = 200, version: object = "*", **body) -> dict:
    """The answer of a verb that was done, and left just the entries `verbs` in the ledger."""
    with recorded() as told:
        answer = sent(client, user, address, version, body)
    assert answer.status_code == status, answer.content
    assert [entry.verb for entry in told] == list(verbs)
    shown: dict = answer.json()
    return shown


def said_why_not(client, user, address: str, status: int = 409, /, version: object = "*", **body) -> str:
    """The sentence with which a verb refuses; nothing is in the ledger afterwards."""
    with recorded() as told:
        answer = sent(client, user, address, version, body)
    assert (answer.status_code, answer["Content-Type"]) == (status, "application/problem+json"), answer.content
    assert told == []
    shown = answer.json()
    return str(shown.get("errors") or shown["detail"])
