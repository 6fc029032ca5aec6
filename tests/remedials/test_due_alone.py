"""Who works alone and does not come out: told by the next sweep, once, and said on every office page until they are found."""

from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse

from jobsite.messages.models import Message
from remedials.due.operations import send, sweep
from remedials.visits.models import CheckIn
from remedials.visits.operations.checking_in import check_out
from tests import factories as make
from tests.factories import NOON
from tests.remedials.desk import read, statements

pytestmark = pytest.mark.django_db
OUT_BY = NOON + timedelta(hours=2)
GRACE = timedelta(minutes=30)  # the firm's, as it is shipped
BANNER = "Working alone and not out: Edwin Wireman at Sample House, out by 14:00. Ring them now."


@pytest.fixture
def alone(site, engineer, office):
    visit = make.make_visit(site, engineers=[engineer])
    return CheckIn.objects.create(site=site, visit=visit, user=engineer, in_at=NOON, out_by=OUT_BY)


def told() -> list[str]:
    return sorted(Message.objects.filter(reason_kind="check-in").values_list("address", flat=True))


def test_the_office_and_managers_hear_of_it_once_after_the_grace(alone, manager):
    for at, many in (
        (OUT_BY, 0),
        (OUT_BY + GRACE - timedelta(minutes=1), 0),
        (OUT_BY + GRACE, 2),
        (OUT_BY + 2 * GRACE, 2),
    ):
        sweep(now=at)
        assert len(told()) == many
    assert told() == ["mabel@example.com", "olive@example.com"]
    assert set(Message.objects.filter(reason_kind="check-in").values_list("danger", flat=True)) == {True}
    assert send(now=OUT_BY + 2 * GRACE) >= 2
    assert {"Not out: Edwin Wireman at Sample House"} == {m.subject for m in mail.outbox if "Not out" in m.subject}


def test_who_came_out_meanwhile_is_not_told_of(alone, engineer):
    sweep(now=OUT_BY + GRACE)
    check_out(alone, by=engineer, now=OUT_BY + GRACE)
    send(now=OUT_BY + GRACE)
    assert [m.subject for m in mail.outbox if "Not out" in m.subject] == []
    assert set(Message.objects.filter(reason_kind="check-in").values_list("state", flat=True)) == {"dropped"}


def test_every_office_page_says_so_from_that_sweep_on(client, alone, office, engineer, time_machine):
    late = OUT_BY + GRACE
    time_machine.move_to(late, tick=False)
    client.force_login(office)
    sweep(now=late - timedelta(minutes=5))
    assert BANNER not in read(client, reverse("desk:sites"))
    sweep(now=late)
    assert BANNER in read(client, reverse("desk:sites"))
    client.force_login(engineer)
    assert BANNER not in read(client, reverse("desk:sites"))
    client.force_login(office)
    check_out(alone, by=engineer, now=late)
    assert BANNER not in read(client, reverse("desk:sites"))


def test_it_costs_a_page_nothing_while_nobody_is_late(client, office, time_machine):
    time_machine.move_to(NOON, tick=False)
    client.force_login(office)
    sweep(now=NOON)
    with statements() as sql:
        read(client, reverse("desk:sites"))
    assert not [one for one in sql if "checkin" in one["sql"]]
