"""Links in the description of the API (OpenAPI 3.1, "Link Object"): from an answer that holds a row to what reads that row.

They are drawn from the description itself: an answer leads to the address that answers with the same kind of row, by the key
in it, and a list to its first row. A program, and the test that does one operation after another, can follow them.
"""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

NOUN = re.compile(r"/api/v1/(?P<noun>[^/]+)/\{(?P<key>\w+)\}/")
OF_NOUN = re.compile(r"/api/v1/[^/]+/")
JSON = "application/json"
# What a draft notes has an address of its own until the draft is issued, though it is shown alike.
NOTED = "draft-observations"
NOTES = re.compile(r"/api/v1/inspections/\{id\}/(note-observation|note-again|bring-back)/")


# Rows that have no address, with the field that names the row they are about, and its noun.
ABOUT = {"PortfolioUnitShown": ("unit", "units"), "AcceptedLineShown": ("line", "quote-lines")}


@dataclass(frozen=True)
class Reader:
    """An address that reads one row: `key` is what its parameter is called."""

    noun: str
    key: str
    operation: str

    def link(self, where: str, said: str, field: str = "") -> dict[str, Any]:
        """A link to it; `where` in the answer the row stands, and in which `field` of it the key if not in its own."""
        parameters = {self.key: f"$response.body#{where}/{field or self.key}"}
        return {"operationId": self.operation, "parameters": parameters, "description": said}


def lead_on(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """A last step of drawing the description: give answers their links."""
    schemas = result.get("components", {}).get("schemas", {})
    readers = _readers(result["paths"], schemas)
    for path, methods in result["paths"].items():
        for answer, shown in _answers(methods.get("post", {})):
            if reader := _of(readers[shown], path) or _own(readers, path, schemas.get(shown, {})):
                answer["links"] = {"Read": reader.link("", "The row as it is then.")}
        for answer, shown in _answers(methods.get("get", {})):
            row = _listed(schemas.get(shown, {}))
            if reader := _of(readers[row], path) or _own(readers, path, schemas.get(row, {})):
                answer["links"] = {"ReadFirst": reader.link("/results/0", "The first row of the list.")}
            elif row in ABOUT:
                field, noun = ABOUT[row]
                of = next(one for several in readers.values() for one in several if one.noun == noun)
                answer["links"] = {"ReadFirst": of.link("/results/0", "What the first row is about.", field)}
    return result


def _readers(paths: dict[str, Any], schemas: dict[str, Any]) -> dict[str, list[Reader]]:
    """What reads one row, by what it answers: only where the row itself says its key."""
    found: dict[str, list[Reader]] = defaultdict(list)
    for path, methods in paths.items():
        if (match := NOUN.fullmatch(path)) and "get" in methods:
            for _, shown in _answers(methods["get"]):
                if match["key"] in schemas.get(shown, {}).get("properties", {}):
                    found[shown].append(Reader(match["noun"], match["key"], methods["get"]["operationId"]))
    return found


def _answers(operation: dict[str, Any]) -> Iterator[tuple[dict[str, Any], str]]:
    """Each good answer of an operation that is JSON, and the name of what it shows."""
    for status, answer in operation.get("responses", {}).items():
        reference = answer.get("content", {}).get(JSON, {}).get("schema", {}).get("$ref", "")
        if status.startswith("2") and reference:
            yield answer, reference.rpartition("/")[2]


def _listed(schema: dict[str, Any]) -> str:
    """The name of the rows of a list, "" for what is none."""
    reference: str = schema.get("properties", {}).get("results", {}).get("items", {}).get("$ref", "")
    return reference.rpartition("/")[2]


def _own(readers: dict[str, list[Reader]], path: str, row: dict[str, Any]) -> Reader | None:
    """What reads a row of the noun that `path` begins with, where `row`, which shows less or more of it, says its key."""
    every = [reader for several in readers.values() for reader in several if reader.noun == path.split("/")[3]]
    return next(
        (reader for reader in every if reader.key in row.get("properties", {}) and OF_NOUN.fullmatch(path)), None
    )


def _of(readers: list[Reader], path: str) -> Reader | None:
    """The one that reads what `path` answers: of several, that of its own noun."""
    if len(readers) < 2:
        return readers[0] if readers else None
    noun = NOTED if NOTES.fullmatch(path) else path.split("/")[3]
    own = [reader for reader in readers if reader.noun == noun]
    others = [reader for reader in readers if reader.noun != NOTED]
    return next(iter(own or others), None)
