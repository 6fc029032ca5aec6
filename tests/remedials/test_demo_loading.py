"""Loading the demo firm: relative to its day, and never into a database in use."""

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from inspections.models import Observation
from jobsite import clock
from jobsite.premises.models import Site
from remedials.desk.demo.loading import load_demo
from tests.factories import NOON

pytestmark = pytest.mark.django_db


def test_it_is_relative_to_the_day_it_is_loaded(db):
    later = NOON + timedelta(days=400)
    load_demo(now=later)
    today = clock.local_day(later)
    assert Observation.objects.order_by("-recorded_on")[0].recorded_on == today


def test_it_refuses_a_database_in_use(office):
    with pytest.raises(CommandError, match="in use"):
        call_command("load_demo")


def test_if_empty_leaves_a_database_in_use_alone(office):
    call_command("load_demo", "--if-empty")
    assert Site.objects.count() == 0
