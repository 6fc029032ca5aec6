"""The page of a board: what is open there stands above its ways."""

import pytest
from django.urls import reverse

from tests.factories import make_board, make_circuit, make_observation, make_site
from tests.remedials.desk import hold, read, statements, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def page(board) -> str:
    return reverse("premises:board", args=[board.pk])


def test_a_c1_stands_on_its_board(on_site, engineer):
    board = make_board(make_site(), "Kiln board")
    c1 = make_observation(board.site, "bare busbar", code="C1", board=board)
    said = read(on_site, page(board))
    assert "Danger present, not made safe: C1 bare busbar Kiln board" in said
    assert "Open on this board · 1" in said
    hold(c1, by=engineer, lock="14")
    said = read(on_site, page(board))
    assert "not made safe" not in said
    assert "Made safe, still open: isolated and locked, lock 14, key with Dirk, look again" in said


def test_a_c1_elsewhere_is_said_and_other_items_are_not(on_site):
    site = make_site()
    board, other = make_board(site, "Kiln board"), make_board(site, "Shed board")
    make_observation(site, "bare busbar", code="C1", board=other)
    make_observation(site, "loose gland", code="C2", board=other)
    said = read(on_site, page(board))
    assert "Danger present, not made safe: C1 bare busbar Shed board" in said
    assert ("loose gland" in said, "Nothing is recorded open here." in said) == (False, True)


def test_a_refusal_is_shown_with_what_is_open(at_desk):
    """A board that feeds another is not taken out: the sentence stands on the same page."""
    from tests.factories import make_feed

    board = make_board(make_site(), "Kiln board")
    make_feed(make_board(board.site, "Shed board", fed=False), make_circuit(board))
    make_observation(board.site, "bare busbar", code="C1", board=board)
    answer = at_desk.post(reverse("premises:board_retire", args=[board.pk]))
    assert (answer.status_code, "bare busbar" in text_of(answer)) == (422, True)


@pytest.mark.parametrize("size", [1, 10])
def test_the_page_costs_the_same_at_any_size(on_site, size):
    board = make_board(make_site(), "Kiln board")
    for _ in range(size):
        make_observation(board.site, board=board)
        make_circuit(board, must_not_lose_power="freezer")
    on_site.get(page(board))
    with statements() as sql:
        on_site.get(page(board))
    assert len(sql) == 21
