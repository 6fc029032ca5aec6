"""The sentences of the customer's page: the dangerous first, and never more than is known."""

import re
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
    basis_words,
    completion_words,
    confirmation_words,
    ended_words,
    first_words,
    how_many,
    listed,
    long_day,
    meaning,
    mood,
    undecided_words,
    work_words,
)
from remedials.status.rules.first_words import STANDS
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
            ["No inspection is on record here, so it is not known whether the installation is safe."],
            [],
            [],
        ),
        (
            [
                "One report of a defect has not been looked at by a competent person yet: it may be dangerous.",
                "No inspection is on record here, so it is not known whether the installation is safe.",
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
                "2 dangerous items are open: none made safe, repairs not booked yet.",
                "Ask us what may be used until then.",
                "2 reports of defects have not been looked at by a competent person yet: they may be dangerous.",
                "What is known here is from the inspection of 3 February 2026.",
            ],
            [OpenItem("C1", text="Live busbar exposed.", where="DB1"), "C2", "", ""],
            [INSPECTED],
        ),
        (
            [
                (
                    "A defect was reported that may be dangerous now, and no competent person has looked at it yet. Keep away "
                    "from it, and ring us."
                ),
                "One report of a defect has not been looked at by a competent person yet: it may be dangerous.",
                "Besides that, no dangerous item is recorded open, from the inspection of 3 February 2026.",
            ],
            [OpenItem("", urgent=True), ""],
            [INSPECTED],
        ),
        (
            [
                "2 dangerous items are open: 1 made safe for now on 3 February 2026, 1 not made safe.",
                "Their repairs: 1 booked for 9 March 2026; 1 not booked yet.",
                "Ask us what may be used until then.",
                "What is known here is from the inspection of 3 February 2026. It did not cover: the loft.",
            ],
            [OpenItem("C1", safe_on=FEB), OpenItem("C2", booked_on=MARCH)],
            [LOFT],
        ),
        (
            [
                "Danger now: No cover, and 1 other danger, not recorded as made safe. Keep away from them.",
                "4 dangerous items are open: 2 made safe for now, the last on 9 March 2026, 2 not made safe, repairs not booked yet.",
                "Ask us what may be used until then.",
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


BOOKED = OpenItem("C2", booked_on=MARCH)


@pytest.mark.parametrize(
    ("items", "sentences"),
    [
        ([OpenItem("C1", FEB, MARCH)], ["1 dangerous item is open: made safe for now on 3 February 2026, repair booked for 9 March 2026."]),
        ([OpenItem("C1", FEB, MARCH)] * 2, ["2 dangerous items are open: both made safe for now on 3 February 2026, repairs booked for 9 March 2026."]),
        ([OpenItem("C2", booked_on=MARCH), OpenItem("C2", booked_on=date(2026, 3, 12))], ["2 dangerous items are open: none made safe, repairs booked, the first for 9 March 2026."]),
        ([OpenItem("C2", booked_on=FEB, over=True)], ["1 dangerous item is open: not made safe, repair booked for 3 February 2026, with no outcome recorded yet."]),
        ([OpenItem("C2", stands="quoted")], ["1 dangerous item is open: not made safe, repair waiting for an answer to our quote."]),
        ([OpenItem("C2", stands="approved")] * 3, ["3 dangerous items are open: none made safe, repairs agreed, the day still to be fixed."]),
        ([OpenItem("C2", stands="done")], ["1 dangerous item is open: repair done, the proof still to be reviewed by a qualified person."]),
        ([OpenItem("C2", stands="done"), OpenItem("C2")], ["2 dangerous items are open: 1 not made safe."]),
        ([OpenItem("C1", safe_on=FEB), OpenItem("C2", advised=True)], ["2 dangerous items are open: 1 made safe for now on 3 February 2026, 1 not made safe, repairs not booked yet.", "What to do until then stands at the items below: ask us where it does not."]),
        ([OpenItem("C2", stands="declined")], ["1 dangerous item is open: not made safe, repair offered, and declined."]),
        (
            [BOOKED, OpenItem("C2", booked_on=FEB, over=True), OpenItem("C1", FEB, stands="done"), OpenItem("C2", stands="declined")],
            [
                "4 dangerous items are open: 1 made safe for now on 3 February 2026, 3 not made safe.",
                "Their repairs: 1 booked for 9 March 2026; 1 booked for 3 February 2026, with no outcome recorded yet; 1 done, the proof still to be reviewed by a qualified person; 1 offered, and declined.",
            ],
        ),
    ],
)  # fmt: skip
def test_what_is_done_about_the_dangerous_ones(items, sentences):
    assert said(*items)[: len(sentences)] == sentences


@given(st.lists(st.builds(OpenItem, st.sampled_from(["C1", "C2"]), st.none(), st.none() | st.just(MARCH), st.booleans(), st.sampled_from([*STANDS])), min_size=1))  # fmt: skip
def test_the_counts_of_the_repairs_add_up(items):
    told = next((s for s in said(*items) if s.startswith("Their repairs: ")), None)
    counts = [int(n) for n in re.findall(r"(?:: |; )(\d+) ", told)] if told else [len(items)]
    assert sum(counts) == len(items)


@pytest.mark.parametrize(
    ("basis", "words"),
    [
        ("As observation 1027, which this continues. The firm's policy.", "The firm's policy."),
        ("As observation 1027, which this continues.", ""),
        ("The firm's policy.", "The firm's policy."),
    ],
)
def test_basis_words(basis, words):
    assert basis_words(basis) == words


def test_the_next_visit_is_said_before_where_the_knowledge_is_from():
    assert said("C2", next_visit="9 Mar 2026, 09:00–10:30")[2] == "We are to be there next on 9 Mar 2026, 09:00–10:30."
    assert said(next_visit="9 Mar 2026, 09:00–10:30")[-1] == "We are to be there next on 9 Mar 2026, 09:00–10:30."


@pytest.mark.parametrize(
    ("items", "words"),
    [
        ([OpenItem("C1"), OpenItem("C3")], "live"),
        ([OpenItem("C1", safe_on=FEB)], "warn"),
        ([OpenItem("")], "warn"),
        ([OpenItem("FI"), OpenItem("C3")], "must"),
        ([OpenItem("C3")], ""),
        ([], ""),
    ],
)
def test_the_mood_is_that_of_the_worst(items, words):
    assert mood(items) == words


@pytest.mark.parametrize(
    ("letters", "room", "count"), [([], 9, 0), ([10], 9, 1), ([4, 5], 9, 2), ([4, 6, 1], 9, 1), ([1] * 20, 9, 9)]
)
def test_how_many_items_fit(letters, room, count):
    assert how_many(letters, room) == count


@pytest.mark.parametrize(
    ("done_on", "words"),
    [
        (FEB, "To each existing tenant (Flat 1): recorded as done on 3 February 2026."),
        (
            None,
            "To each existing tenant (Flat 1): not recorded as done yet; due by 9 March 2026.",
        ),
    ],
)
def test_confirmation_words(done_on, words):
    said = confirmation_words("written confirmation", "each existing tenant", "Flat 1", done_on=done_on, due_on=MARCH)
    assert said == words


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
        "1 dangerous item is open: not made safe, repair not booked yet.",
        "Ask us what may be used until then.",
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
        (
            "booked",
            {"booked": "9 Mar 2026, 09:00–10:30", "over": True},
            "was booked for 9 Mar 2026, 09:00–10:30; what came of it is not recorded yet",
        ),
        ("booked", {"booked": "9 Mar 2026, 09:00–10:30"}, "booked for 9 Mar 2026, 09:00–10:30"),
        ("done", {"done_on": FEB}, "done on 3 February 2026; a qualified person has still to review the proof"),
        ("done", {"done_on": FEB, "code": "C3"}, "done on 3 February 2026; more is to come"),
        ("reviewed", {}, "this part is done, and a qualified person has reviewed the proof"),
        ("declined", {"said_no_on": FEB}, "offered, and declined on 3 February 2026"),
        (
            "declined",
            {"said_no_on": FEB, "ask_again_on": MARCH, "code": "FI"},
            "offered, and declined on 3 February 2026; the investigation is unresolved: whether it is dangerous stays unknown; we shall ask again on 9 March 2026",
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
        ("remedied", {"reviewed": True}, "Put right on 3 February 2026. A qualified person has reviewed the proof."),
        ("remedied", {}, "Put right on 3 February 2026."),
        (
            "others",
            {},
            "Put right by others on 3 February 2026, by the papers we were given. We have not inspected it.",
        ),
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


def test_completion_of_one_units_items():
    assert completion_words(0, 0, "Flat 3") == "It lists no item of code C1, C2 or FI for Flat 3."
    assert (
        completion_words(2, 2, "Flat 3")
        == "All 2 items of code C1, C2 or FI in it for Flat 3 are recorded as complete."
    )
