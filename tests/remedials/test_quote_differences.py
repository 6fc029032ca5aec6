"""What changed between two versions of a quote, line by line, in words."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.quotes.rules.differences import Change, Difference, What, between


def said(key: str, price: str = "100.00", **more):
    words = {"words": f"Work {key}", "danger": "", "code": "C2", "where": "", "certainty_words": ""}
    choices = {"optional": False, "either": "", "needs": []}
    return {"key": key, "price": price, "percent": "20", "vat": "20.00"} | words | choices | more


def offer(*lines, **fields):
    return {"valid_until": "2026-12-31", "text_before": "", "reverse_charge": False} | fields | {"lines": list(lines)}


def test_the_same_twice_differs_in_nothing() -> None:
    assert between(offer(said("a"), said("b")), offer(said("a"), said("b"))) == []


def test_lines_added_and_taken_out_tell_their_price() -> None:
    assert between(offer(said("a"), said("b", "5.00")), offer(said("a"), said("c", "1234.50"))) == [
        Difference(What.ADDED, "c", "Work c", (Change("Price without VAT", "nothing", "£1,234.50"),)),
        Difference(What.TAKEN_OUT, "b", "Work b", (Change("Price without VAT", "£5.00", "nothing"),)),
    ]


def test_a_line_tells_what_changed_of_it_field_by_field() -> None:
    old = said("a", danger="Shock from the case", certainty_words="fixed price")
    new = said("a", "90.00", vat="4.50", percent="5.00", words="New <b>board</b> 板", optional=True, needs=["b"])
    (first,) = between(offer(old, said("b")), offer(new, said("b")))
    assert (first.what, first.key, first.name) == (What.CHANGED, "a", "New <b>board</b> 板")
    assert [str(change) for change in first.changes] == [
        "What is done: Work a → New <b>board</b> 板",
        "Danger it removes: Shock from the case → nothing",
        "Price without VAT: £100.00 → £90.00",
        "VAT rate: 20 % → 5 %",
        "VAT: £20.00 → £4.50",
        "How fixed the price is: fixed price → nothing",
        "Optional: no → yes",
        "Needs: nothing → Work b",
    ]


@pytest.mark.parametrize(
    ("field", "old", "new", "change"),
    [
        ("valid_until", "2026-12-31", "2027-01-15", "Valid until: 31 Dec 2026 → 15 Jan 2027"),
        ("work_until", None, "2027-03-31", "Work done by: no date → 31 Mar 2027"),
        ("text_before", "", "Dear all", "Text before the lines: nothing → Dear all"),
        ("text_after", "Yours", "", "Text after the lines: Yours → nothing"),
        ("reverse_charge", False, True, "Reverse charge: no → yes"),
        ("consumer", True, False, "For a consumer: yes → no"),
        ("cancellation", {"words": "A", "default": True}, {"words": "B", "default": False}, "Right to cancel: A → B"),
        ("begin", {"words": "A", "default": True}, None, "Request to begin at once: A → nothing"),
        ("totals", {"to_pay": "120.00"}, {"to_pay": "90.00"}, "Total to pay: £120.00 → £90.00"),
    ],
)
def test_the_offers_own_fields(field, old, new, change) -> None:
    (found,) = between(offer(**{field: old}), offer(**{field: new}))
    assert (found.what, found.key, [str(one) for one in found.changes]) == (What.OFFER, "", [change])


@pytest.mark.parametrize(
    ("field", "value"),
    [("number", 1002), ("version", 2), ("on", "2027-01-01"), ("energy_note", "x"), ("firm", {"name": "Another"})],
)
def test_what_any_version_says_of_itself_is_no_change(field, value) -> None:
    assert between(offer(said("a")), offer(said("a"), **{field: value})) == []


@pytest.mark.parametrize(("price", "percent"), [("100.00", "20"), ("100.0", "20.00"), ("100", "2E+1")])
def test_the_same_sum_otherwise_written_is_no_change(price, percent) -> None:
    assert between(offer(said("a")), offer(said("a", price, percent=percent))) == []


def test_a_moved_line_tells_its_places() -> None:
    old, new = ([said(key) for key in keys] for keys in ("abcd", "dabc"))
    assert between(offer(*old), offer(*new)) == [
        Difference(What.MOVED, "d", "Work d", (Change("Place in the list", "4", "1"),))
    ]


def test_a_line_that_slides_up_has_not_moved() -> None:
    assert [one.what for one in between(offer(*map(said, "abc")), offer(*map(said, "bc")))] == [What.TAKEN_OUT]


@given(st.permutations("abcdef"), st.sets(st.sampled_from("abcdef")), st.sets(st.sampled_from("uvw")))
def test_the_fewest_lines_are_called_moved(order, gone, added) -> None:
    """Against trying out every set of lines: those left in place keep their order, and no more could."""
    keys = [key for key in order if key not in gone] + sorted(added)
    found = between(offer(*map(said, "abcdef")), offer(*map(said, keys)))
    by_what = {what: {one.key for one in found if one.what == what} for what in What}
    assert (by_what[What.ADDED], by_what[What.TAKEN_OUT], by_what[What.CHANGED]) == (added, gone, set())
    common = [key for key in order if key not in gone]
    still = [key for key in common if key not in by_what[What.MOVED]]
    assert still == sorted(still)
    longest = max(
        size
        for size in range(len(common) + 1)
        if any(list(kept) == sorted(kept) for kept in combinations(common, size))
    )
    assert len(still) == longest


@given(st.permutations("abcd"), st.permutations("abcd"))
def test_backwards_tells_the_same_the_other_way_round(one, other) -> None:
    there, back = (between(offer(*map(said, a)), offer(*map(said, b))) for a, b in ((one, other), (other, one)))
    assert len(there) == len(back)
