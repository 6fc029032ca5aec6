"""The rules of the house that a program can check. DEVELOPERS.md says why each of them is there."""

import ast
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent
ROOTS = ("jobsite", "inspections", "remedials")
PYTHON = sorted(path for root in ROOTS for path in (TOP / root).rglob("*.py"))
PRODUCT = [path for path in PYTHON if "migrations" not in path.parts]
MIGRATIONS = [path for path in PYTHON if "migrations" in path.parts]
TEMPLATES = sorted(path for root in ROOTS for path in (TOP / root).rglob("*.html"))

LONGEST_FILE = 500
LONGEST_TEMPLATE = 150
LONGEST_FUNCTION = 60

# Writes outside operations, each with the reason why it must be.
WRITES_ELSEWHERE: dict[str, str] = {
    "jobsite/celery.py": "Celery's configuration is a dict, updated by name",
    "jobsite/people/signin/forms.py": "the library's forms are saved by that name: they note a code in the session",
    "remedials/desk/demo/people.py": "the demo's people get a password at once, which nobody else ever does",
    "remedials/desk/demo/quotes.py": "the demo's link is one that is known beforehand, which nobody else ever gets",
    "remedials/desk/filling.py": "a large firm for measuring, in bulk, into an empty database only",
    "remedials/desk/filling_quotes.py": "the quotes of that firm, likewise",
    "jobsite/ledger/files.py": "content is kept by operations through this one door; a row per hash, safe to repeat",
}
# Functions longer than the limit, each with the reason why it reads better whole.
LONG_FUNCTIONS: dict[str, str] = {}
# What a migration may name: Django writes the default of a key into it, and these stand on nothing of ours.
NAMED_IN_MIGRATIONS = {"jobsite.ids"}

ALWAYS_WRITES = {"bulk_create", "bulk_update", "get_or_create", "update_or_create", "create_user"}
# Those of a queryset or model take no positional argument; those of dicts, hashes, caches and pictures do.
WRITES_WITHOUT_POSITION = {"save", "create", "update", "delete"}
WRITING_SQL = re.compile(r"\s*(INSERT|UPDATE|DELETE|TRUNCATE|MERGE)\b", re.IGNORECASE)
STYLED_MAIL = "jobsite/messages/rules/letters.py"  # an e-mail has no style sheet of its own that every reader heeds
# A script of type application/json is data, which no browser runs: by it allauth's scripts are told which fields are meant.
INLINE = re.compile(
    r"\sstyle\s*=|<style\b|<script(?![^>]*\b(?:src=|type=\"application/json\"))|\son[a-z]+\s*=\s*[\"']|javascript:",
    re.IGNORECASE,
)


def name(path: Path) -> str:
    return path.relative_to(TOP).as_posix()


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(), name(path))


def is_operations(path: Path) -> bool:
    return path.name.startswith("operations") or "operations" in path.parts


def writes(module: ast.Module) -> Iterator[ast.Call]:
    """Calls that change the database, as far as their form shows it."""
    for node in ast.walk(module):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and _writes(node, node.func.attr):
            yield node


def _writes(call: ast.Call, method: str) -> bool:
    if method in {"execute", "executemany"}:
        sql = call.args[0] if call.args else None
        return isinstance(sql, ast.Constant) and isinstance(sql.value, str) and bool(WRITING_SQL.match(sql.value))
    return method in ALWAYS_WRITES or (method in WRITES_WITHOUT_POSITION and not call.args)


def imports(module: ast.Module) -> Iterator[str]:
    for node in ast.walk(module):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def functions(module: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (node for node in ast.walk(module) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))


# --- changes are made by operations -----------------------------------------------------------------------------------


def test_changes_are_made_by_operations_only() -> None:
    found = {
        name(path): [f"{name(path)}:{call.lineno}" for call in writes(tree(path))]
        for path in PRODUCT
        if not is_operations(path)
    }
    elsewhere = {where: lines for where, lines in found.items() if lines}
    assert {where: lines for where, lines in elsewhere.items() if where not in WRITES_ELSEWHERE} == {}
    assert set(WRITES_ELSEWHERE) - set(elsewhere) == set(), "these no longer write: take them off the list"


@pytest.mark.parametrize(
    ("code", "is_a_write"),
    [
        ("board.save(update_fields=['place'])", True),
        ("Board.objects.filter(pk=1).update(place='')", True),
        ("Board.objects.create(place='')", True),
        ("boards.delete()", True),
        ("Board.objects.bulk_create(rows)", True),
        ("cursor.execute('update board set place = 1')", True),
        ("cursor.execute('SELECT 1')", False),
        ("picture.save(out, 'JPEG')", False),
        ("words.update({'a': 1})", False),
        ("cache.delete('key')", False),
    ],
)
def test_writes_are_recognised(code: str, is_a_write: bool) -> None:
    assert bool(list(writes(ast.parse(code)))) is is_a_write


def test_no_signals() -> None:
    found = [
        name(path) for path in PRODUCT if any(i.startswith("django.db.models.signals") for i in imports(tree(path)))
    ]
    assert found == []


# --- floors and rooms -------------------------------------------------------------------------------------------------


def test_floors() -> None:
    """The contracts in pyproject.toml: floors, the ground, intake and standards, rules without Django."""
    program = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([program, "--no-cache"], cwd=TOP, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_rules_know_no_django_even_by_a_longer_way() -> None:
    """Rules import the standard library, published standards, and each other; nothing that opens a database."""
    allowed = re.compile(
        r"(jobsite|inspections|remedials)(\.\w+)*\.(rules|states|standards|graph|clock|words|ids|sorting)\b"
    )
    found = [
        f"{name(path)}: {module}"
        for path in PRODUCT
        if path.name in {"rules.py", "states.py"} or {"standards", "rules"} & set(path.relative_to(TOP).parts)
        for module in imports(tree(path))
        if module.partition(".")[0] not in sys.stdlib_module_names
        and not allowed.match(module)
        and module not in {"inspections.standards", "holidays"}  # the second: bank holidays as data
    ]
    assert found == []


def test_migrations_import_none_of_our_code() -> None:
    found = [
        f"{name(path)}: {module}"
        for path in MIGRATIONS
        for module in imports(tree(path))
        if module.partition(".")[0] in ROOTS and module not in NAMED_IN_MIGRATIONS
    ]
    assert found == []


# --- content policy ---------------------------------------------------------------------------------------------------


def test_templates_hold_no_inline_style_or_script() -> None:
    found = [
        f"{name(path)}:{number}: {line.strip()[:80]}"
        for path in TEMPLATES
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if INLINE.search(line)
    ]
    assert found == []


def test_python_makes_no_inline_style_or_script() -> None:
    found = [
        f"{name(path)}:{node.lineno}"
        for path in PRODUCT
        if name(path) != STYLED_MAIL
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and INLINE.search(node.value)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("markup", "is_inline"),
    [
        ('<p style="color: red">', True),
        ("<style>p {}</style>", True),
        ("<script>go()</script>", True),
        ('<button onclick="go()">', True),
        ('<script src="/static/a.js" defer></script>', False),
        ('<rect class="board" fill="none"/>', False),
    ],
)
def test_inline_markup_is_recognised(markup: str, is_inline: bool) -> None:
    assert bool(INLINE.search(markup)) is is_inline


# --- tests stay on this machine ---------------------------------------------------------------------------------------


def test_network_is_closed_to_tests() -> None:
    with socket.socket() as outside, pytest.raises(RuntimeError, match=r"asked for \('192\.0\.2\.1', 80\)"):
        outside.connect(("192.0.2.1", 80))  # RFC 5737: an address for documentation, which nobody has


def test_this_machine_is_open_to_tests() -> None:
    with socket.create_server(("127.0.0.1", 0)) as here, socket.create_connection(here.getsockname()) as there:
        assert there.getpeername() == here.getsockname()


# --- sizes and words --------------------------------------------------------------------------------------------------


def test_no_file_is_too_long() -> None:
    limits = [(path, LONGEST_FILE) for path in PRODUCT] + [(path, LONGEST_TEMPLATE) for path in TEMPLATES]
    sizes = [(name(path), path.read_text().count("\n"), limit) for path, limit in limits]
    assert [(where, lines) for where, lines, limit in sizes if lines > limit] == []


def test_no_function_is_too_long() -> None:
    found = {
        f"{name(path)}:{node.name}"
        for path in PRODUCT
        for node in functions(tree(path))
        if (node.end_lineno or node.lineno) - node.lineno + 1 > LONGEST_FUNCTION
    }
    assert found == set(LONG_FUNCTIONS)


def test_public_operations_and_rules_say_what_they_do() -> None:
    """Units, errors and the source of a rule stand in the docstring."""
    found = [
        f"{name(path)}:{node.lineno} {node.name}"
        for path in PRODUCT
        if is_operations(path) or path.name in {"rules.py", "states.py"} or "standards" in path.relative_to(TOP).parts
        for node in tree(path).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and not ast.get_docstring(node)
    ]
    assert found == []
