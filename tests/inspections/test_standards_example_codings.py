"""Example codings as a hint: found by the words of an observation, never more than a hint."""

import pytest

from inspections.standards.assessment import Code
from inspections.standards.example_codings import CAUTION, EXAMPLES, hints_for


def test_every_example_can_be_told_apart():
    assert len({example.key for example in EXAMPLES}) == len(EXAMPLES) == 31
    assert all(example.item and example.basis and example.words for example in EXAMPLES)
    assert "inspector" in CAUTION


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.key)
def test_stems_are_lower_case_and_start_words(example):
    assert all(stem == stem.casefold() for stem in example.words)


@pytest.mark.parametrize(
    ("observation", "key", "code"),
    [
        ("Fourteen blanks missing at the board in the store", "live-parts.blank-missing", Code.C1),
        ("No RCD for sockets likely to supply equipment outdoors", "rcd.outdoor-socket", Code.C2),
        ("Incoming polarity reversed", "polarity.origin", Code.C1),
        ("No main bonding to the gas service", "bonding.missing", Code.C2),
        ("Signs of overheating; terminals scorched at way 4", "terminals.overheated", Code.C2),
        ("Lighting circuits without RCD protection", "rcd.lighting", Code.C3),
    ],
)
def test_an_observation_finds_its_like(observation, key, code):
    found = {example.key: example for example in hints_for(observation)}
    assert found[key].codes[0] is code


@pytest.mark.parametrize("observation", ["", "Gutter leaks", "Painted recently"])
def test_other_words_find_nothing(observation):
    assert hints_for(observation) == ()


def test_the_nearest_example_comes_first():
    found = hints_for("Bathroom circuit without RCD, no supplementary bonding")
    assert found[0].key in {"rcd.bathroom-unbonded", "rcd.bathroom-bonded"}
    assert [len(example.words) for example in found] == sorted((len(e.words) for e in found), reverse=True)
