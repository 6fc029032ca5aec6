"""Two records of one site become one while the sweep writes: its customer hears of it once."""

from datetime import timedelta

import pytest
from django.db import connection, transaction

from inspections.models import InspectionDue
from jobsite.messages.models import Message
from jobsite.premises.operations import merge_sites
from remedials.due.operations import SWEEP_LOCK, sweep
from tests.at_once import behind
from tests.factories import NOON, TODAY, anybody, make_inspection, make_site, unit_of


@pytest.mark.django_db(transaction=True)
def test_sites_become_one_only_between_two_sweeps():
    gone, manager = make_site(), anybody("manager")
    into = make_site("Sample House again", customer=gone.customer)
    remains = unit_of(into).pk
    due_on = TODAY + timedelta(days=30)
    report = make_inspection(gone, inspected_on=TODAY - timedelta(days=365), next_due_on=due_on, by=manager)
    InspectionDue.objects.create(unit=unit_of(gone), due_on=due_on, basis="recommended", shows_from=TODAY, after=report)
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [SWEEP_LOCK])
        becoming_one = behind(
            lambda: merge_sites(gone, into=into, names={}, reason="The same door", by=manager, now=NOON)
        )
        assert sweep(now=NOON) is True  # the lock is ours already
    becoming_one.result(20)
    sweep(now=NOON + timedelta(minutes=5))
    message = Message.objects.get(to_kind="customer")
    assert (message.site, message.reason_ref, message.about) == (into.pk, remains, f"inspection {remains}")
    assert str(remains) in message.occasion
