"""Every message says by which rule it was written."""

import ast
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent.parent
ROOTS = ("jobsite", "inspections", "remedials")


def silent(code: str) -> list[int]:
    """The lines on which a message is made that does not say why."""
    calls = [node for node in ast.walk(ast.parse(code)) if isinstance(node, ast.Call)]
    made = [
        call
        for call in calls
        if (isinstance(call.func, ast.Name) and call.func.id == "Message")
        or (isinstance(call.func, ast.Attribute) and ast.unparse(call.func) == "Message.objects.create")
    ]
    return [call.lineno for call in made if "why" not in {keyword.arg for keyword in call.keywords}]


def test_every_message_is_written_with_its_rule():
    files = [path for root in ROOTS for path in (TOP / root).rglob("*.py")]
    found = {f"{path.relative_to(TOP)}": silent(path.read_text()) for path in files if "migrations" not in path.parts}
    assert {where: lines for where, lines in found.items() if lines} == {}


@pytest.mark.parametrize(
    ("code", "lines"),
    [("Message(occasion='x')", [1]), ("\nMessage.objects.create(a=1)", [2]), ("Message(why='x')", [])],
)
def test_a_silent_message_is_found(code, lines):
    assert silent(code) == lines
