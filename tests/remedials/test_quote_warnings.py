"""What must be looked at before a quote is sent, and which works are one line: rules by tables of cases."""

from datetime import timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from remedials.quotes.rules.alike import Like, groups, together_words
from remedials.quotes.rules.danger import danger_words, rank, worst
from remedials.quotes.rules.warnings import Row, warnings
from tests.factories import TODAY

UNTIL = TODAY + timedelta(days=30)


def row(key, **more):
    usual = {"number": int(key), "kind": "work", "code": "C3", "price": Decimal(10), "cost": Decimal(5), "remedials": 1}
    return Row(key=key, **usual | more)


def said(*rows, until=UNTIL, energy=""):
    return [one.sentence for one in warnings(rows, today=TODAY, valid_until=until, energy=energy)]


def test_nothing_is_said_where_nothing_is_to_be_looked_at():
    assert said(row("1"), row("2", kind="call-out", remedials=0)) == []


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            row("1", code="C1", bare=True),
            "Line 1 is a C1 that is not made safe: a quote makes nothing safe. Make it safe now.",
        ),
        (
            row("1", code="C2", bare=True),
            (
                "Line 1 is a C2 that is not made safe: a quote makes nothing safe. "
                "Make it safe if it cannot wait for an answer."
            ),
        ),
        (row("1", cost=Decimal(11)), "Line 1 is priced below its cost: £10.00, cost £11.00."),
        (row("1", remedials=0), "Line 1 stands for no remedial: a yes brings no work into the list."),
        (row("1", unpriced=("1004",)), "Line 1: remedial 1004 is not priced yet."),
        (row("1", now=Decimal(12)), "Line 1 asks £10.00; its remedials are priced at £12.00 now."),
        (row("1", changed=(("1004", "cancelled"),)), "Line 1: remedial 1004 is cancelled meanwhile. Take it out."),
        (row("1", either="A"), "Line 1 excludes others by the letter A, but no other line has it."),
        (row("1", needs=("9",)), "Line 1 needs a line that is not in this version."),
    ],
)
def test_a_line_says(line, sentence):
    assert said(line) == [sentence]


@pytest.mark.parametrize("code", ["C3", "FI", ""])
def test_only_c1_and_c2_are_to_be_made_safe_first(code):
    assert said(row("1", code=code, bare=True)) == []


def test_danger_comes_first():
    found = warnings([row("1", cost=Decimal(11)), row("2", code="C1", bare=True)], today=TODAY, valid_until=None)
    assert [one.danger for one in found] == [True, False, False]
    assert found[0].key == "2"


def test_the_whole_says():
    assert said() == ["There is nothing to offer yet: add a line."]
    assert said(row("1"), until=None) == ["Say until when it is valid."]
    assert said(row("1"), until=TODAY) == []
    assert said(row("1"), until=TODAY - timedelta(days=1)) == ["It was to be valid until 2 Feb 2026, which is past."]
    assert said(row("1"), energy="The rate ends.") == ["The rate ends."]


def test_needs_of_both_sides_of_an_either_cannot_be_met_also_by_a_detour():
    one, other = row("1", either="A"), row("2", either="A")
    words = "cannot be had: it takes lines 1 and 2, which exclude each other by the letter A."
    assert said(one, other, row("3", needs=("1", "2"))) == [f"Line 3 {words}"]
    assert said(row("1", either="A", needs=("2",)), other) == [f"Line 1 {words}"]
    assert said(one, row("2", either="A", needs=()), row("3", needs=("4", "1")), row("4", needs=("2",))) == [
        f"Line 3 {words}"
    ]
    assert said(one, other, row("3", needs=("1",)), row("4", needs=("3",))) == []


def test_needs_in_a_circle_are_met_together():
    assert said(row("1", needs=("2",)), row("2", needs=("1",))) == []


def test_the_same_of_many_lines_is_said_once_at_the_first():
    rows = [row(str(n), code="C2", bare=True) for n in range(1, 31)]
    found = warnings(rows, today=TODAY, valid_until=UNTIL)
    assert len(found) == 1
    assert found[0].sentence.startswith("Lines 1, 2, 3, ")
    assert "20 and 10 more: C2 that is not made safe" in found[0].sentence
    assert (found[0].key, found[0].danger) == ("1", True)
    assert len(warnings(rows[:3], today=TODAY, valid_until=UNTIL)) == 3


# --- one line for several ---------------------------------------------------------------------------------------------

SITE, OTHER, JOB = UUID(int=1), UUID(int=2), UUID(int=3)


def like(key: int, words: str, **more) -> Like:
    return Like(**{"key": UUID(int=key), "words": words, "job": None, "site": SITE, "treatment": "standard"} | more)


def test_alike_are_those_of_one_job_or_the_same_words_at_one_site():
    works = [
        like(10, "Fit a blank"),
        like(11, "fit  A blank "),
        like(12, "Fit a blank", site=OTHER),
        like(13, "Fit a blank", treatment="reduced"),
        like(14, "Fit a blank", code="C1"),
        like(15, "One", job=JOB),
        like(16, "Two", job=JOB),
    ]
    found = [[key.int for key in group] for group in groups(works)]
    assert found == [[10, 11], [12], [13], [14], [15, 16]]


def test_words_of_several():
    assert together_words(["Fit a blank"], ["Way 1"]) == "Fit a blank"
    assert together_words(["Fit a blank"] * 2, ["Way 1", "Way 2"]) == "Fit a blank (2 of them: Way 1; Way 2)"
    assert together_words(["Fit a blank"] * 2, ["", ""]) == "Fit a blank (2 of them)"
    assert together_words(["One", "Two"], ["", ""]) == "One\nTwo"
    assert together_words(["A"] * 12, [str(n) for n in range(12)]).endswith("7; and 4 more)")


# --- danger in plain words --------------------------------------------------------------------------------------------


def test_worst_code_and_its_place():
    assert worst(["C3", "FI", "C2", ""]) == "C2"
    assert worst(["", "C9"]) == ""
    assert sorted(["", "C3", "FI", "C1", "C2"], key=rank) == ["C1", "C2", "FI", "C3", ""]


def test_danger_words_name_what_was_found_once_and_not_without_end():
    assert danger_words("", []) == ""
    assert danger_words("C1", []) == "Danger present: somebody could be hurt now."
    assert danger_words("", ["Cover missing.", "Cover missing."]) == "Found: Cover missing."
    assert danger_words("", ["a", "b", "c", "d", "e"]) == "Found: a; b; c; and 2 more."
    assert len(danger_words("C1", ["x " * 5_000] * 5)) < 1_100
