"""Facts and their corrections: how they are typed, stored, bounded and used."""

from datetime import date
from decimal import Decimal

import pytest

from inspections.standards.confidence import Confidence
from inspections.standards.facts import SHIPPED, Correction, Fact, Facts

OHMS = Fact(
    key="a.number",
    title="A number",
    value=Decimal("0.5"),
    unit="Ω",
    source="A book",
    confidence=Confidence.MEMORY,
    least=Decimal("0.1"),
    most=Decimal(10),
)
DAYS = Fact(key="a.count", title="Days", value=28, unit="days", source="A law", confidence=Confidence.READ)
RULE = Fact(key="a.rule", title="A rule", value=True, source="A post", confidence=Confidence.VERIFY)
LAW = Fact(
    key="a.law", title="Days by law", value=0, unit="days", source="A law", confidence=Confidence.READ,
    least=0, most=366, zero="no number of days",
)  # fmt: skip
BEGAN = Fact(key="a.day", title="A day", value=date(2026, 4, 15), source="A notice", confidence=Confidence.SECONDARY)


@pytest.mark.parametrize(
    ("fact", "typed", "value"),
    [
        (OHMS, " 0.55 ", Decimal("0.55")),
        (DAYS, "14", 14),
        (RULE, "No", False),
        (LAW, "28", 28),
        (LAW, "0", 0),
        (LAW, "No number of days", 0),
        (BEGAN, "2026-05-01", date(2026, 5, 1)),
    ],
)
def test_a_value_is_read_and_stored_as_text(fact, typed, value):
    assert fact.read(typed) == value
    assert fact.read(fact.text(value)) == value
    assert type(fact.read(typed)) is type(value)


@pytest.mark.parametrize(
    ("fact", "typed", "words"),
    [
        (OHMS, "much", "Enter a number"),
        (OHMS, "-1", "Enter a number"),
        (OHMS, "1e400", "Enter a number"),
        (OHMS, "0.09", r"0\.09 Ω lies outside what can be, 0\.1 Ω to 10 Ω"),
        (OHMS, "11", "lies outside"),
        (DAYS, "1.5", "whole number"),
        (RULE, "perhaps", "yes or no"),
        (DAYS, "no number of days", "whole number"),
        (LAW, "367", "367 days lies outside what can be, no number of days, or up to 366 days"),
        (BEGAN, "15.4.2026", "year, month, day"),
        (BEGAN, "2026-02-30", "year, month, day"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence(fact, typed, words):
    with pytest.raises(ValueError, match=words):
        fact.read(typed)


def test_a_correction_takes_the_place_of_the_shipped_value():
    facts = Facts({"a.number": Correction(Decimal("0.6"), "the standard, page 1", "looked up")})
    found = facts.of(OHMS)
    assert (found.value, found.source, found.confidence) == (Decimal("0.6"), "the standard, page 1", Confidence.GIVEN)
    assert (found.key, found.title, found.unit) == ("a.number", "A number", "Ω")
    assert (facts.corrected(OHMS), facts.corrected(DAYS)) == (True, False)
    assert facts.of(DAYS) is DAYS
    assert SHIPPED.of(OHMS) is OHMS


@pytest.mark.parametrize("wrong", [True, 1, date(2026, 1, 1), Decimal(99)])
def test_a_correction_that_cannot_be_is_never_used(wrong):
    with pytest.raises(ValueError, match="A number"):
        Facts({"a.number": Correction(wrong, "a slip")}).of(OHMS)


def test_values_in_words():
    assert [fact.shown for fact in (OHMS, DAYS, RULE, BEGAN)] == ["0.5 Ω", "28 days", "yes", "15 Apr 2026"]


def test_where_no_number_is_given_none_is_shown():
    facts = Facts({"a.law": Correction(28, "the law as amended")})
    assert (LAW.shown, facts.of(LAW).shown) == ("no number of days", "28 days")
