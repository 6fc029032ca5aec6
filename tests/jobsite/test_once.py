"""A request with an Idempotency-Key is done once; what a phone did earlier keeps its own time."""

import io
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.contrib.messages import get_messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client, RequestFactory

from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.ledger.made import Made, facts_of, made_of
from jobsite.ledger.models import DoneOnce, Entry
from jobsite.ledger.operations_once import forget_old_answers, taken
from jobsite.once import fingerprint, key_of
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON

RANG = {"reported_by": "The caretaker", "text": "Sparks at the cooker switch", "next_step_by": ""}


def rang(client: Client, site, *, key: str = '"one"', id=None, **more):
    """Somebody rings, sent with a key; `more` are headers and fields."""
    headers = {"Idempotency-Key": key} if key else {}
    headers |= {name: more.pop(name) for name in ("X-Made", "X-Sent", "X-Kept") if name in more}
    return client.post(f"/rang/?site={site.pk}", RANG | {"id": id or new_id()} | more, headers=headers)


@pytest.mark.parametrize(
    ("sent", "key"),
    [
        ('"8e03978e-40d5-43e8-bc93-6894a57f9324"', "8e03978e-40d5-43e8-bc93-6894a57f9324"),
        ("8e03978e-40d5-43e8-bc93-6894a57f9324", "8e03978e-40d5-43e8-bc93-6894a57f9324"),
        (' "a b" ', ""),
        ('"a"b"', ""),
        ('""', ""),
        ("", ""),
        ("é", ""),
        (f'"{"x" * 201}"', ""),
    ],
)
def test_a_key_is_a_string_in_quotes(sent, key) -> None:
    assert key_of(sent) == key


def test_the_same_request_again_is_answered_and_does_nothing(client, office, site) -> None:
    client.force_login(office)
    form = new_id()
    first = rang(client, site, id=form, **{"X-Kept": "p:rang:1"})
    entries = Entry.objects.count()
    again = rang(client, site, id=form, **{"X-Kept": "p:rang:1"})
    assert (first.status_code, again.status_code) == (302, 302)
    assert (again["Location"], again["X-Saved"], again["X-Again"]) == (first["Location"], "p:rang:1", "yes")
    assert (Observation.objects.count(), Entry.objects.count()) == (1, entries)
    assert len(list(get_messages(again.wsgi_request))) == len(list(get_messages(first.wsgi_request)))


def test_the_key_of_another_request_is_refused(client, office, site) -> None:
    client.force_login(office)
    form = new_id()
    rang(client, site, id=form)
    other = rang(client, site, id=form, reported_by="The tenant")
    assert (other.status_code, other.json()["type"]) == (422, "urn:problem:idempotency:other-request")
    assert rang(client, site, key='"a b"').status_code == 400
    assert Observation.objects.count() == 1


def test_one_persons_key_is_not_anothers(client, office, manager, site) -> None:
    for person, name in ((office, "one"), (manager, "two")):
        client.force_login(person)
        assert rang(client, site, text=f"Sparks {name}").status_code == 302
    assert Observation.objects.count() == 2


def test_what_was_refused_is_not_kept_and_may_be_put_right_with_the_same_key(client, office, site) -> None:
    client.force_login(office)
    assert rang(client, site, text="").status_code == 422
    assert not DoneOnce.objects.exists()
    assert rang(client, site).status_code == 302


def test_whoever_is_not_signed_in_is_asked_to_whatever_the_key(client, office, site) -> None:
    assert "/accounts/login/" in rang(client, site)["Location"]
    assert not DoneOnce.objects.exists()


def test_the_check_against_forged_requests_comes_first(office, site) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(office)
    assert rang(client, site).status_code == 403
    assert not DoneOnce.objects.exists()


def test_what_signing_in_asks_for_again_is_asked_whatever_the_key(client, office) -> None:
    client.force_login(office)
    answer = client.post("/accounts/2fa/webauthn/keys/1/remove/", headers={"Idempotency-Key": '"one"'})
    assert (answer.status_code, "/reauthenticate/" in answer["Location"]) == (302, True)


@pytest.mark.django_db(transaction=True)
def test_while_the_first_one_runs_the_second_is_told_so(transactional_db, office, site) -> None:
    client = Client()
    client.force_login(office)
    with transaction.atomic():
        assert taken(office.pk, "one")
        assert [answer.status_code for answer in at_once(lambda: rang(client, site))] == [409]
    assert rang(client, site).status_code == 302


@pytest.mark.django_db(transaction=True)
def test_of_a_double_tap_one_is_done(transactional_db, office, site) -> None:
    clients = [Client(), Client(), Client()]
    for client in clients:
        client.force_login(office)
    form = new_id()
    answers = at_once(*[lambda client=client: rang(client, site, id=form) for client in clients])
    assert {answer.status_code for answer in answers} <= {302, 409}
    assert rang(clients[0], site, id=form).status_code == 302
    assert (Observation.objects.count(), DoneOnce.objects.count()) == (1, 1)


def test_answers_are_kept_thirty_days(office) -> None:
    common = {"person": office.pk, "fingerprint": b"x" * 32, "status": 200, "body": b""}
    for days in (29, 31):
        DoneOnce.objects.create(key=str(days), at=NOON - timedelta(days=days), **common)
    assert forget_old_answers(now=NOON) == 1
    assert [row.key for row in DoneOnce.objects.all()] == ["29"]


def test_a_form_is_the_same_whatever_its_boundary_and_its_token() -> None:
    def asked(boundary: str, token: str, content: bytes):
        head = f'--{boundary}\r\nContent-Disposition: form-data; name="csrfmiddlewaretoken"\r\n\r\n{token}\r\n'
        head += f'--{boundary}\r\nContent-Disposition: form-data; name="photo"; filename="a.jpg"\r\n\r\n'
        body = head.encode() + content + f"\r\n--{boundary}--\r\n".encode()
        return RequestFactory().post("/x/", body, content_type=f"multipart/form-data; boundary={boundary}")

    first, again, other = asked("aa", "t1", b"picture"), asked("bb", "t2", b"picture"), asked("aa", "t1", b"another")
    assert fingerprint(first) == fingerprint(again) != fingerprint(other)
    assert first.FILES["photo"].read() == b"picture"  # the view still reads it from its beginning


def test_a_file_by_another_name_or_address_is_another_request() -> None:
    def asked(path: str, name: str):
        return fingerprint(RequestFactory().post(path, {"photo": SimpleUploadedFile(name, io.BytesIO(b"x").read())}))

    assert len({asked("/x/", "a.jpg"), asked("/x/", "b.jpg"), asked("/y/", "a.jpg")}) == 3


# --- the phone's clock ------------------------------------------------------------------------------------------------


def iso(instant: datetime) -> str:
    return instant.isoformat(timespec="milliseconds").replace("+00:00", "Z")


@pytest.mark.parametrize(
    ("made", "sent", "at", "phone"),
    [
        (-120, 0, -120, None),  # two hours in a plant room, the clock right
        (-120 + 7, 7, -120, -120 + 7),  # the same by a clock 7 minutes fast
        (-120 - 600, -600, -120, -120 - 600),  # and by one 10 hours slow
        (0, 1, -1, None),
        (5, 0, 0, None),  # done after it was sent: not believed
        (-61 * 1440, 0, 0, None),  # and what is too old to be true
    ],
)
def test_the_time_that_counts_follows_from_the_phones_two_times(made, sent, at, phone) -> None:
    minutes = [NOON + timedelta(minutes=m) for m in (made, sent, at)]
    found = made_of(iso(minutes[0]), iso(minutes[1]), now=NOON)
    assert (found.at, found.phone) == (minutes[2], None if phone is None else NOON + timedelta(minutes=phone))


@pytest.mark.parametrize("text", ["", "yesterday", "2026-11-24T09:00:00", "0001-01-01T00:00:00+23:00", "\x00"])
def test_what_is_no_instant_counts_as_done_now(text) -> None:
    assert made_of(text, iso(NOON), now=NOON) == made_of(iso(NOON), text, now=NOON) == Made(NOON)


def test_the_clocks_of_london_make_no_difference() -> None:
    made, sent = datetime(2026, 10, 25, 1, 30, tzinfo=UTC), datetime(2026, 10, 25, 2, 30, tzinfo=UTC)
    found = made_of("2026-10-25T01:30:00+00:00", "2026-10-25T03:30:00+01:00", now=sent)
    assert found == Made(made)


def test_an_entry_tells_both_times_only_where_they_matter() -> None:
    assert facts_of(None, now=NOON) == facts_of(Made(NOON), now=NOON) == {}
    late, wrong = NOON - timedelta(hours=2), NOON - timedelta(hours=9)
    assert facts_of(Made(late, wrong, -timedelta(hours=7)), now=NOON) == {
        "made_at": "2026-02-03T10:00:00.000+00:00",
        "phone_clock": "2026-02-03T03:00:00.000+00:00",
    }


def test_the_ledger_keeps_both_times_and_the_phone_is_told(client, office, site) -> None:
    client.force_login(office)
    with time_machine.travel(NOON, tick=False):
        times = {"X-Made": iso(NOON - timedelta(hours=3)), "X-Sent": iso(NOON - timedelta(minutes=7))}
        answer = rang(client, site, **times)
        just = rang(client, site, key='"two"')
    facts = [entry.facts for entry in Entry.objects.filter(verb__contains="reported").order_by("number")]
    assert answer["X-Clock-Off"] == "-420"
    assert facts[0]["made_at"] == "2026-02-03T09:07:00.000+00:00"
    assert facts[0]["phone_clock"] == "2026-02-03T09:00:00.000+00:00"
    assert ("X-Clock-Off" in just, {"made_at", "phone_clock"} & set(facts[1])) == (False, set())


def test_work_outside_of_a_request_has_no_other_time(office, site) -> None:
    make.make_observation(site)
    assert all("made_at" not in entry.facts for entry in Entry.objects.all())
