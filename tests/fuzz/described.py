"""The description of the API as the server gives it, and what of it tests ask for."""

import copy
import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiJsonRenderer


@dataclass(frozen=True)
class Shown:
    """An example of the body of a request: where it goes (`address`: the path with the keys that examples have), and the schema that it is to fit."""

    operation: str
    path: str
    address: str
    title: str
    body: Any
    schema: dict[str, Any]

    def __str__(self) -> str:
        return f"{self.operation}: {self.title}"


@cache
def _drawn() -> dict[str, Any]:
    # Once in a process: it takes ten seconds.
    drawn = SchemaGenerator(api_version="v1").get_schema(request=None, public=True)
    described: dict[str, Any] = json.loads(OpenApiJsonRenderer().render(drawn, renderer_context={}))
    return described


def description() -> dict[str, Any]:
    """The whole of it, a copy for whoever asks."""
    return copy.deepcopy(_drawn())


def requests_with_a_body() -> Iterator[tuple[str, dict[str, Any]]]:
    """The address and the description of each operation that takes a body."""
    for path, methods in _drawn()["paths"].items():
        for operation in methods.values():
            if isinstance(operation, dict) and "requestBody" in operation:
                yield path, operation


def examples() -> Iterator[Shown]:
    """What the description shows as bodies of requests."""
    for path, operation in requests_with_a_body():
        address = path
        for one in operation.get("parameters", ()):
            if one["in"] == "path":
                address = address.replace(f"{{{one['name']}}}", one["example"])
        for media in operation["requestBody"]["content"].values():
            for title, example in media.get("examples", {}).items():
                yield Shown(operation["operationId"], path, address, title, example["value"], media["schema"])


def properties(schema: dict[str, Any]) -> dict[str, Any]:
    """The fields of a body, whether it is described here or named."""
    name = schema.get("$ref", "").rpartition("/")[2]
    found: dict[str, Any] = (_drawn()["components"]["schemas"][name] if name else schema).get("properties", {})
    return found
