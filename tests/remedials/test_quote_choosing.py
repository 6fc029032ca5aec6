"""Choosing among the lines of an offer, by examples and against a judge that tries out everything."""

from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.quotes import choices
from remedials.quotes.rules import choosing
from remedials.quotes.rules.choosing import faults, settle, whole_offer, with_call_outs
from tests.remedials.quote_sums import keys_by_chance, line, lines_by_chance

CALL_OUT = line("v", "45.00", kind="call-out")


def test_values_are_those_that_answers_are_stored_with() -> None:
    assert {choosing.YES, choosing.NO, choosing.NOT_CHOSEN} == set(choices.Says.values)


# --- what goes together -----------------------------------------------------------------------------------------------

NEEDING = [line("a", words="New board"), line("b", needs=("a",)), line("c", needs=("a", "b"))]
EITHER = [line("a", either="x", words="Repair"), line("b", either="x"), line("c", either="x"), line("d")]


@pytest.mark.parametrize(
    ("sums", "yes", "no", "settled", "expected"),
    [
        (NEEDING, "", "", "", {}),
        (NEEDING, "ab", "c", "", {}),
        (NEEDING, "b", "", "a", {}),
        (NEEDING, "b", "", "", {"b": "This needs line 1 (New board): say yes to both."}),
        (NEEDING, "c", "", "", {"c": "This needs line 1 (New board) and line 2: say yes to all of them."}),
        (
            NEEDING,
            "b",
            "a",
            "",
            {
                "a": "Line 2 needs this: say yes to it too, or no to both.",
                "b": "This needs line 1 (New board): say yes to both.",
            },
        ),
        (NEEDING, "", "a", "a", {"a": "This was accepted earlier: call us to change that."}),
        (NEEDING, "a", "a", "", {"a": "Say yes or no to this, not both."}),
        (NEEDING, "z", "", "", {"z": "This line isn't in this version of the quote."}),
        ([line("b", needs=("gone",))], "b", "", "", {"b": "This needs a line of another version: say yes to both."}),
        ([line("b", needs=("g",))], "b", "", "g", {}),
        (EITHER, "ad", "bc", "", {}),
        (EITHER, "d", "abc", "", {}),
        (
            EITHER,
            "ab",
            "",
            "",
            {
                "a": "Choose one of these only: this or line 2.",
                "b": "Choose one of these only: this or line 1 (Repair).",
            },
        ),
        (EITHER, "b", "", "a", {"b": "Choose one of these only: this or line 1 (Repair)."}),
        (
            EITHER,
            "abc",
            "",
            "",
            {
                "a": "Choose one of these only: this or line 2 or line 3.",
                "b": "Choose one of these only: this or line 1 (Repair) or line 3.",
                "c": "Choose one of these only: this or line 1 (Repair) or line 2.",
            },
        ),
        ([CALL_OUT], "", "v", "", {"v": "A call-out isn't answered by itself: it is charged once with the work."}),
        ([CALL_OUT], "v", "", "", {"v": "A call-out isn't answered by itself: it is charged once with the work."}),
        ([CALL_OUT, line("a")], "av", "", "", {}),
        ([CALL_OUT, line("a", needs=("v",))], "a", "", "", {}),
    ],
)
def test_what_cannot_be_answered(sums, yes, no, settled, expected) -> None:
    assert faults(sums, set(yes), set(no), set(settled)) == expected


def test_a_long_line_is_named_shortly() -> None:
    sums = [line("a", words="Renew " * 40), line("b", needs=("a",))]
    assert faults(sums, {"b"}, set())["b"] == f"This needs line 1 ({'Renew ' * 8}Renew …): say yes to both."


def may_be(sums, yes, no, settled) -> bool:
    """Whether an answer can be taken, worked out apart: from what would then be accepted, as a whole."""
    work = [row for row in sums if row.kind == "work"]
    followed = {row.key for row in sums if row.kind != "work"}
    accepted = yes | settled
    if yes & no or no & settled or (yes | no) - {row.key for row in work} - settled:
        return False
    needs_met = all(set(row.needs) <= accepted | followed for row in work if row.key in yes)
    pairs = combinations([row for row in work if row.key in accepted], 2)
    clash = any(one.either and one.either == other.either and {one.key, other.key} & yes for one, other in pairs)
    return needs_met and not clash


@given(st.data())
def test_faults_agree_with_a_judge_of_the_whole(data) -> None:
    sums = data.draw(lines_by_chance())
    work = [row for row in sums if row.kind == "work"]
    yes, no, settled = (data.draw(keys_by_chance(work)) for _ in range(3))
    found = faults(sums, yes, no, settled)
    assert (found == {}) == may_be(sums, yes, no, settled)
    assert set(found) <= yes | no


# --- what follows -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("yes", "settled", "expected"),
    [("", "", ""), ("a", "", "av"), ("ab", "", "abv"), ("b", "av", "b"), ("v", "", "")],
)
def test_a_call_out_follows_any_work_once(yes, settled, expected) -> None:
    sums = [line("a"), line("b"), CALL_OUT]
    assert with_call_outs(sums, set(yes), set(settled)) == set(expected)


@pytest.mark.parametrize(("yes", "expected"), [("a", "av"), ("b", "bw"), ("ab", "abvw"), ("c", "c")])
def test_a_call_out_to_one_site_follows_that_sites_work(yes, expected) -> None:
    visits = [line("v", kind="call-out", needs=("a",)), line("w", kind="call-out", needs=("b",))]
    assert with_call_outs([line("a"), line("b"), line("c"), *visits], set(yes)) == set(expected)


@pytest.mark.parametrize(
    ("yes", "no", "settled", "expected"),
    [
        ("", "", "", {}),
        ("a", "", "", {"a": "yes", "b": "not-chosen", "v": "yes"}),
        ("a", "b", "", {"a": "yes", "b": "not-chosen", "v": "yes"}),
        ("", "ab", "", {"a": "no", "b": "no"}),
        ("c", "b", "v", {"b": "no", "c": "yes"}),
        ("ac", "", "av", {"c": "yes"}),
    ],
)
def test_what_an_answer_settles(yes, no, settled, expected) -> None:
    sums = [line("a", either="x"), line("b", either="x"), line("c"), CALL_OUT]
    assert settle(sums, set(yes), set(no), set(settled)) == expected


@given(st.data())
def test_what_is_settled_hangs_together(data) -> None:
    """Whatever is answered without a fault: one of an either-or, all that is needed, and a call-out only with work."""
    sums = data.draw(lines_by_chance())
    work = [row for row in sums if row.kind == "work"]
    yes, no = (data.draw(keys_by_chance(work)) for _ in range(2))
    if faults(sums, yes, no):
        return
    said = settle(sums, yes, no)
    accepted = {key for key, word in said.items() if word == "yes"}
    call_outs = {row.key for row in sums} - {row.key for row in work}
    assert accepted - call_outs == yes
    assert {key for key, word in said.items() if word == "no"} <= no <= set(said)
    for row in work:
        beaten = row.either and any(one.key in yes and one.either == row.either and one != row for one in work)
        assert (said.get(row.key) == "not-chosen") == bool(beaten)
        assert row.key not in accepted or set(row.needs) - call_outs <= accepted
    for row in sums:
        if row.key in call_outs:
            assert (row.key in accepted) == bool(yes & set(row.needs) if row.needs else yes)


@given(st.data())
def test_answers_one_by_one_charge_a_call_out_once(data) -> None:
    sums = [row for row in data.draw(lines_by_chance()) if not row.either]
    work = [row for row in sums if row.kind == "work"]
    settled: list[str] = []
    for row in data.draw(st.permutations(work)):
        said = settle(sums, {row.key}, set(), set(settled))
        settled += [key for key, word in said.items() if word == "yes"]
    assert len(settled) == len(set(settled))
    assert set(settled) == with_call_outs(sums, {row.key for row in work})


# --- everything taken -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sums", "keys", "to_pay", "words"),
    [
        ([], "", "0.00", "If everything is taken"),
        ([line("a"), CALL_OUT], "av", "174.00", "If everything is taken"),
        ([CALL_OUT], "", "0.00", "If everything is taken"),
        ([line("a", optional=True)], "a", "120.00", "If everything is taken, also what is optional"),
        ([line("a", either="x")], "a", "120.00", "If everything is taken"),
        (
            [line("a", either="x"), line("b", "200", either="x")],
            "b",
            "240.00",
            "If everything is taken, of alternatives the dearest",
        ),
        # The cheaper one with what needs it comes to more.
        (
            [line("a", "200", either="x"), line("b", "150", either="x"), line("c", "80", needs=("b",))],
            "bc",
            "276.00",
            "If everything is taken, of alternatives the dearest",
        ),
        ([line("a", needs=("b",)), line("b", needs=("a",)), line("c", needs=("gone",))], "ab", "240.00", None),
    ],
)
def test_what_everything_comes_to(sums, keys, to_pay, words) -> None:
    whole = whole_offer(sums)
    assert (whole.keys, whole.totals.to_pay) == (set(keys), Decimal(to_pay))
    assert words is None or whole.words == words


def dearest_by_trying(sums, reverse_charge) -> Decimal:
    """The most that any answer without faults can come to, every choice tried."""
    work = [row.key for row in sums if row.kind == "work"]
    most = Decimal(0)
    for size in range(len(work) + 1):
        for chosen in combinations(work, size):
            if may_be(sums, set(chosen), set(), set()):
                keys = set(chosen) | {
                    row.key
                    for row in sums
                    if row.kind != "work" and (set(row.needs) & set(chosen) if row.needs else chosen)
                }
                most = max(most, sum(row.to_pay(reverse_charge=reverse_charge) for row in sums if row.key in keys))
    return most


@given(lines_by_chance(), st.booleans())
def test_no_answer_comes_to_more_than_everything(sums, reverse_charge) -> None:
    whole = whole_offer(sums, reverse_charge=reverse_charge)
    assert whole.totals.to_pay == dearest_by_trying(sums, reverse_charge)
    work = {row.key for row in sums if row.kind == "work"}
    assert faults(sums, set(whole.keys) & work, set()) == {}


def test_alternatives_apart_from_each_other_are_weighed_apart() -> None:
    """Sixty pairs, each with a line that needs the cheaper one: 2 to the power of 60 ways, and yet the dearest is found."""
    trios = [
        [
            line(f"a{n}", "100", either=f"x{n}"),
            line(f"b{n}", "90", either=f"x{n}"),
            line(f"c{n}", "15", needs=(f"b{n}",)),
        ]
        for n in range(60)
    ]
    whole = whole_offer([row for trio in trios for row in trio])
    assert whole.totals.net == 60 * Decimal("105.00")


def test_where_too_many_ways_hang_together_what_is_found_can_be_had() -> None:
    pairs = [[line(f"a{n}", "100", either=f"x{n}"), line(f"b{n}", "90", either=f"x{n}")] for n in range(12)]
    sums = [row for pair in pairs for row in pair]
    sums += [
        line("c", "5", needs=("b0",)),
        line("d", "50", needs=("b1", "a2")),
        line("e", "1", needs=("a5", "a6", "a7", "a8")),
    ]
    sums += [line("f", "1", needs=("a0", "a1", "a3", "a4", "a9", "a10", "a11", "e", "a2"))]
    whole = whole_offer(sums)
    assert faults(sums, set(whole.keys), set()) == {}
    assert whole.totals.net == 11 * 100 + 90 + 50 + 1


def test_a_call_out_that_hangs_on_the_choice_counts_in_it() -> None:
    """Either the work at one site or that at another: the cheaper one with the dearer call-out comes to more."""
    sums = [line("a", "100", either="x"), line("b", "90", either="x")]
    sums += [line("v", "10", kind="call-out", needs=("a",)), line("w", "30", kind="call-out", needs=("b",))]
    assert whole_offer(sums).keys == {"b", "w"}
