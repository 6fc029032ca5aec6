"""README.md and DEVELOPERS.md say what is so: their printed parts, the commands and the files that they name."""

import re

import pytest
from django.core.management import get_commands

from tests.readme import PAGES, TOP, filled, parts

TEXTS = {page: (TOP / page).read_text() for page in PAGES}
TARGETS = set(re.findall(r"^([a-z-]+):", (TOP / "Makefile").read_text(), re.MULTILINE))
FOLDERS = r"(?:jobsite|inspections|remedials|tests|\.ci)/"
# Files that DEVELOPERS.md makes up to show how a changed view is wrapped.
MADE_UP = {
    "remedials/due/migrations/0003_drop_for_stage_width.py",
    "remedials/due/migrations/0004_due_list_3.py",
}


@pytest.mark.parametrize("page", PAGES)
def test_printed_parts_are_as_the_code_prints_them(page: str) -> None:
    assert TEXTS[page] == filled(TEXTS[page]), "run python -m tests.readme"


def test_every_part_is_printed_somewhere() -> None:
    missing = [name for name in parts() if not any(f"<!-- {name} -->" in text for text in TEXTS.values())]
    assert missing == []


@pytest.mark.parametrize("page", PAGES)
def test_named_make_targets_exist(page: str) -> None:
    named = {word for line in re.findall(r"\bmake ([a-z -]+)", TEXTS[page]) for word in line.split()}
    targets = {word for word in named if f"`make {word}`" in TEXTS[page] or f"\nmake {word}" in TEXTS[page]}
    assert targets, "the page names no target"
    assert targets - TARGETS == set()


@pytest.mark.parametrize("page", PAGES)
def test_named_commands_exist(page: str) -> None:
    named = set(re.findall(r"manage\.py ([a-z_]+)", TEXTS[page]))
    assert named, "the page names no command"
    assert named - set(get_commands()) == set()


@pytest.mark.parametrize("page", PAGES)
def test_named_files_exist(page: str) -> None:
    named = set(re.findall(rf"(?<![\w/])({FOLDERS}[\w/.-]*\.(?:py|png|html|xlsx))", TEXTS[page])) - MADE_UP
    assert [path for path in sorted(named) if not (TOP / path).is_file()] == []


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page: str) -> None:
    targets = re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", TEXTS[page])
    assert targets
    assert [target for target in targets if not (TOP / target).exists()] == []
