"""The examples in the API's description: every body of a request has one, fits its own schema, and is taken by the service."""

import pytest
import time_machine
from django.db import transaction
from django.test import Client
from jsonschema import Draft202012Validator

from jobsite.ids import new_id
from tests.factories import NOON
from tests.fuzz.described import Shown, description, examples, properties, requests_with_a_body
from tests.fuzz.world import settled

PROBLEM = "application/problem+json"
# What no example can do in this firm, though it is well said.
REFUSED_ELSEWISE = {
    "/api/v1/check-ins/{id}/found-safe/": 403,  # the one who may do everything is also the one who went
    "/api/v1/due/{kind}/{ref}/have-it/": 404,  # the row is in the list of what is to be decided only without an owner
    "/api/v1/visits/{id}/settle/": 400,  # lines have numbers, which nobody can choose
}
LEAST_DONE = 130  # of about 190: the others want their row in another state
FILE = "multipart/form-data"


def test_every_body_has_an_example_or_needs_none():
    """None is shown of a body that is empty, nor of a file: no text is one."""
    without = []
    for path, operation in requests_with_a_body():
        for kind, media in operation["requestBody"]["content"].items():
            if kind != FILE and properties(media["schema"]) and not media.get("examples"):
                without.append(path)
    assert without == []


def test_each_example_fits_its_own_schema():
    """By JSON Schema 2020-12, which OpenAPI 3.1 takes (section 4.8.24), formats too."""
    whole = description()
    wrong = [
        f"{shown}: {error.json_path}: {error.message}"
        for shown in examples()
        for error in Draft202012Validator(
            shown.schema | {"components": whole["components"]}, format_checker=Draft202012Validator.FORMAT_CHECKER
        ).iter_errors(shown.body)
    ]
    assert wrong == []


@pytest.mark.django_db
def test_each_example_is_done_or_refused_for_a_reason_of_the_firm():
    """In a firm with the rows that examples name: none is malformed, none names a row that is not there."""
    others, done = {}, 0
    with time_machine.travel(NOON, tick=False):
        client = Client()
        client.force_login(settled())
        for shown in examples():
            status, said = _sent(client, shown)
            done += status in (200, 201)
            if status not in (200, 201, 409) and status != REFUSED_ELSEWISE.get(shown.path):
                others[str(shown)] = (status, said)
    assert others == {}
    assert done >= LEAST_DONE


def _sent(client: Client, shown: Shown) -> tuple[int, bytes]:
    """How the service answers, and with what; nothing of it stays."""
    point = transaction.savepoint()
    headers = {"Idempotency-Key": f'"{new_id()}"', "If-Match": "*"}
    answer = client.post(shown.address, shown.body, content_type="application/json", headers=headers)
    transaction.savepoint_rollback(point)
    assert answer.status_code < 300 or answer["Content-Type"] == PROBLEM, answer
    return answer.status_code, answer.content
