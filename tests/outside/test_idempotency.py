"""Changes sent again, and changes to what was seen, against the drafts and standards of the web.

Quoted from memory of:
- draft-ietf-httpapi-idempotency-key-header (IETF, "The Idempotency-Key HTTP Header Field"): section 2.1 the syntax (an item
  of structured fields whose value is a string), 2.2 a key is not used again with another payload, 2.6 what a server
  does, 2.7 error scenarios: missing 400, used with another payload 422, still running 409, each as a problem document.
- RFC 8941, section 3.3.3: strings of structured fields. RFC 6585, section 3: 428 Precondition Required.
- RFC 9110, section 8.8.3: entity tags; 13.1.1: If-Match compares strongly, "*" matches what is there; 15.5.13: 412.
- RFC 9457, section 3: problem documents are application/problem+json with type, title, status, detail.
"""

import pytest

from jobsite.once import OTHER, RUNNING, key_of, problem
from remedials.works.models import Remedial
from tests.factories import make_observation, make_remedial
from tests.remedials.test_api_verbs import fresh

pytestmark = pytest.mark.django_db
EXAMPLE = '"8e03978e-40d5-43e8-bc93-6894a57f9324"'


@pytest.fixture
def remedial(client, office, site):
    client.force_login(office)
    return make_remedial(make_observation(site, code="C3"))


def cancel(client, remedial, headers: dict[str, str], reason: str = "Sold"):
    where = f"/api/v1/remedials/{remedial.pk}/cancel/"
    return client.post(where, {"reason": reason}, content_type="application/json", headers=headers)


def is_problem(answer, status: int) -> str:
    """The type of a problem document that has all its members (RFC 9457)."""
    told = answer.json()
    assert (answer.status_code, answer["Content-Type"], told["status"]) == (status, "application/problem+json", status)
    assert told["title"]
    assert told["detail"]
    return told["type"]


# --- the draft --------------------------------------------------------------------------------------------------------


def test_the_key_of_the_draft_s_example() -> None:
    assert key_of(EXAMPLE) == EXAMPLE.strip('"')


@pytest.mark.parametrize("sent", ['"a', 'a"', '"a" "b"', '"tab\t"', '"é"', '"\x7f"', "'a b'"])
def test_what_is_no_string_of_rfc_8941_is_no_key(sent) -> None:
    assert key_of(sent) == ""


@pytest.mark.parametrize("sent", ['"!"', '"#$%&()*+,-./"', '"[]^_`{|}~"'])
def test_every_printable_character_may_stand_in_it(sent) -> None:
    assert key_of(sent) == sent[1:-1]


def test_section_2_7_missing(client, remedial) -> None:
    without = {name: value for name, value in fresh().items() if name != "Idempotency-Key"}
    assert is_problem(cancel(client, remedial, without), 400) != "about:blank"
    assert Remedial.objects.get().stage == "to-price"


def test_section_2_7_used_with_another_payload(client, remedial) -> None:
    headers = fresh()
    assert cancel(client, remedial, headers).status_code == 200
    assert OTHER in is_problem(cancel(client, remedial, headers, "Another reason"), 422)


def test_section_2_7_still_running_is_told_apart(client, remedial) -> None:
    """That it is answered while the first runs is raced in tests/jobsite/test_once.py."""
    running = problem(RUNNING)
    assert (running.status_code, running["Content-Type"]) == (409, "application/problem+json")
    cancel(client, remedial, fresh())
    other = is_problem(cancel(client, remedial, fresh(), "Another reason"), 409)
    assert f'"{other}"' not in running.content.decode()


def test_section_2_6_sent_again_is_answered_as_before(client, remedial) -> None:
    headers = fresh()
    first, again = cancel(client, remedial, headers), cancel(client, remedial, headers)
    assert (first.status_code, first.content) == (again.status_code, again.content)


# --- versions ---------------------------------------------------------------------------------------------------------


def test_rfc_6585_precondition_required(client, remedial) -> None:
    without = {name: value for name, value in fresh().items() if name != "If-Match"}
    is_problem(cancel(client, remedial, without), 428)


@pytest.mark.parametrize(
    ("sent", "status"),
    [("*", 200), ('"1"', 200), ('"7", "1"', 200), ('"7"', 412), ('W/"1"', 412), ('"one"', 412), ("1", 400)],
)
def test_rfc_9110_if_match(client, remedial, sent, status) -> None:
    assert remedial.version == 1
    assert cancel(client, remedial, fresh() | {"If-Match": sent}).status_code == status


def test_rfc_9110_an_entity_tag_is_strong_and_quoted(client, remedial) -> None:
    where = f"/api/v1/remedials/{remedial.pk}/"
    for encoding in ("identity", "gzip"):
        assert client.get(where, headers={"Accept-Encoding": encoding})["ETag"] == '"1"'
