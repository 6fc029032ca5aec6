"""What a message is about changes between its writing and its sending."""

import pytest

from inspections.models import InspectionDue
from jobsite.ledger.models import Entry
from jobsite.messages.models import Message
from jobsite.premises.operations import merge_sites
from remedials.due.operations import sweep
from remedials.works.operations import review_proof
from tests.factories import make_qualified, make_remedial, make_site, unit_of
from tests.faults.stack import SEND, STATE
from tests.faults.town import all_went_once, make_town
from tests.remedials.work import close

pytestmark = pytest.mark.parametrize("stack", ["any"], indirect=True)  # the broker has no part in it


@pytest.mark.parametrize("when", ["before it is sent", "while it is at the mail server"])
def test_two_sites_become_one(stack, when):
    """The message goes out once, and what is noted of it is noted at the site that remained."""
    town = make_town(houses=1, danger=False)
    (gone,) = town.houses
    into = make_site("House 1 again", customer=gone.customer, address=gone.address)
    stack.work()
    sweep(now=stack.now)
    stack.mail.held = when != "before it is sent"
    if stack.mail.held:
        stack.tick(SEND)
        stack.until(lambda: stack.mails_to(town.addresses[0]) or stack.mail.taken, "a mail taken")
    merge_sites(gone, into=into, names={}, reason="The same door", by=town.manager, now=stack.now)
    stack.mail.held = False
    for days in (0, 1, 1):
        stack.round(days=days, minutes=1)
    all_went_once(stack, *town.addresses)
    about = Message.objects.get(address=town.addresses[0])
    assert about.site == into.pk
    told = Entry.objects.filter(subject=about.pk)
    assert [(entry.chain, entry.verb) for entry in told] == [(into.pk, "message.sent")]


def test_a_remedial_is_closed_and_its_proof_accepted(stack):
    """The danger is gone: nobody is told of it any more, and the record says that the message was not needed."""
    town = make_town(houses=1)
    remedial = make_remedial(town.danger, stage="approved", photo_required=False)
    sweep(now=stack.now)
    dangers = set(Message.objects.filter(danger=True).values_list("occasion", flat=True))
    assert dangers
    proof = close(remedial, by=town.engineer, now=stack.now)
    qualified = make_qualified()
    review_proof(proof, decision="accepted", by=qualified, now=stack.now)
    stack.round()
    assert {stack.states()[occasion] for occasion in dangers} == {STATE.DROPPED}
    assert not set(stack.mailed()) & dangers
    assert len(stack.mails_to(town.addresses[0])) == 1


def test_an_inspection_was_done_and_is_not_asked_for(stack):
    town = make_town(houses=2, danger=False)
    sweep(now=stack.now)
    InspectionDue.objects.filter(unit=unit_of(town.houses[0])).delete()
    stack.round()
    assert [len(stack.mails_to(address)) for address in town.addresses] == [0, 1]
    assert Message.objects.get(address=town.addresses[0]).state == STATE.DROPPED
