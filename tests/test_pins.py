"""The pins: complete, exact, free of addresses, and what is installed. The gate compiles them again besides."""

import re
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]


def lines(name: str) -> list[str]:
    return (TOP / name).read_text().split("\n")[:-1]


def pins(name: str) -> dict[str, Requirement]:
    return {canonicalize_name(wanted.name): wanted for wanted in map(Requirement, lines(name))}


RUN, DEV = pins("requirements.txt"), pins("requirements-dev.txt")


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-dev.txt"])
def test_every_line_is_one_exact_version(name: str) -> None:
    exact = re.compile(r"[a-z0-9.-]+==[0-9][0-9a-z.]*( ; [a-z_]+ [!<>=]+ '[\w.]+')?")
    assert [line for line in lines(name) if not exact.fullmatch(line)] == []


@pytest.mark.parametrize(
    ("wanted", "pinned"),
    [
        (PROJECT["dependencies"], RUN),
        (PROJECT["dependencies"] + PROJECT["optional-dependencies"]["dev"], DEV),
    ],
    ids=["run", "dev"],
)
def test_every_dependency_is_pinned_within_its_bounds(wanted: list[str], pinned: dict[str, Requirement]) -> None:
    for requirement in map(Requirement, wanted):
        (spec,) = pinned[canonicalize_name(requirement.name)].specifier
        assert requirement.specifier.contains(spec.version), requirement


def test_tests_run_with_the_versions_of_the_program() -> None:
    assert {name: DEV.get(name) for name in RUN} == RUN


def test_installed_is_what_is_pinned() -> None:
    for name, requirement in pins("requirements-dev.txt").items():
        if requirement.marker is None or requirement.marker.evaluate():
            assert requirement.specifier.contains(version(name)), f"{name}: {version(name)} is not {requirement}"
