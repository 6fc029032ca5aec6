"""Plans that the database keeps: how often it planned, and that everything else goes on as before."""

from contextlib import suppress
from datetime import date
from uuid import UUID

import pytest
from django.db import DataError, connection, transaction

from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.kept_plans import KEPT, plan_kept

pytestmark = pytest.mark.django_db

HOW_OFTEN = "SELECT generic_plans, custom_plans FROM pg_prepared_statements WHERE statement LIKE %s"


def how_often(words: str) -> list[tuple[int, int]]:
    """Of the prepared statements with these words: how often they ran with the kept plan, and with one made anew."""
    with connection.cursor() as cursor:
        cursor.execute(HOW_OFTEN, [f"%{words}%"])
        return cursor.fetchall()


def firms(key: UUID, name: str = "50 % off") -> list[Firm]:
    with plan_kept():
        return list(Firm.objects.filter(pk=key, name=name))


def test_it_is_planned_once_whatever_its_keys_and_days() -> None:
    for _ in range(3):
        assert firms(new_id()) == []
    (times,) = how_often("firm_firm")
    assert times == (3, 0)


def test_what_is_found_is_what_is_found_without() -> None:
    made = Firm.objects.create(name="50 % off")
    assert firms(made.pk) == [made]
    assert firms(made.pk, "50 %% off") == []


def test_words_and_numbers_belong_to_the_statement() -> None:
    """Else an index of some of a table's rows is found by none of them."""
    firms(new_id(), "It's one")
    assert how_often("It''s one")


@pytest.mark.parametrize("day", [[date(2026, 11, 27)], []])
def test_a_percent_sign_is_what_it_is_without(day) -> None:
    with plan_kept(), connection.cursor() as cursor:
        cursor.execute(f"SELECT 'a%%b', %s, {'%s' if day else 'NULL'}", ["100 %s", *day])
        assert cursor.fetchone() == ("a%b", "100 %s", *(day or [None]))
        cursor.execute("SELECT 7 % 4")
        assert cursor.fetchone() == (3,)


def test_what_is_asked_outside_is_not_prepared() -> None:
    with plan_kept():
        pass
    list(Firm.objects.filter(name="outside"))
    assert how_often("outside") == []


def test_one_within_another_ends_nothing() -> None:
    key = new_id()
    with plan_kept():
        firms(key, "one")
        list(Firm.objects.filter(pk=key, name="within"))
    assert how_often("'within'") == [(1, 0)]
    list(Firm.objects.filter(pk=key, name="behind it"))
    assert how_often("'behind it'") == []


def test_what_the_database_refuses_leaves_the_connection_as_it_was() -> None:
    with suppress(DataError), transaction.atomic(), plan_kept(), connection.cursor() as cursor:
        cursor.execute("SELECT 1 / %s", [0])
    list(Firm.objects.filter(name="after it"))
    assert how_often("'after it'") == []
    assert firms(new_id()) == []


@pytest.mark.django_db(transaction=True)
def test_a_view_that_was_made_anew_is_read_all_the_same() -> None:
    """By an upgrade beside a server that runs: its plan is of the former view, which had a column of another type."""
    upgrade = connection.copy()
    for value in (1, "one", "two"):
        with upgrade.cursor() as cursor:
            cursor.execute("DROP VIEW IF EXISTS made_anew")
            cursor.execute(f"CREATE VIEW made_anew AS SELECT {value!r} AS n")
        with plan_kept(), connection.cursor() as cursor:
            cursor.execute("SELECT n FROM made_anew WHERE %s::date IS NOT NULL", [date(2026, 11, 27)])
            assert cursor.fetchall() == [(value,)]
    assert how_often("FROM made_anew") == [(2, 0)]  # the last two are of one type
    with upgrade.cursor() as cursor:
        cursor.execute("DROP VIEW made_anew")
    upgrade.close()


@pytest.mark.django_db(transaction=True)
def test_plans_last_until_something_is_rolled_back() -> None:
    for _ in range(2):
        firms(new_id())
    assert how_often("firm_firm") == [(2, 0)]
    with suppress(ZeroDivisionError), transaction.atomic():
        firms(new_id())
        raise ZeroDivisionError
    firms(new_id())
    assert how_often("firm_firm") == [(1, 0)]


def test_few_are_kept() -> None:
    for number in range(2 * KEPT):
        with plan_kept():
            list(Firm.objects.filter(name=f"number {number}"))
    assert 0 < len(how_often("number ")) <= KEPT + 1
