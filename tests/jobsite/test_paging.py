"""Paging by key: every row once, in order, at the same cost; damaged tokens refused."""

import base64
import json
from contextlib import suppress

import pytest
from django.core.exceptions import BadRequest
from django.db.models.functions import Lower
from hypothesis import given
from hypothesis import strategies as st

from jobsite.paging import DAMAGED, keyset
from jobsite.people.models import Competence, User
from tests.factories import make_competence, make_user

pytestmark = pytest.mark.django_db
NAMES = ["Anna", "Bert", "Bert", "Cara", "Dora", "Emil", "Emil"]


@pytest.fixture
def people():
    return [make_user(name, "engineer", email=f"p{at}@example.com") for at, name in enumerate(NAMES)]


def walk(queryset, order, size):
    """All rows of the list, page by page, by following its tokens."""
    rows, after = [], ""
    while True:
        found = keyset(queryset, order, after=after, size=size)
        assert len(found.rows) <= size
        rows += found.rows
        if not (after := found.next):
            return rows


@pytest.mark.parametrize("size", [1, 2, 3, 7, 50])
@pytest.mark.parametrize(
    "order", [("name", "id"), ("-name", "-id"), ("name", "-id"), ("-name", "id"), ("id",), ("-id",)]
)
def test_every_row_comes_once_and_in_order(people, order, size):
    assert walk(User.objects.all(), order, size) == list(User.objects.order_by(*order))


def test_rows_may_be_dicts(people):
    rows = walk(User.objects.values("name", "id"), ("name", "id"), 2)
    assert [row["name"] for row in rows] == NAMES


def test_columns_of_related_rows_and_dates_can_sort(people):
    for person in people:
        make_competence(person)
    order = ("since", "user__name", "pk")
    rows = walk(Competence.objects.select_related("user"), order, 2)
    assert rows == list(Competence.objects.order_by(*order))


def test_foreign_keys_can_sort(people):
    for person in people:
        make_competence(person)
    assert len(walk(Competence.objects.all(), ("user", "pk"), 3)) == len(NAMES)


def test_annotations_can_sort(people):
    shown = User.objects.annotate(folded=Lower("name"))
    assert [row.name for row in walk(shown, ("folded", "id"), 3)] == NAMES


def test_last_page_says_that_it_is_the_last(people):
    assert keyset(User.objects.all(), ("id",), size=7).next == ""
    assert keyset(User.objects.all(), ("id",), size=6).next != ""


@pytest.mark.parametrize("after_first", [False, True])
@pytest.mark.parametrize("size", [1, 3])
def test_a_page_costs_one_statement(people, django_assert_num_queries, size, after_first):
    token = keyset(User.objects.all(), ("name", "id"), size=1).next if after_first else ""
    with django_assert_num_queries(1):
        keyset(User.objects.all(), ("name", "id"), after=token, size=size)


def token(*values) -> str:
    return base64.urlsafe_b64encode(json.dumps(values).encode()).decode()


@pytest.mark.parametrize(
    "damaged",
    [
        "x",
        "é",
        "A" * 3000,
        token("Anna"),
        token("Anna", "not a key"),
        token("An\0na", "0190163d-8694-739b-aea5-966c26f8ad91"),
        token("An\ud800na", "0190163d-8694-739b-aea5-966c26f8ad91"),
        token({"a": 1}, "0190163d-8694-739b-aea5-966c26f8ad91"),
        token(None, "0190163d-8694-739b-aea5-966c26f8ad91"),
        base64.urlsafe_b64encode(b'"text"').decode(),
        base64.urlsafe_b64encode(b"[" * 1490).decode(),
    ],
)
def test_damaged_token_is_refused(damaged):
    with pytest.raises(BadRequest, match="damaged") as refused:
        keyset(User.objects.all(), ("name", "id"), after=damaged)
    assert str(refused.value) == DAMAGED


@pytest.mark.parametrize("number", [2**63, -(2**63) - 1, 10**40])
def test_number_too_large_for_a_column_is_refused(number):
    with pytest.raises(BadRequest):
        keyset(User.objects.all(), ("version", "id"), after=token(number, "0190163d-8694-739b-aea5-966c26f8ad91"))


@given(st.text(max_size=60) | st.lists(st.text() | st.integers() | st.none(), max_size=3).map(lambda v: token(*v)))
def test_any_text_as_a_token_is_a_page_or_a_refusal(text):
    with suppress(BadRequest):
        assert keyset(User.objects.all(), ("name", "id"), after=text).rows == []
