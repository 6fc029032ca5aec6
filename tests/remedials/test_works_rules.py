"""What closing asks for, when proof is reviewed and by whom, when the next step is due. Common practice throughout."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from remedials.works.rules import Asked, Given, Read, needs_review, next_step_by, still_missing, why_not_review

TODAY = date(2026, 2, 3)
GOOD, FAILS, UNCHECKED = Read(True, True), Read(False, True), Read(True, False)

reads = st.none() | st.builds(Read, st.booleans(), st.booleans())
askeds = st.builds(
    Asked,
    st.lists(st.text(min_size=1, max_size=5), max_size=3).map(tuple),
    st.lists(st.tuples(st.text(min_size=1, max_size=5), reads), max_size=3).map(tuple),
    st.sampled_from(["", "minor works certificate"]),
)
givens = st.builds(Given, st.booleans(), st.sampled_from(["", " ", "why"]), st.sampled_from(["", " ", "why"]))


@pytest.mark.parametrize(
    ("asked", "given", "missing"),
    [
        (Asked(), Given(), []),
        (Asked(unseen=("item 3",)), Given(), ["A photo after the work: item 3."]),
        (Asked(unseen=("item 3",)), Given(no_photo_reason="No cameras on this site"), []),
        (Asked(unseen=("item 3",)), Given(no_photo_reason="  "), ["A photo after the work: item 3."]),
        (
            Asked(readings=(("loop impedance reading of way 1", None),)),
            Given(),
            ["The loop impedance reading of way 1."],
        ),
        (
            Asked(readings=(("loop impedance reading of way 1", None),)),
            Given(exception_reason="x"),
            ["The loop impedance reading of way 1."],
        ),
        (Asked(readings=(("loop impedance reading of way 1", GOOD),)), Given(), []),
        (
            Asked(readings=(("loop impedance reading of way 1", FAILS),)),
            Given(),
            [
                "The loop impedance reading of way 1 fails: put the circuit right and read again, or say why it is put up."
            ],
        ),
        (
            Asked(readings=(("loop impedance reading of way 1", FAILS),)),
            Given(exception_reason="Electrode next week"),
            [],
        ),
        (
            Asked(readings=(("loop impedance reading of way 1", UNCHECKED),)),
            Given(),
            [
                "The loop impedance reading of way 1 is from an instrument out of its check: read again, or say why it is put up."
            ],
        ),
        (
            Asked(certificate_kind="minor works certificate"),
            Given(),
            ["The number or the file of the minor works certificate."],
        ),
        (Asked(certificate_kind="minor works certificate"), Given(certificate=True), []),
    ],
)
def test_still_missing(asked: Asked, given: Given, missing: list[str]) -> None:
    assert still_missing(asked, given) == missing


@given(askeds, givens)
def test_a_failing_or_doubtful_reading_never_closes_without_a_reason(asked: Asked, given: Given) -> None:
    doubtful = [name for name, read in asked.readings if read and not (read.passed and read.in_check)]
    if doubtful and not given.exception_reason.strip():
        assert len(still_missing(asked, given)) >= len(doubtful)


@given(askeds, givens)
def test_giving_more_never_lengthens_the_list(asked: Asked, given: Given) -> None:
    everything = Given(certificate=True, no_photo_reason="why", exception_reason="why")
    assert set(still_missing(asked, everything)) <= set(still_missing(asked, given))


@given(askeds, givens)
def test_a_reading_that_was_not_taken_is_always_asked_for(asked: Asked, given: Given) -> None:
    untaken = [f"The {name}." for name, read in asked.readings if read is None]
    assert [s for s in still_missing(asked, given) if s in untaken] == untaken


@pytest.mark.parametrize(
    ("codes", "exception", "needed"),
    [
        (["C3"], False, False),
        (["C3", "C3"], False, False),
        ([], False, False),
        (["C1"], False, True),
        (["C2"], False, True),
        (["FI"], False, True),
        ([""], False, True),
        (["C3", "C2"], False, True),
        (["C3"], True, True),
    ],
)
def test_needs_review(codes: list[str], exception: bool, needed: bool) -> None:
    assert needs_review(codes, exception=exception) is needed


@pytest.mark.parametrize(
    ("remedy_by", "expected"),
    [
        (None, date(2026, 2, 8)),
        (date(2026, 2, 28), date(2026, 2, 8)),
        (date(2026, 2, 5), date(2026, 2, 5)),
        (date(2026, 2, 3), date(2026, 2, 3)),
        (date(2025, 1, 1), date(2026, 2, 3)),
    ],
)
def test_next_step_by(remedy_by: date | None, expected: date) -> None:
    assert next_step_by(TODAY, days=5, remedy_by=remedy_by) == expected


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(1, 90), st.none() | st.integers(-400, 400))
def test_the_next_step_is_never_past_and_never_after_the_remedy_by_date_to_come(
    today: date, days: int, apart: int | None
) -> None:
    remedy_by = today + timedelta(days=apart) if apart is not None else None
    step = next_step_by(today, days=days, remedy_by=remedy_by)
    assert today <= step <= today + timedelta(days=days)
    if remedy_by and remedy_by >= today:
        assert step <= remedy_by


SELF_TOO_SOON = (
    "You are the firm's only qualified person: look at your own work again on a later day than you closed it."
)


@pytest.mark.parametrize(
    ("qualified", "own", "others", "closed_on", "why_not"),
    [
        (False, False, 3, TODAY, "Only a person whom the firm records as qualified may review proof."),
        (False, True, 0, date(2026, 1, 1), "Only a person whom the firm records as qualified may review proof."),
        (True, False, 0, TODAY, ""),
        (True, False, 1, TODAY, ""),
        (True, True, 1, date(2026, 1, 1), "This is your own work: another qualified person must review it."),
        (True, True, 0, TODAY, SELF_TOO_SOON),
        (True, True, 0, date(2026, 2, 4), SELF_TOO_SOON),
        (True, True, 0, date(2026, 2, 2), ""),
    ],
)
def test_why_not_review(qualified: bool, own: bool, others: int, closed_on: date, why_not: str) -> None:
    said = why_not_review(qualified=qualified, own_work=own, others=others, closed_on=closed_on, today=TODAY)
    assert said == why_not
