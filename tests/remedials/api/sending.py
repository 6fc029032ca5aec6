"""What tests of the API's verbs share: a body sent as JSON or as a form with files, and what it left in the ledger."""

from contextlib import contextmanager
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from tests.factories import picture, recorded
from tests.remedials.test_api_verbs import fresh, post

LATEST = "*"


def told_of(answer, status: int) -> Any:
    """What an answer with this status says."""
    assert answer.status_code == status, (answer.status_code, answer.content)
    return answer.json()


def sent(client, user, address: str, status: int = 200, version: object = LATEST, **body) -> Any:
    """What is answered to a body sent as JSON."""
    return told_of(post(client, user, address, version, **body), status)


def form(client, user, address: str, status: int = 201, version: object = LATEST, **fields) -> Any:
    """What is answered to a body sent as a form with files."""
    client.force_login(user)
    return told_of(client.post(f"/api/v1/{address}/", fields, headers=fresh(version)), status)


def a_photo(colour: str = "red") -> SimpleUploadedFile:
    return SimpleUploadedFile("../../a\0b.jpg", picture(colour, "JPEG"), "image/jpeg")


@contextmanager
def entries():
    """Verb and subject of each entry that the ledger gains inside, in order: `with entries() as left: …`."""
    left: list[tuple[str, str]] = []
    with recorded() as told:
        yield left
    left += [(entry.verb, str(entry.subject)) for entry in told]
