"""What the description of the API tells whoever writes a program, besides what its operations are."""

import re
from typing import Any

from jobsite.api.field_words import WORDS
from jobsite.api.told import described
from tests.fuzz.described import description, properties, requests_with_a_body


def test_it_begins_with_how_a_program_signs_in_and_what_it_is_told() -> None:
    told = description()
    said = told["info"]["description"]
    assert told["openapi"].startswith("3.1.")
    assert told["servers"] == [{"url": "/", "description": "The service that gave this description."}]
    for word in (
        "Authorization: Bearer", "Idempotency-Key", "If-Match", "application/problem+json", "page_size",
        "ETag", "prove dead",
    ):  # fmt: skip
        assert word in said, word
    assert "counts no requests" in said  # as the tests have it
    assert not re.search(r"[{}]", said.replace("{id}", ""))


def test_it_says_how_often_the_service_may_be_asked(settings) -> None:
    settings.API_REQUESTS_A_MINUTE = 600
    said = described({"info": {}})["info"]["description"]
    assert "600 times a minute, one address 3000 times" in said
    assert "`Retry-After`" in said


def numbers(schemas: dict[str, Any]):
    """Each field that holds a number, or the text of one, with what is said of it."""
    for name, schema in schemas.items():
        for field, told in schema.get("properties", {}).items():
            kinds = told.get("type", ())
            kinds = kinds if isinstance(kinds, list) else [kinds]
            if {"integer", "number"} & set(kinds) or told.get("format") == "decimal":
                yield f"{name}.{field}", told.get("description", "")


def test_each_number_says_what_it_counts_or_its_unit() -> None:
    """A name alone leaves open whether days, per cent or pounds are meant."""
    assert [where for where, said in numbers(description()["components"]["schemas"]) if not said] == []


def test_no_words_are_of_a_field_that_is_not_there() -> None:
    schemas = description()["components"]["schemas"]
    there = {f"{name}.{field}" for name, schema in schemas.items() for field in schema.get("properties", {})}
    there |= {name.rpartition(".")[2] for name in there}
    assert sorted(set(WORDS) - there) == []


def test_each_operation_says_what_it_does() -> None:
    for path, methods in description()["paths"].items():
        for method, operation in methods.items():
            assert operation.get("summary", "").endswith("."), (method, path)


def test_a_file_is_described_as_a_file_and_nowhere_as_an_address() -> None:
    """Its bytes as they are (OpenAPI 3.1, section 4.8.14.3: contentMediaType of a raw binary file)."""
    kinds = set()
    for _, operation in requests_with_a_body():
        if form := operation["requestBody"]["content"].get("multipart/form-data"):
            files = [field for field in properties(form["schema"]).values() if field.get("format") in ("binary", "uri")]
            kinds |= {(field["format"], field["contentMediaType"]) for field in files}
    assert kinds == {("binary", "application/octet-stream")}
