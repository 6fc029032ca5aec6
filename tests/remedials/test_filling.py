"""The large firm for measuring holds together: the database's promises were kept while it was written."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from inspections.models import Observation
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site
from remedials.desk.filling import Size, fill
from remedials.due.models import DueRow
from remedials.quotes.models import Answer, Line, Offer
from remedials.visits.models import Visit
from remedials.works.models import Remedial
from tests.factories import NOON

pytestmark = pytest.mark.django_db
SMALL = Size(sites=5, boards=20, circuits=120, observations=60, remedials=25, quotes=20, lines=60)


def test_it_writes_as_many_as_asked():
    fill(SMALL, now=NOON)
    counts = [model.objects.count() for model in (Site, Board, Circuit, Observation, Remedial)]
    assert counts == [5, 20, 120, 60, 25]
    assert [Offer.objects.count(), Line.objects.count()] == [22, 460]
    assert all(answer.to_pay == answer.net + answer.vat for answer in Answer.objects.all())
    assert DueRow.objects.count() > 25


def test_a_week_has_as_many_visits_as_asked_for_and_nobody_works_at_night():
    """12 engineers, 7 days, 150 visits: what the diary is measured with."""
    size = Size(sites=300, boards=300, circuits=300, observations=2000, remedials=1600, quotes=20, lines=60)
    fill(size, now=NOON)
    monday = NOON.replace(hour=0) - timedelta(days=1)
    assert Visit.objects.filter(start__gte=monday, start__lt=monday + timedelta(days=7)).count() == 150
    assert User.objects.filter(attendances__isnull=False).distinct().count() == 12
    assert {visit.start.hour for visit in Visit.objects.all()} == {8, 11}
    assert not Remedial.objects.filter(stage="booked", lines=None).exists()


def test_it_refuses_a_database_in_use(site):
    with pytest.raises(CommandError, match="holds sites already"):
        call_command("fill")
