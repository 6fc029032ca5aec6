"""Which fields each page and document of customers reads: found in its template, and the table that allows them.

Whoever lets a page or a document read something more adds it here, knowingly: no surname of staff unless the firm chooses
(it goes through `jobsite.people.names`), no note on access, no alarm code, no price but the customer's own, nobody else's.
`python -m tests.remedials.customers_fields` writes the table anew: read the difference line by line before it is kept.
"""

import re
import textwrap
from dataclasses import fields, is_dataclass
from importlib import import_module
from inspect import getmembers
from pathlib import Path

TOP = Path(__file__).parents[2]
TAG = re.compile(r"{%\s*(\w+)(.*?)%}|{{(.*?)}}", re.DOTALL)
QUOTED = re.compile(r"\"[^\"]*\"|'[^']*'")
NAME = re.compile(r"(?<![\w.|:])[a-z_]\w*(?:\.\w+)*")
READS = {"if", "elif", "for", "include", "url", "with", "firstof", "cycle"}
SYNTAX = frozenset(["in", "and", "or", "not", "if", "else", "with", "only", "as", "is", "True", "False", "None"])
TYPST = re.compile(r"(?<![\w.\"/-])([a-z][\w-]*)\.([a-z][\w-]*)(?![\w(-])")
# What belongs to the setting of the page and to the language itself, not to what is told.
SETTING = frozenset(
    {"house.typ", "data.title", "data.heads", "data.about", "data.firm", "data.made", "data.fingerprint", "table.cell"}
)


def customers_templates() -> list[Path]:
    """The templates of pages behind private links and for anybody: those in plain.html, and what they include."""
    every = {
        path.relative_to(path.parents[_depth(path)]).as_posix(): path for path in TOP.glob("*/**/templates/**/*.html")
    }
    found = [path for path in every.values() if 'extends "plain.html"' in path.read_text()]
    for path in found:
        for name in re.findall(r'{%\s*include\s+"([^"]+)"', path.read_text()):
            if every[name] not in found:
                found.append(every[name])
    return sorted(found)


def _depth(path: Path) -> int:
    return [parent.name for parent in path.parents].index("templates")


def fields_of_template(path: Path) -> set[str]:
    """What a template reads, by its own names: "item.text", "page.title"."""
    found: set[str] = set()
    for tag, rest, shown in TAG.findall(path.read_text()):
        if shown or tag in READS:
            text = QUOTED.sub("", shown or rest)
            text = re.sub(r"\|\w+(?::\w+)?", "", text)
            found |= {name for name in NAME.findall(text) if name not in SYNTAX}
    return {name for name in found if not name.startswith("forloop")}


def fields_of_document(path: Path) -> set[str]:
    """What a Typst template reads of its facts: "facts.report", "one.text"."""
    text = re.sub(r"//[^\n]*", "", path.read_text())
    return {f"{one}.{other}" for one, other in TYPST.findall(text)} - SETTING


def fields_of_shown(module: str) -> dict[str, set[str]]:
    """The fields of each dataclass of a module of what is shown."""
    found = getmembers(import_module(module), lambda one: isinstance(one, type) and is_dataclass(one))
    return {
        name: {field.name for field in fields(one)}
        for name, one in found
        if one.__module__ == module  # type: ignore[arg-type]
    }


NOT_FOR_CUSTOMERS = {
    "jobsite/premises/documents/board-label.typ": "for what is on a board",
    "jobsite/premises/documents/labels.typ": "for what is on a board",
    "remedials/status/documents/record.typ": "for whoever must prove what was known, and by whom: names are part of it",
    "remedials/visits/documents/job-sheet.typ": "for the firm's engineers",
    "remedials/works/documents/notification.typ": "for building control and the network operator, who ask who did the work",
}


def documents() -> dict[str, Path]:
    """The templates of documents by their name, without what all of them stand in."""
    found = (path for path in TOP.glob("*/**/documents/*.typ") if path.name != "house.typ")
    return {path.relative_to(TOP).as_posix(): path for path in found}


def shown_modules() -> list[str]:
    """The modules that say what may be shown."""
    found = (TOP / "remedials" / "status").rglob("shown.py")
    return sorted(".".join(path.relative_to(TOP).with_suffix("").parts) for path in found)


def _block(table: dict[str, set[str]], indent: str) -> str:
    lines = []
    for name in sorted(table):
        words = textwrap.wrap(" ".join(sorted(table[name])), 100, break_on_hyphens=False)
        inside = "".join(f"{indent}    {line}\n" for line in words)
        lines.append(f'{indent}"{name}": """\n{inside}{indent}""",\n')
    return "".join(lines)


def written() -> str:
    """The table as the templates are now, as text of its module."""
    pages = {path.relative_to(TOP).as_posix(): fields_of_template(path) for path in customers_templates()}
    papers = {name: fields_of_document(path) for name, path in documents().items() if name not in NOT_FOR_CUSTOMERS}
    shown = "".join(
        f'    "{module}": {{\n{_block(fields_of_shown(module), " " * 8)}    }},\n' for module in shown_modules()
    )
    return (
        '"""The table that `customers_fields` speaks of: what pages, documents and classes of customers may hold."""\n\n'
        f"PAGES: dict[str, str] = {{\n{_block(pages, '    ')}}}\n\n"
        f"DOCUMENTS: dict[str, str] = {{\n{_block(papers, '    ')}}}\n\n"
        f"SHOWN: dict[str, dict[str, str]] = {{\n{shown}}}\n"
    )


if __name__ == "__main__":
    import django

    django.setup()
    (Path(__file__).parent / "customers_fields_allowed.py").write_text(written())
