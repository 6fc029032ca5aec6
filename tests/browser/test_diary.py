"""The diary by pointer, by keyboard, by form and on paper."""

from datetime import date, datetime, timedelta, timezone

import pytest
import time_machine
from django.urls import reverse
from playwright.sync_api import Page, expect

from jobsite.people.models import Leave
from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.weeks import full_week

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def week(db, engineer, other_engineer, office):
    """Visits in the week of NOON; the pages are asked with the day, whatever today is."""
    people = [engineer, other_engineer, *(make.make_user(f"Number{n} Sparks", "engineer") for n in range(10))]
    Leave.objects.create(user=people[3], first=date(2026, 2, 4), last=date(2026, 2, 5), recorded_by=office)
    return full_week(people)


@pytest.mark.parametrize("show", ["week", "day", "fortnight"])
def test_looks(page_for, axe, office, week, show) -> None:
    page = page_for(office)
    page.goto(f"{reverse('visits:diary')}?day=2026-02-03&show={show}")
    look(page, f"diary-{show}")
    axe(page)
    page.set_viewport_size({"width": 390, "height": 800})
    look(page, f"diary-{show}-390")
    axe(page)
