"""While a document is set nobody waits for it, and what is kept says what is on record."""

import subprocess
from collections.abc import Callable

import pytest
from django.db import connections
from django.urls import reverse

import jobsite.documents
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.premises import operations
from jobsite.premises.charts import sheet_of
from jobsite.premises.models import Board, BoardDocument, Circuit
from jobsite.refused import Refused
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON
from tests.jobsite.papers import words_of
from tests.jobsite.premises import posted, text_of

pytestmark = pytest.mark.django_db(transaction=True)
SEEN = {"verified_how": "traced", "verified_on": NOON.date()}


@pytest.fixture
def board(transactional_db) -> Board:
    row = make.make_board(make.make_site("Yard"), "Workshop")
    make.make_circuit(row, 1, designation="Lights", **SEEN)
    return row


@pytest.fixture
def while_it_is_set(monkeypatch) -> Callable[..., list[object]]:
    """Do `act` on another connection each time a document is about to be set; what it returned or raised.

    The document is set by the same process as ever, afterwards.
    """

    def begin(act: Callable[[], object]) -> list[object]:
        came: list[object] = []
        run = subprocess.run

        def act_first(*args, **kwargs):
            came.extend(at_once(lambda: with_little_patience(act)))
            return run(*args, **kwargs)

        monkeypatch.setattr(jobsite.documents.subprocess, "run", act_first)
        return came

    return begin


def with_little_patience(act: Callable[[], object]) -> object:
    """`act`, which fails where it has to wait 5 s for a lock, rather than for ever."""
    with connections["default"].cursor() as cursor:
        cursor.execute("SET lock_timeout = '5s'")
    return act()


def renaming(board: Board, *names: str) -> Callable[[], object]:
    """Saves by somebody else: each time the first way is called the next of `names`."""
    left = iter(names)

    def act() -> object:
        row = Circuit.objects.get(board=board, way=1)
        saved = operations.edit_circuit(row, version=row.version, designation=next(left), by=make.anybody(), now=NOON)
        return saved.designation

    return act


def chart(board: Board, **more) -> BoardDocument:
    more.setdefault("by", None)
    usual = {"id": new_id(), "paper": "a4", "turned": None, "now": NOON}
    return operations.make_chart(board, **usual | more | {"by": more["by"] or make.anybody()})


def documents_told() -> int:
    return Entry.objects.filter(verb="board-document.made").count()


def test_a_save_while_a_chart_is_set_waits_for_nothing_and_stands_in_the_chart(board, while_it_is_set) -> None:
    came = while_it_is_set(renaming(board, "Cooker", "Cooker"))
    made = chart(board)
    assert came == ["Cooker", "Cooker"]  # set, found to say something else by now, set again
    assert "Cooker" in words_of(made)
    assert "Lights" not in words_of(made)
    assert (BoardDocument.objects.count(), documents_told()) == (1, 1)


def test_labels_of_a_way_that_loses_its_name_meanwhile_are_not_kept(board, while_it_is_set) -> None:
    def unverified() -> object:
        row = Circuit.objects.get(board=board, way=1)
        unseen = {"verified_how": "", "verified_on": None}
        return operations.edit_circuit(row, version=row.version, by=make.anybody(), now=NOON, **unseen).verified

    came = while_it_is_set(unverified)
    sheet = sheet_of(60, 20, columns=None, rows=None)
    with pytest.raises(Refused, match="Nobody has verified way 1"):
        operations.make_labels(
            board, id=new_id(), circuits=board.circuits.all(), sheet=sheet, by=make.anybody(), now=NOON
        )
    assert came == [False]
    assert (BoardDocument.objects.count(), documents_told()) == (0, 0)


def test_what_is_changed_each_time_is_asked_to_be_made_once_more(client, board, office, while_it_is_set) -> None:
    client.force_login(office)
    where = reverse("premises:chart", args=[board.pk])
    sent = posted(client.get(where)) | {"paper": "a4"}
    came = while_it_is_set(renaming(board, "Cooker", "Shower", "Heater"))
    refused = client.post(where, sent)
    assert (refused.status_code, came) == (422, ["Cooker", "Shower"])
    assert "The record of this board was changed while it was made: make it once more." in text_of(refused)
    assert (BoardDocument.objects.count(), documents_told()) == (0, 0)


def test_the_same_form_sent_twice_at_once_makes_one(board) -> None:
    key, by = new_id(), make.anybody()
    made = at_once(lambda: chart(board, id=key, by=by), lambda: chart(board, id=key, by=by))
    assert [row.pk for row in made] == [key, key]
    assert (BoardDocument.objects.count(), documents_told()) == (1, 1)
