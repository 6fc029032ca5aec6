"""By what figures people are reminded: the firm's own, else the shipped ones."""

from datetime import date, time

import pytest

from jobsite.firm.models import Firm
from remedials.due.models import ReminderRule, Reminding
from remedials.due.queries.settings import hours, reminding, rules_in_force
from remedials.due.rules.moments import is_working
from remedials.due.rules.sorts import SHIPPED, Days, Sort

pytestmark = pytest.mark.django_db


def test_the_shipped_figures_hold_until_the_firm_sets_its_own(django_assert_num_queries):
    with django_assert_num_queries(1):
        assert rules_in_force() == SHIPPED
    with django_assert_num_queries(1):
        found = reminding()
    assert (found.digest_at, found.working_days, found.inspection_days) == (time(7), [1, 2, 3, 4, 5], [90, 30, 7])


def test_the_firm_s_own_figures_take_the_place_of_the_shipped_ones():
    ReminderRule.objects.create(sort=Sort.C3, before=14, every=30, qualified_after=None, manager_after=None)
    assert rules_in_force() == SHIPPED | {Sort.C3: Days(14, 30, None, None)}


def test_hours_hold_the_bank_holidays_of_the_firm_s_nation(django_assert_num_queries):
    Firm.objects.create(nation="scotland")
    with django_assert_num_queries(2):
        found = hours(date(2026, 11, 1), date(2026, 11, 30))
    assert not is_working(date(2026, 11, 30), found)  # Saint Andrew's Day
    assert is_working(date(2026, 8, 31), found)  # the summer holiday of England and Wales


def test_a_firm_may_work_on_bank_holidays():
    figures = Reminding.shipped()
    figures.bank_holidays_off = False
    figures.save()
    assert is_working(date(2026, 12, 25), hours(date(2026, 12, 1), date(2026, 12, 31)))
