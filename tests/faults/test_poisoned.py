"""A row that always fails: it stands to be seen by the office, and everything else goes out."""

from datetime import timedelta

import pytest
from django.db import connection
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.messages.operations import BACKOFF, write_messages
from remedials.due.models import Trouble
from tests.factories import make_user, unit_of
from tests.faults.stack import SEND, STATE
from tests.faults.town import all_went_once, make_town
from tests.smtp_server import Manner

pytestmark = pytest.mark.parametrize("stack", ["any"], indirect=True)  # the broker has no part in it

REFUSES = """
CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE 'poisoned'; END $$;
CREATE TRIGGER poisoned BEFORE INSERT ON post_message FOR EACH ROW WHEN (NEW.address = '{}') EXECUTE FUNCTION refuse()
"""
REFUSES_NO_MORE = "DROP TRIGGER poisoned ON post_message; DROP FUNCTION refuse"


def asked(client, stack, page: str) -> str:
    """What the office sees on a page."""
    client.force_login(make_user("Olive Deskworth", "office"))
    return client.get(reverse(page)).content.decode()


def test_one_that_can_never_be_written(stack, client):
    town = make_town()
    poisoned, *others = town.addresses
    with connection.cursor() as cursor:
        cursor.execute(REFUSES.format(poisoned))
    try:
        stack.round()
        all_went_once(stack, *others)
        assert not Message.objects.filter(address=poisoned).exists()
        trouble = Trouble.objects.get()
        assert "poisoned" in trouble.error
        assert f"inspection {unit_of(town.houses[0]).pk}" in trouble.what
        assert "The reminders left out 1 thing" in asked(client, stack, "desk:due")
    finally:
        with connection.cursor() as cursor:
            cursor.execute(REFUSES_NO_MORE)
    stack.round()
    all_went_once(stack, *town.addresses)
    assert not Trouble.objects.exists()


def poisoned_message(now, **fields) -> Message:
    usual = {"occasion": "poisoned", "to_kind": "customer", "address": "poisoned@example.com", "subject": "Poisoned"}
    usual |= {"to_id": "01890a5d-ac96-774b-bcce-b302099a8057", "written_at": now, "next_try_at": now, "body": "None"}
    write_messages([Message(**usual | fields)])
    return Message.objects.get(occasion="poisoned")


@pytest.mark.parametrize("how", ["its file is lost", "the mail server breaks off at it"])
def test_one_that_can_never_be_sent(stack, client, how):
    town = make_town(danger=False)
    if how == "its file is lost":
        row = poisoned_message(stack.now, danger=True, filled_by="quote", reason_ref=new_id())
    else:
        row = poisoned_message(stack.now)
        stack.mail.of_address[row.address] = Manner.DIE_BEFORE_DATA
    stack.round()
    assert [len(stack.mails_to(address)) for address in town.addresses] == [1, 1, 1]
    for wait in BACKOFF:
        row.refresh_from_db()
        assert (row.state, row.error != "") == (STATE.WAITING, True)
        stack.set_clock(row.next_try_at + timedelta(minutes=1))
        assert wait
        stack.tick(SEND)
        stack.until(lambda: stack.nothing_waits() and stack.idle(), "another try")
    row.refresh_from_db()
    assert row.state == STATE.FAILED, row.error
    assert stack.mails_to(row.address) == []
    page = asked(client, stack, "messages:messages")
    assert "Poisoned" in page
    assert "could not be sent" in page
