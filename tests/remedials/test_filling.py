"""The large firm for measuring holds together: the database's promises were kept while it was written."""

import pytest
from django.core.management import CommandError, call_command

from inspections.models import Observation
from jobsite.premises.models import Board, Circuit, Site
from remedials.desk.filling import Size, fill
from remedials.due.models import DueRow
from remedials.quotes.models import Answer, Line, Offer
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


def test_it_refuses_a_database_in_use(site):
    with pytest.raises(CommandError, match="holds sites already"):
        call_command("fill")
