"""Whether a visit fits, from facts alone: each clash says both sides."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest

from remedials.visits.rules.below import Fed, LockOff, below_lock, boards_below
from remedials.visits.rules.checks import DEFAULTS, FIXED, NEVER_SILENT, Check, Severity, severity_of
from remedials.visits.rules.fitting import Asked, Going, Leg, Work, look_over

ON = date(2026, 12, 3)  # a Thursday


def at(hour: int, minute: int = 0, day: int = 3) -> datetime:
    return datetime(2026, 12, day, hour, minute, tzinfo=UTC)


ANN = Going("Ann Example", hours={ON: (at(8), at(16, 30))}, skills=frozenset({"boards"}))
APPRENTICE = replace(ANN, name="Ben Learner", apprentice=True)
WORK = Work(1012, minutes=60)
ASKED = Asked("Sample House", at(9), at(11), going=(ANN,), work=(WORK,))


def said(**change) -> list[tuple[Check, str]]:
    return [(one.check, one.sentence) for one in look_over(replace(ASKED, **change))]


def test_nothing_is_said_where_all_fits() -> None:
    assert look_over(ASKED) == []


@pytest.mark.parametrize(
    ("change", "check", "sentence"),
    [
        (
            {"start": at(7)},
            Check.HOURS,
            "Ann Example works 3 Dec 2026, 08:00–16:30; the visit is 3 Dec 2026, 07:00–11:00.",
        ),
        (
            {"end": at(17)},
            Check.HOURS,
            "Ann Example works 3 Dec 2026, 08:00–16:30; the visit is 3 Dec 2026, 09:00–17:00.",
        ),
        (
            {"going": (replace(ANN, hours={ON: None}),)},
            Check.HOURS,
            "Ann Example does not work on Thursday, 3 Dec 2026.",
        ),
        (
            {"going": (replace(ANN, away=((date(2026, 12, 3), date(2026, 12, 7), "leave"),)),)},
            Check.LEAVE,
            "Ann Example is away from 3 Dec 2026 to 7 Dec 2026 (leave).",
        ),
        (
            {"going": (replace(ANN, subcontractor=True, insured_until=date(2026, 12, 2)),)},
            Check.INSURANCE,
            "The insurance of Ann Example ends on 2 Dec 2026, before the end of the visit.",
        ),
        (
            {"going": (APPRENTICE,)},
            Check.ALONE,
            "Ben Learner is an apprentice: somebody who is none must go too.",
        ),
        (
            {"going": (replace(ANN, legs=(Leg("Far Barn", (at(7, 30), at(8, 50)), 25),)),)},
            Check.DRIVING,
            (
                "Ann Example is at Far Barn before it (3 Dec 2026, 07:30–08:50): driving takes about 25 minutes, and 10 minutes "
                "are left."
            ),
        ),
        (
            {"going": (replace(ANN, legs=(Leg("Far Barn", (at(11, 20), at(12)), 25),)),)},
            Check.DRIVING,
            (
                "Ann Example is at Far Barn after it (3 Dec 2026, 11:20–12:00): driving takes about 25 minutes, and 20 minutes "
                "are left."
            ),
        ),
        (
            {"work": (replace(WORK, skill="Fire alarms", skill_folded="fire alarms"),)},
            Check.SKILL,
            "Remedial 1012 takes the skill “Fire alarms”: nobody who goes has it on 3 Dec 2026.",
        ),
        ({"work": (replace(WORK, crew=2),)}, Check.CREW, "Remedial 1012 takes 2 people at once; 1 go."),
        (
            {"work": (replace(WORK, parts_ready_on=date(2026, 12, 4)),)},
            Check.PARTS,
            "The parts of remedial 1012 are ready on 4 Dec 2026; the visit is on 3 Dec 2026.",
        ),
        (
            {"work": (replace(WORK, may_begin=date(2026, 12, 9)),)},
            Check.CANCELLATION,
            (
                "The customer may still cancel remedial 1012 until 8 Dec 2026 and has not asked that work begins at once: ask "
                "them first. Your adviser settles whether the right applies."
            ),
        ),
        (
            {"work": (replace(WORK, see_to=("asbestos register, ask for it",)),)},
            Check.SEE_TO,
            "Before remedial 1012: asbestos register, ask for it is still to be seen to.",
        ),
        (
            {"work": (replace(WORK, remedy_by=date(2026, 12, 2)),)},
            Check.REMEDY_BY,
            "Remedial 1012 is to be done by 2 Dec 2026; the visit is on 3 Dec 2026.",
        ),
        (
            {"work": (replace(WORK, minutes=150),)},
            Check.TOO_SHORT,
            "The work takes about 150 minutes with 1 person; the visit has 120.",
        ),
        (
            {"work": (replace(WORK, lock_offs=("main switch locked at Board 1",)),)},
            Check.LOCK_OFF,
            "Remedial 1012 needs live tests below a lock-off of somebody else: main switch locked at Board 1.",
        ),
        ({"holidays": {ON: "Some Day"}}, Check.BANK_HOLIDAY, "3 Dec 2026 is a bank holiday: Some Day."),
        (
            {"open_at": [(at(10), at(12))]},
            Check.ACCESS,
            "Sample House lets people in 3 Dec 2026, 10:00–12:00; the visit is 3 Dec 2026, 09:00–11:00.",
        ),
        (
            {"open_at": []},
            Check.ACCESS,
            "Sample House lets people in not on 3 Dec 2026; the visit is 3 Dec 2026, 09:00–11:00.",
        ),
        ({"outages": ["The power is off then."]}, Check.OUTAGE, "The power is off then."),
    ],
)
def test_what_does_not_fit_is_said_with_both_sides(change, check, sentence) -> None:
    assert said(**change) == [(check, sentence)]


def test_two_people_share_the_work_and_an_apprentice_may_go_along() -> None:
    assert said(going=(ANN, APPRENTICE), work=(replace(WORK, minutes=240, crew=2),)) == []


def test_several_days_are_looked_at_one_by_one() -> None:
    friday = date(2026, 12, 4)
    hours = {ON: (at(8), at(16, 30)), friday: (at(8, day=4), at(12, day=4))}
    going = (replace(ANN, hours=hours),)
    assert said(going=going, end=at(12, day=4), work=()) == []
    assert [check for check, _ in said(going=going, end=at(13, day=4), work=())] == [Check.HOURS]
    assert [
        check for check, _ in said(going=(replace(ANN, hours={ON: hours[ON], friday: None}),), end=at(9, day=4))
    ] == [Check.HOURS]


def test_an_emergency_goes_out_of_hours_but_never_without_what_keeps_people_safe() -> None:
    going = (replace(APPRENTICE, hours={ON: None}),)
    work = (replace(WORK, lock_offs=("main switch",), see_to=("permit, ask",)),)
    found = said(emergency=True, going=going, work=work, open_at=[], holidays={ON: "Some Day"})
    assert [check for check, _ in found] == [Check.ALONE, Check.SEE_TO, Check.LOCK_OFF]


@pytest.mark.parametrize("check", list(Check))
def test_every_check_has_a_severity_that_the_firm_may_set_unless_it_is_fixed(check) -> None:
    assert severity_of(check, {}) == DEFAULTS[check]
    expected = Severity.REFUSE if check in FIXED else Severity.WARN if check in NEVER_SILENT else Severity.SILENT
    assert severity_of(check, {check.value: "silent"}) == expected


A, B, C, D = (UUID(int=n) for n in range(1, 5))
W1, W2 = UUID(int=11), UUID(int=12)
FEEDS = [Fed(A, B, W1), Fed(B, C, W2)]


@pytest.mark.parametrize(
    ("lock", "tested", "below"),
    [
        (LockOff("", A), (W2, B), True),
        (LockOff("", A), (W1, A), True),
        (LockOff("", B), (W1, A), False),
        (LockOff("", A, W1), (UUID(int=13), C), True),
        (LockOff("", A, W1), (W1, A), True),
        (LockOff("", A, W1), (UUID(int=14), A), False),
        (LockOff("", B, UUID(int=15)), (W2, B), False),
        (LockOff("", None), (W1, A), False),
    ],
)
def test_below_a_lock_off(lock, tested, below) -> None:
    assert below_lock(lock, [tested], FEEDS) is below


def test_boards_below_follow_every_feed_also_in_a_ring() -> None:
    assert boards_below([B], FEEDS) == {B, C}
    assert boards_below([A], [*FEEDS, Fed(C, A, UUID(int=16))]) == {A, B, C}
    assert boards_below([D], FEEDS) == {D}


def test_midnight_ends_a_day_and_begins_none() -> None:
    asked = replace(ASKED, start=at(22), end=at(0, day=4))
    assert asked.days == [ON]
    assert replace(asked, end=asked.end + timedelta(minutes=1)).days == [ON, date(2026, 12, 4)]
