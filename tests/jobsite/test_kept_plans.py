"""Plans that the database keeps: how often it planned, and that everything else goes on as before."""

from contextlib import suppress

import pytest
from django.db import DataError, connection, transaction

from jobsite.firm.models import Firm
from jobsite.kept_plans import KEPT, plan_kept

pytestmark = pytest.mark.django_db

HOW_OFTEN = "SELECT generic_plans, custom_plans FROM pg_prepared_statements WHERE statement LIKE %s"


def how_often(words: str) -> list[tuple[int, int]]:
    """Of the prepared statements with these words: how often they ran with the kept plan, and with one made anew."""
    with connection.cursor() as cursor:
        cursor.execute(HOW_OFTEN, [f"%{words}%"])
        return cursor.fetchall()


def mode() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SHOW plan_cache_mode")
        return cursor.fetchone()[0]


def firms(name: str) -> list[Firm]:
    with plan_kept():
        return list(Firm.objects.filter(name=name, address="looked for by a kept plan"))


def test_it_is_planned_once_whatever_its_values() -> None:
    for name in ("one", "two", "three"):
        assert firms(name) == []
    (times,) = how_often("firm_firm")
    assert times == (3, 0)


def test_what_is_asked_outside_is_not_prepared() -> None:
    with plan_kept():
        pass
    list(Firm.objects.filter(name="outside"))
    assert how_often("'outside'") == []
    assert mode() == "auto"


def test_one_within_another_ends_nothing() -> None:
    with plan_kept():
        firms("within")
        assert mode() == "force_generic_plan"
    assert mode() == "auto"


def test_what_the_database_refuses_leaves_the_connection_as_it_was() -> None:
    with suppress(DataError), transaction.atomic(), plan_kept(), connection.cursor() as cursor:
        cursor.execute("SELECT 1 / %s", [0])
    assert mode() == "auto"
    assert firms("after it") == []


def test_few_are_kept() -> None:
    for number in range(2 * KEPT):
        with plan_kept():
            list(Firm.objects.filter(name__in=[f"{n}" for n in range(number + 1)]))
    assert 0 < len(how_often("firm_firm")) <= KEPT + 1
