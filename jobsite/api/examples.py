"""Examples in the description of the API, written where the thing they show is.

A serializer has a class attribute `example` (or `examples`, by their titles): what a body looks like, as JSON holds it. A row
that it names has the key `key("site")`, by the name of its model in lower case; that of a row which the sender makes is
`key("new")`. The keys are the same on every day and machine, so that a test can put a firm there in which each example works.
"""

from typing import Any
from uuid import UUID

from django.db.models import Model
from drf_spectacular.utils import OpenApiExample

from jobsite.ids import part_of

START = UUID("01920000-0000-7000-8000-000000000000")  # a key of version 7, of September 2024
NEW = "new"


def key(kind: str) -> str:
    """The key that stands in examples for the row of this kind: a model's name in lower case, or NEW."""
    return str(part_of(START, kind))


def key_of(model: type[Model]) -> str:
    """The key that stands in examples for a row of `model`; a row that has the key of another has that one's."""
    of: Any = model
    while of._meta.pk.remote_field is not None:
        of = of._meta.pk.remote_field.model
    return key(str(of._meta.model_name))


# Parts of addresses that are no key of the row which the verb is about.
PARTS_OF_ADDRESSES: dict[str, str | int] = {
    "data": "messages",
    "document": key("document"),
    "form": key(NEW),
    "key": "insulation.to-500-v",
    "kind": "decide",
    "ref": key("observation"),
    "remedial": key("remedial"),
    "unit": key("unit"),
    "which": "outstanding",
    "year": 2026,
}


def part_of_address(name: str, path: str) -> str | int | None:
    """The example for this part of an address, None where there is none."""
    return "boards" if "/templates/" in path else PARTS_OF_ADDRESSES.get(name)


def examples_of(serializer: Any) -> list[OpenApiExample]:
    """What `serializer` (an object, or a class) shows of itself, for the description."""
    several = getattr(serializer, "examples", {})
    if (single := getattr(serializer, "example", None)) is not None:
        several = {"Example": single} | several
    return [OpenApiExample(title, value=value) for title, value in several.items()]
