"""The sentences of the customer's page: the dangerous first, and never more than is known."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.status.rules import (
    CODE_WORDS,
    ORDER,
    Basis,
    Known,
    OpenItem,
    completion_words,
    ended_words,
    first_words,
    listed,
    long_day,
    meaning,
    undecided_words,
    work_words,
)
from remedials.works.states import Stage

FEB = date(2026, 2, 3)
MARCH = date(2026, 3, 9)
INSPECTED = Basis("inspection", FEB)
LOFT = Basis("inspection", FEB, ("the loft",))


def said(*codes: str, bases=(INSPECTED,), **more) -> list[str]:
    items = tuple(code if isinstance(code, OpenItem) else OpenItem(code) for code in codes)
    return first_words(Known(items=items, bases=tuple(bases), whole=not bases, **more))


@pytest.mark.parametrize(
    ("sentences", "items", "bases"),
    [
        (["No dangerous item is recorded open, from the inspection of 3 February 2026."], [], [INSPECTED]),
        (
            ["No dangerous item is recorded open, from the inspection of 3 February 2026. It did not cover: the loft."],
            ["C3"],
            [LOFT],
        ),
        (
            ["No inspection is on record here, so this page cannot say whether the installation is safe."],
            [],
            [],
        ),
        (
            [
                "One report of a defect has not been looked at by a competent person yet: it may be dangerous.",
                "No inspection is on record here, so this page cannot say whether the installation is safe.",
            ],
            [""],
            [],
        ),
        (
            [
                "1 item must be investigated without delay: until then nobody can say whether it is dangerous.",
                "Besides that, no dangerous item is recorded open, from the inspection of 3 February 2026.",
            ],
            ["FI"],
            [INSPECTED],
        ),
        (
            [
                "Danger now: Live busbar exposed (DB1), not recorded as made safe. Keep away from it.",
                "2 reports of defects have not been looked at by a competent person yet: they may be dangerous.",
                "2 dangerous items are open.",
                "What is known here is from the inspection of 3 February 2026.",
            ],
            [OpenItem("C1", text="Live busbar exposed.", where="DB1"), "C2", "", ""],
            [INSPECTED],
        ),
        (
            [
                "2 dangerous items are open: 1 made safe for now on 3 February 2026, 1 with the repair booked for 9 March 2026.",
                "What is known here is from the inspection of 3 February 2026. It did not cover: the loft.",
            ],
            [OpenItem("C1", safe_on=FEB), OpenItem("C2", booked_on=MARCH)],
            [LOFT],
        ),
        (
            [
                "Danger now: No cover, and 1 other danger, not recorded as made safe. Keep away from them.",
                "4 dangerous items are open: 2 made safe for now.",
                "What is known here is from the inspection of 3 February 2026.",
            ],
            [
                OpenItem("C1", safe_on=FEB),
                OpenItem("C1", safe_on=MARCH),
                OpenItem("C1", text="No cover"),
                OpenItem("C1", text="Hot joint"),
            ],
            [INSPECTED],
        ),
    ],
)
def test_first_words(sentences, items, bases):
    assert said(*items, bases=bases) == sentences


@pytest.mark.parametrize(
    ("bases", "words"),
    [
        ([LOFT, Basis("visual survey", MARCH)], "the inspection of 3 February 2026 and the visual survey of 9 March 2026. They did not cover: the loft"),
        ([Basis("inspection", FEB, boards=(3, 7))], "the inspection of 3 February 2026. It named 3 of the 7 boards on record"),
        ([Basis("inspection", FEB, ("the loft",), (1, 2))], "the inspection of 3 February 2026. It did not cover: the loft. It named 1 of the 2 boards on record"),
        ([Basis("inspection", FEB, ("No access to loft", "kiln not isolated", "roof", "lift"))], "the inspection of 3 February 2026. It did not cover: No access to loft; kiln not isolated; roof; and 1 more"),
        ([Basis("inspection", FEB, boards=(7, 7))], "the inspection of 3 February 2026"),
        ([Basis("inspection", date(2026, m, 1)) for m in (4, 1, 2, 3)], "4 inspections between 1 January 2026 and 1 April 2026"),
    ],
)  # fmt: skip
def test_first_words_name_what_they_rest_on(bases, words):
    assert said(bases=bases) == [f"No dangerous item is recorded open, from {words}."]


def test_first_words_name_units_never_inspected_and_items_not_looked_over():
    assert said(never=("Flat 2", "Flat 3"), unreviewed=1)[1:] == [
        "No inspection is on record for Flat 2 and Flat 3.",
        "1 item of another firm's report has not been looked over by us yet.",
    ]


@pytest.mark.parametrize(
    ("overdue", "sentences"),
    [
        ((), []),
        ((("", FEB),), ["The next inspection was due by 3 February 2026 and is not on record."]),
        ((("Flat 1", FEB),), ["The next inspection of Flat 1 was due by 3 February 2026 and is not on record."]),
        ((("Flat 1", FEB), ("Flat 2", MARCH)), ["The next inspections of Flat 1 and Flat 2 are overdue."]),
    ],
)
def test_first_words_name_overdue_inspections(overdue, sentences):
    none = "No dangerous item is recorded open, from the inspection of 3 February 2026."
    assert said(overdue=overdue) == [*sentences, none]


def test_overdue_comes_before_where_the_knowledge_is_from():
    assert said("C2", overdue=(("", FEB),)) == [
        "1 dangerous item is open.",
        "The next inspection was due by 3 February 2026 and is not on record.",
        "What is known here is from the inspection of 3 February 2026.",
    ]


def test_a_long_defect_is_shortened_in_the_headline():
    headline = said(OpenItem("C1", text="Bare conductor " * 40))[0]
    assert headline.startswith("Danger now: Bare conductor Bare")
    assert headline.endswith("Bare…, not recorded as made safe. Keep away from it.")
    assert len(headline) < 220


@pytest.mark.parametrize(
    ("code", "more", "words"),
    [
        ("C1", {}, "Danger present: somebody could be hurt now."),
        ("C1", {"safe": True}, "Danger present, but made safe for now."),
        ("C1", {"closed": True}, "Recorded as C1, danger present."),
        ("FI", {"closed": True}, "Recorded as FI, further investigation needed."),
        ("", {"safe": True}, "Reported, but no competent person has looked at it yet."),
        ("", {"closed": True}, "It has no code."),
    ],
)
def test_meaning(code, more, words):
    assert meaning(code, **more) == words


ITEMS = st.lists(st.builds(OpenItem, st.sampled_from(ORDER), st.none() | st.just(FEB), st.none() | st.just(MARCH)))


@given(ITEMS, st.booleans())
def test_no_danger_is_only_ever_said_where_none_is_on_record(items, inspected):
    sentences = said(*items, bases=[INSPECTED] if inspected else [])
    none = [s for s in sentences if "o dangerous item is recorded open" in s]
    assert bool(none) == (inspected and not any(item.code in ("C1", "C2") for item in items))
    assert sentences[0] not in none or all(item.code == "C3" for item in items)
    assert all(s.endswith(".") and s[0].isalnum() for s in sentences)


@given(ITEMS)
def test_a_danger_now_is_the_headline(items):
    now = any(item.code == "C1" and not item.safe_on for item in items)
    assert said(*items)[0].startswith("Danger now: ") == now


@given(ITEMS)
def test_c1_not_made_safe_is_always_said(items):
    alarm = any("not recorded as made safe" in s for s in said(*items))
    assert alarm == any(item.code == "C1" and not item.safe_on for item in items)


@pytest.mark.parametrize(
    ("names", "words"),
    [
        ([], ""),
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (["a", "b", "c"], "a, b and c"),
        (list("abcde"), "a, b, c and 2 more"),
    ],
)
def test_listed(names, words):
    assert listed(names) == words


def test_long_day():
    assert [long_day(FEB), long_day(date(2028, 2, 29)), long_day(date(2026, 12, 31))] == [
        "3 February 2026", "29 February 2028", "31 December 2026",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("stage", "facts", "words"),
    [
        ("to-price", {}, "being priced"),
        ("quoted", {}, "a quote is with you; we are waiting for the answer"),
        ("approved", {}, "agreed; the date is still to be fixed"),
        ("booked", {}, "booked"),
        ("booked", {"booked": "9 Mar 2026, 09:00–10:30"}, "booked for 9 Mar 2026, 09:00–10:30"),
        ("done", {"done_on": FEB}, "done on 3 February 2026; a qualified person has still to review the proof"),
        ("done", {"done_on": FEB, "code": "C3"}, "done on 3 February 2026; more is to come"),
        ("reviewed", {}, "this part is done, and a qualified person has reviewed the proof"),
        ("declined", {"said_no_on": FEB}, "offered, and declined on 3 February 2026"),
        (
            "declined",
            {"said_no_on": FEB, "ask_again_on": MARCH, "code": "FI"},
            "offered, and declined on 3 February 2026; whether it is dangerous stays unknown; we shall ask again on 9 March 2026",
        ),
        ("cancelled", {}, ""),
        ("by-others", {}, "this part was done by others, by the papers we were given"),
    ],
)
def test_work_words(stage, facts, words):
    assert work_words(stage, **{"code": "C2"} | facts) == words


def test_every_stage_but_cancelled_has_words():
    assert [stage for stage in Stage if not work_words(stage, code="C2")] == [Stage.CANCELLED]


def test_every_code_has_words_and_a_place():
    assert set(CODE_WORDS) == set(ORDER)
    assert [undecided_words(code) for code in ("C1", "C3", "")] == [
        "What it needs is being decided.", "Nothing is planned for it yet.", "A competent person has still to look at it.",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("ended", "more", "words"),
    [
        ("remedied", {"reviewed": True}, "Put right by 3 February 2026. A qualified person has reviewed the proof."),
        ("remedied", {}, "Put right by 3 February 2026."),
        ("others", {}, "Put right by others, by the papers we were given, 3 February 2026. We have not inspected it."),
        ("finding", {"followed": True}, "Investigated, 3 February 2026. What was found is an item of its own."),
        ("finding", {}, "Investigated, 3 February 2026. No defect was recorded from it."),
        ("gone", {}, "Looked for again, 3 February 2026: a qualified person found that it is not there any more."),
        ("no-code", {}, "Looked at again, 3 February 2026: a qualified person found that it needs no code."),
    ],
)
def test_ended_words(ended, more, words):
    assert ended_words(ended, FEB, **{"reviewed": False, "followed": False} | more) == words


@pytest.mark.parametrize(
    ("done", "of", "words"),
    [
        (0, 0, "It lists no item of code C1, C2 or FI."),
        (1, 1, "The one item of code C1, C2 or FI in it is recorded as complete."),
        (0, 1, "The one item of code C1, C2 or FI in it is not recorded as complete."),
        (9, 9, "All 9 items of code C1, C2 or FI in it are recorded as complete."),
        (1, 9, "1 of the 9 items of code C1, C2 or FI in it is recorded as complete."),
        (2, 9, "2 of the 9 items of code C1, C2 or FI in it are recorded as complete."),
        (0, 2, "None of the 2 items of code C1, C2 or FI in it is recorded as complete."),
    ],
)
def test_completion_words(done, of, words):
    assert completion_words(done, of) == words
