"""ASVS.md against the list that it must hold, the tests that it names, the settings and the sections."""

import csv
import re
from functools import cache
from pathlib import Path

import pytest

from tests.security.defences import DEFENCES
from tests.security.test_settings import HELD

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[1]
ROW = re.compile(r"\| (\d+\.\d+\.\d+) \| (\d) \| (.*) \| (yes|not held) \| (.*) \|")
TEST = re.compile(r"`(tests/[\w/]+\.py::\w+(?:\[[^`]+\])?)`")
SETTING, SECTION = re.compile(r"\bsetting ([A-Z_]+)"), re.compile(r"§([a-z-]+)")
LEAST = {"1": 64, "2": 120}  # what the firm aims at, of 64 and 129
REASON = 40  # letters: a sentence, not a word


def rows() -> list[tuple[str, ...]]:
    """Id, level, words, whether it is held, by what."""
    found = [ROW.fullmatch(line) for line in (HERE / "ASVS.md").read_text().splitlines() if line.startswith("| ")]
    return [row.groups() for row in found if row]


def named(pattern: re.Pattern[str]) -> set[str]:
    return {name for *_, held, by in rows() if held == "yes" for name in pattern.findall(by)}


@cache
def collected_in(file: str) -> frozenset[str]:
    return frozenset(re.findall(r"^def (test_\w+)\(", (TOP / file).read_text(), re.MULTILINE))


def test_the_table_has_the_requirements_of_the_list_and_no_others():
    with (HERE / "requirements.csv").open() as file:
        wanted = [(row["id"], row["level"], row["words"]) for row in csv.DictReader(file)]
    assert [(name, level, words.replace("&#124;", "|")) for name, level, words, *_ in rows()] == wanted
    assert [sum(level == which for _, level, _ in wanted) for which in "12"] == [64, 129]


def test_each_row_is_held_by_something_or_says_why_it_is_not():
    empty = [
        name
        for name, _, _, held, by in rows()
        if (not (TEST.search(by) or SETTING.search(by) or SECTION.search(by)) if held == "yes" else len(by) < REASON)
    ]
    assert empty == []


@pytest.mark.parametrize("level", LEAST)
def test_as_many_are_held_as_are_aimed_at_or_each_other_says_why(level):
    mine = [(held, by) for _, of, _, held, by in rows() if of == level]
    held = sum(one == "yes" for one, _ in mine)
    short = [by for one, by in mine if one == "not held"]
    assert held >= LEAST[level] or all(by.endswith(".") and len(by) >= REASON for by in short)
    assert f"{held} of {len(mine)} of level {level}" in (HERE / "ASVS.md").read_text()


def test_every_test_that_is_named_is_there_and_fails_without_its_defence():
    missing = {
        test
        for test in named(TEST)
        if test.partition("::")[2].partition("[")[0] not in collected_in(test.partition("::")[0])
    }
    assert missing == set()
    tried = {test.partition("[")[0] for test, _ in DEFENCES}
    assert {test for test in named(TEST) if test.partition("[")[0] not in tried} == set()


@pytest.mark.parametrize(("test", "way"), DEFENCES, ids=[f"{n}" for n in range(len(DEFENCES))])
def test_each_defence_is_where_it_is_taken_from(test, way):
    """Who changes a defence changes how it is taken away, too."""
    way.check()


def test_every_setting_that_is_named_has_its_value_written_down():
    assert named(SETTING) <= set(HELD)


def test_every_section_that_is_named_is_there():
    sections = set(re.findall(r"^## ([a-z-]+)$", (HERE / "POLICY.md").read_text(), re.MULTILINE))
    assert named(SECTION) <= sections
    assert sections <= named(SECTION) | set(SECTION.findall((HERE / "POLICY.md").read_text()))
