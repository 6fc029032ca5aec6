"""A double tap: the same form of the closing page twice at once, on two connections. One is done, whichever is answered."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from inspections.models import Reading
from jobsite.ids import new_id
from remedials.works.models import PowerStep, Proof, ProofPhoto, Stint
from tests.at_once import at_once
from tests.factories import make_instrument
from tests.remedials.work import ask_reading, on_the_way, photo_bytes

pytestmark = pytest.mark.django_db(transaction=True)
MADE = {"photo": ProofPhoto, "reading": Reading, "power": PowerStep, "close": Proof, "leave": Stint}


def form_of(kind: str) -> tuple[str, dict[str, Any]]:
    """The address of one form of the page, and what is typed into it."""
    remedial = on_the_way("C2", stage="booked")
    at = f"/remedials/{remedial.pk}/"
    if kind == "reading":
        ask_reading(remedial)
        at = f"/required-readings/{remedial.required_readings.get().pk}/"
        return at, {"value": "0.35", "instrument": str(make_instrument().pk)}
    return {
        "photo": (f"{at}photos/", {}),
        "power": (f"{at}power/", {"kind": "off", "where": "Way 5, lock 14"}),
        "close": (f"{at}close/", {"minutes": "30"}),
        "leave": (f"{at}part-done/", {"came": "part-done", "because": "Second fix"}),
    }[kind]


@pytest.mark.parametrize("keyed", [True, False], ids=["with a key", "a plain form"])
@pytest.mark.parametrize("kind", MADE)
def test_of_a_double_tap_one_is_done(transactional_db, engineer, kind, keyed) -> None:
    where, fields = form_of(kind)
    fields = {"id": str(new_id())} | fields
    headers = {"X-Kept": "p:1"} | ({"Idempotency-Key": '"one"'} if keyed else {})
    clients = [Client(), Client()]
    for client in clients:
        client.force_login(engineer)

    def tap(client: Client) -> Any:
        photo = {"photo": SimpleUploadedFile("a.jpg", photo_bytes(), "image/jpeg")} if kind == "photo" else {}
        return client.post(where, fields | photo, headers=headers)

    answers = at_once(*[lambda client=client: tap(client) for client in clients])
    assert {answer.status_code for answer in answers} <= {302, 409}
    assert {answer["X-Saved"] for answer in answers if answer.status_code == 302} == {"p:1"}
    again = tap(clients[0])
    assert (again.status_code, again["X-Saved"], "X-Again" in again) == (302, "p:1", keyed)
    assert MADE[kind].objects.count() == 1
