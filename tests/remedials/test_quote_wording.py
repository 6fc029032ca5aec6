"""Texts that rights hang on: the firm's own, else a default that says it is one."""

import pytest

from inspections.standards.confidence import Confidence
from inspections.standards.facts import Correction, Facts
from remedials.quotes.rules.wording import DEFAULT_MARK, Text, shows_rights, worded


@pytest.mark.parametrize("text", Text)
def test_a_default_is_marked_and_says_how_sure_it_is(text) -> None:
    wording = worded(text, firm="Made-up Electrics")
    assert wording.default
    assert wording.note == f"{DEFAULT_MARK} {wording.source} ({wording.confidence.value})."
    assert "{" not in wording.words
    assert "  " not in wording.words


def test_what_is_remembered_of_the_defaults_is_marked_so() -> None:
    assert {text for text in Text if not worded(text).confidence.sure} == {Text.CANCELLATION, Text.CANCELLATION_FORM}


@pytest.mark.parametrize("text", Text)
def test_the_firms_own_goes_before(text) -> None:
    wording = worded(text, "  Our own words, {firm}, {days} days, {odd}.  ", firm="Made-up Electrics")
    assert wording.words == "Our own words, Made-up Electrics, 14 days, {odd}."
    assert (wording.default, wording.note, wording.confidence) == (False, "", Confidence.GIVEN)


def test_blank_words_are_none() -> None:
    assert worded(Text.BEGIN, " \n ") == worded(Text.BEGIN)


def test_days_that_the_firm_put_right_stand_in_its_own_words_too() -> None:
    facts = Facts({"consumer.cancel-days": Correction(30, "the regulations as amended")})
    assert worded(Text.CANCELLATION, "{days} days", facts=facts).words == "30 days"


def test_a_firm_without_a_name_is_not_left_blank() -> None:
    assert "the firm named on this quote" in worded(Text.CANCELLATION_FORM).words


def test_the_form_asks_for_what_it_must() -> None:
    lines = worded(Text.CANCELLATION_FORM, firm="Made-up Electrics").words.splitlines()
    assert lines[1:] == [
        "To Made-up Electrics:",
        "I/We hereby give notice that I/we cancel my/our contract for the supply of the following service:",
        "Ordered on:",
        "Name of consumer(s):",
        "Address of consumer(s):",
        "Signature of consumer(s) (only if this form is sent on paper):",
        "Date:",
    ]


def test_consumers_are_shown_their_rights() -> None:
    assert shows_rights(consumer=True)
    assert not shows_rights(consumer=False)
