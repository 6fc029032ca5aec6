"""What the sources of the program may and may not hold: each place that does something dangerous, by name, with its reason."""

import ast
import re
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]
ROOTS = ("jobsite", "inspections", "remedials")


def files(*endings: str) -> list[Path]:
    return sorted(
        path
        for root in ROOTS
        for ending in endings
        for path in (TOP / root).rglob(f"*{ending}")
        if "migrations" not in path.parts and "demo" not in path.parts
    )


def holding(pattern: str, *endings: str) -> set[str]:
    """The files in whose text `pattern` stands."""
    found = re.compile(pattern)
    return {path.relative_to(TOP).as_posix() for path in files(*endings) if found.search(path.read_text())}


def test_nothing_that_came_in_is_run_as_a_program():
    assert holding(r"(?<![\w.])(?:eval|exec|compile|__import__)\(", ".py") == set()


def test_no_shell_is_started():
    assert holding(r"shell\s*=\s*True|os\.system|os\.popen|commands\.getoutput", ".py") == set()
    # Each starts a fixed list of words; what differs is a path or a number of ours.
    assert holding(r"^import subprocess|^from subprocess", ".py") | holding(r"\nimport subprocess", ".py") == {
        "jobsite/documents/__init__.py",
        "jobsite/embedded.py",
        "jobsite/running/backing_up.py",
        "jobsite/running/programs.py",
        "jobsite/running/restoring.py",
        "jobsite/serve.py",
        "jobsite/stack/servers.py",
        "jobsite/web.py",
    }


def test_nothing_is_unpacked_into_objects_but_our_own_counters():
    """`jobsite/counting.py` reads the cache's table, into which only this program writes."""
    assert holding(r"\bpickle\b|\bmarshal\b|\bshelve\b|yaml\.(?!safe_)load|jsonpickle|dill", ".py") == {
        "jobsite/counting.py"
    }


def test_markup_is_called_safe_only_where_it_is_ours():
    assert holding(r"\|\s*safe\b|autoescape\s+off", ".html") == {"jobsite/templates/forms/_before.html"}  # help texts
    assert holding(r"mark_safe\(|SafeString\(", ".py") == {
        "jobsite/marks.py",  # our own drawings; words in them are escaped
        "jobsite/premises/drawing/listing.py",  # likewise, held by tests/jobsite/test_premises_drawing_markup.py
        "jobsite/premises/drawing/svg.py",
        "remedials/desk/figures/drawing.py",
        "remedials/quotes/forms/building.py",  # two words of ours
        "remedials/quotes/views/sending.py",
        "remedials/status/queries/items.py",  # a mark or a drawing made by those above
        "remedials/status/queries/supply.py",
        "remedials/visits/queries/diary.py",
    }


def test_attributes_are_quoted():
    """An unquoted attribute ends at a space, whatever is escaped in it."""
    assert holding(r"<[a-z][^<>]*\s[a-z-]+=\{\{", ".html") == set()


def test_sql_by_hand_is_where_it_is_known():
    """Each of them binds what comes from outside as a parameter; ruff's S608 looks at how the text is put together."""
    assert holding(r"\.raw\(|\.extra\(", ".py") == set()
    assert holding(r"RawSQL\(", ".py") == {"remedials/desk/figures/queries/items.py"}  # no value from outside in it


def test_scripts_write_text_as_text():
    """`innerHTML` and its like take what our own server rendered, or a drawing of ours."""
    assert holding(r"document\.write|\beval\(|new Function|setTimeout\(\s*[\"'`]", ".js") == set()
    assert holding(r"\.innerHTML\s*=[^=]|outerHTML\s*=[^=]|insertAdjacentHTML", ".js") == {
        "inspections/static/inspections/beside.js",
        "inspections/static/inspections/entry.js",
        "jobsite/premises/static/premises/at_board.js",
    }


def test_scripts_take_messages_from_our_own_pages_alone():
    """A service worker and a BroadcastChannel hear their own origin only (WHATWG HTML); no window listens for others."""
    assert holding(r"window\.addEventListener\(\s*[\"']message|window\.onmessage", ".js") == set()
    assert holding(r"\.postMessage\(", ".js") == {
        "jobsite/static/jobsite/device.js",
        "jobsite/static/jobsite/phone.js",
        "jobsite/static/jobsite/worker.js",
    }


def test_scripts_reach_no_prototype():
    assert (
        holding(
            r"__proto__|\.constructor\.prototype|Object\.assign\([^,]*prototype|for\s*\(\s*(const|let|var)\s+\w+\s+in\b",
            ".js",
        )
        == set()
    )


def test_nothing_is_fetched_from_another_machine():
    """No address in a page or a script leads elsewhere: no tracker, no font, no library of somebody else's."""
    assert holding(r"(src|href|action)=[\"'](https?:)?//", ".html") == set()
    assert holding(r"(import|fetch|url)\s*\(?\s*[\"'`]https?://", ".js", ".css") == set()


def test_the_program_speaks_to_few_others():
    """Mail, the database, Redis, and a routing server that the manager named: nothing else opens a connection."""
    assert holding(
        r"(?m)^\s*(?:import|from) (?:urllib\.request|http\.client|requests|httpx|aiohttp|ftplib|imaplib|poplib|telnetlib|xmlrpc)",
        ".py",
    ) == {
        "jobsite/web.py",  # its own processes on this machine
        "remedials/visits/driving/routing.py",
    }
    assert holding(r"(?m)^\s*(?:import|from) (?:smtplib)", ".py") == {
        "jobsite/messages/carrier.py",
        "jobsite/people/invitations.py",  # its errors
        "jobsite/people/signin/adapter.py",  # its errors
    }


def test_chance_that_matters_comes_from_the_system():
    """`random` seeds a search and fills a firm for measuring; tokens come from `secrets`."""
    assert holding(r"(?m)^\s*(?:import random|from random)", ".py") == {
        "jobsite/premises/tracing/search.py",
        "remedials/desk/filling.py",
    }


def test_no_broken_hash_or_cipher_is_used():
    assert holding(r"\bmd5\b|\bsha1\b|\bMD5\b|\bSHA1\b|\bECB\b|PKCS1v15|\bDES\b|\bARC4\b|Blowfish", ".py") == set()


def test_xml_is_read_without_entities():
    """openpyxl takes defusedxml where it is installed; nothing of ours reads XML past it."""
    import openpyxl.xml

    assert openpyxl.xml.DEFUSEDXML is True
    assert holding(r"(?m)^\s*(?:import|from) (?:xml\.|lxml)", ".py") == set()


def test_no_template_is_made_of_words_from_outside():
    assert holding(r"\bTemplate\(|from_string\(|Environment\(|Engine\(", ".py") == set()


def test_no_field_takes_whatever_is_sent():
    assert holding(r"fields\s*=\s*[\"']__all__[\"']|exclude\s*=\s*[\[(]", ".py") == set()


@pytest.mark.parametrize(
    "name", ["Dockerfile", "docker-compose.yml", "pyproject.toml", ".gitignore", ".dockerignore", "Makefile"]
)
def test_no_secret_stands_in_what_is_handed_on(name):
    """Secrets are named and never given; the two made-up ones say that they are."""
    said = (TOP / name).read_text()
    found = re.findall(r"(?i)(?:secret_key|password|token|backup_key)\s*[:=]+\s*([^\s$\\{]{12,})", said)
    assert [word for word in found if "only-for" not in word and "only-kM3" not in word] == []


def test_what_is_private_goes_into_no_image_and_no_repository():
    for name in (".gitignore", ".dockerignore"):
        lines = {line.strip().strip("/") for line in (TOP / name).read_text().splitlines()}
        assert {"var", ".venv", ".env", "certificates"} <= lines
    assert ".git" in {line.strip().strip("/") for line in (TOP / ".dockerignore").read_text().splitlines()}


def test_no_word_from_outside_is_a_pattern_to_be_filled_in():
    """`format` and `%` on words that somebody typed would read attributes; so they stand on constants and literals."""
    found = set()
    for path in files(".py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr in ("format", "format_map")
            ):
                on = ast.unparse(node.func.value)
                if not (
                    isinstance(node.func.value, ast.Constant) or re.match(r"(\w+\.)*[A-Z_]+\b|sql\.SQL|format_html", on)
                ):
                    found.add(f"{path.relative_to(TOP).as_posix()}: {on}")
    assert found == {  # each a shape of ours, made by a function or taken from a table of them
        "inspections/queries/not_seen.py: _of_both(name)",
        "jobsite/addresses.py: _shape(name, key is not None)",
        "jobsite/running/restoring.py: rename",
        "remedials/due/queries/rows.py: _have_it_shape()",
        "remedials/status/copies/queries.py: ended",
    }
