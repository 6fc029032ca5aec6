"""The mail server is down for a day and comes back, or is busy, hangs and dies in turn."""

import pytest

from jobsite.messages.models import Message
from tests.faults.stack import SEND, STATE
from tests.faults.town import all_went_once, make_town
from tests.smtp_server import Manner

pytestmark = pytest.mark.parametrize("stack", ["any"], indirect=True)  # the broker has no part in it


def test_the_mail_server_is_down_for_a_day_and_back(stack):
    town = make_town()
    stack.mail.stop()
    try:
        stack.work()
        for hours in (0.1, 0.5, 1, 2, 4, 8, 8.4):
            stack.later(hours=hours)
            stack.tick()
            stack.until(lambda: stack.swept() and stack.idle(), "a sweep, and a vain try")
            assert set(stack.states().values()) <= {STATE.WAITING, STATE.SENDING}
    finally:
        stack.mail.start()
    for _ in range(6):
        stack.round(hours=5)
    all_went_once(stack, *town.addresses)


def test_busy_now_and_then_is_tried_again(stack):
    town = make_town()
    stack.mail.next([Manner.BUSY, Manner.LATER, Manner.BUSY_AFTER_DATA, Manner.BUSY])
    for _ in range(6):
        stack.round(minutes=20)
    all_went_once(stack, *town.addresses)


def test_one_that_dies_after_taking_leaves_one_unknown_and_the_rest_goes_out(stack):
    town = make_town()
    stack.mail.next([Manner.DIE_AFTER_TAKING])
    for _ in range(6):
        stack.round(minutes=20)
    assert all_went_once(stack, *town.addresses, unknown=1) == 1
    assert stack.mailed().total() == len(stack.states())


def test_an_address_that_is_refused_stands_to_be_seen_and_the_rest_goes_out(stack):
    town = make_town()
    wrong, *others = town.addresses
    stack.mail.of_address[wrong] = Manner.REFUSE_ADDRESS
    stack.round()
    stack.round()
    refused = Message.objects.get(address=wrong)
    assert (refused.state, "refused" in refused.error) == (STATE.FAILED, True)
    assert [len(stack.mails_to(address)) for address in town.addresses] == [0, *[1 for _ in others]]
    stack.tick(SEND)
    assert set(Message.objects.exclude(pk=refused.pk).values_list("state", flat=True)) == {STATE.SENT}
