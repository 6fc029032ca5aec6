"""A body in JSON holds only fields that something reads, each of its own kind of JSON, as the description names them.

Which text is an instant, a day, a key: RFC 3339, section 5.6 (date-time, full-date); RFC 9562, section 4 (UUID). Which number is
a whole one: JSON Schema 2020-12, section 6.1.1 ("integer" matches any number with a zero fractional part).
"""

from typing import Any

import pytest
from rest_framework import serializers

from jobsite.api.bodies import as_described


class Item(serializers.Serializer):
    what = serializers.CharField(max_length=4)
    each = serializers.DecimalField(max_digits=6, decimal_places=2)


class Body(serializers.Serializer):
    words = serializers.CharField(max_length=5, required=False)
    yes = serializers.BooleanField(required=False, allow_null=True)
    count = serializers.IntegerField(required=False)
    day = serializers.DateField(required=False)
    at = serializers.DateTimeField(required=False)
    hour = serializers.TimeField(required=False)
    key = serializers.UUIDField(required=False)
    sum = serializers.DecimalField(max_digits=6, decimal_places=2, required=False)
    letter = serializers.ChoiceField(["a", "b"], required=False)
    volts = serializers.ChoiceField([250, 500], required=False)
    keys = serializers.ListField(child=serializers.UUIDField(), required=False)
    cells = serializers.DictField(child=serializers.CharField(), required=False)
    items = Item(many=True, required=False)


KEY = "01920000-0000-7a6d-b7ee-cb0f5da3af06"
TAKEN: list[tuple[str, Any]] = [
    ("words", "five!"), ("yes", False), ("yes", None), ("count", 5), ("count", 5.0), ("count", -1), ("day", "2026-02-03"),
    ("at", "2026-02-03T09:30:00Z"), ("at", "2026-02-03T09:30:00.25+01:00"), ("hour", "09:30"), ("hour", "23:59:59.5"),
    ("key", KEY), ("key", KEY.upper()), ("sum", "12.50"), ("sum", "-3"), ("letter", "b"), ("volts", 500), ("keys", [KEY]),
    ("keys", []), ("cells", {"rating_a": "32"}), ("items", [{"what": "x", "each": "1.00"}]),
]  # fmt: skip
REFUSED: list[tuple[str, Any]] = [
    ("words", 0), ("words", True), ("words", ["a"]), ("words", {"a": "b"}), ("words", "a    b"), ("words", "abcd  "),
    ("yes", 0), ("yes", 1), ("yes", "true"), ("yes", "yes"), ("count", "5"), ("count", 5.5), ("count", True), ("count", [5]),
    ("day", 20260203), ("day", "20260203"), ("day", "2026-W06-2"), ("day", "2026-02-03\n"), ("at", "2026-02-03T09:30:00"),
    ("at", "2026-02-03"), ("at", 1770111000), ("hour", "0930"), ("hour", "24:00"), ("hour", 9), ("key", 5),
    ("key", KEY.replace("-", "")), ("key", f"{{{KEY}}}"), ("key", f"urn:uuid:{KEY}"), ("sum", 12.5), ("sum", " 12.50"),
    ("sum", "1e2"), ("sum", "NaN"), ("sum", "٣"), ("day", "２０２６-０２-０３"), ("hour", "0٣:30"), ("letter", 0), ("letter", ["a"]), ("volts", "250"), ("volts", True), ("keys", [KEY, 5]),
    ("cells", {"rating_a": 32}), ("items", [{"what": 3, "each": "1.00"}]), ("items", [{"what": "x", "each": 1}]),
]  # fmt: skip


def errors(body: dict[str, Any], *, of_json: bool = True) -> Any:
    with pytest.raises(serializers.ValidationError) as refused:
        as_described(Body(), body, of_json=of_json)
    return refused.value.detail


@pytest.mark.parametrize(("name", "value"), TAKEN, ids=str)
def test_a_value_of_its_own_kind_is_taken_and_read(name: str, value: Any) -> None:
    as_described(Body(), {name: value}, of_json=True)
    body = Body(data={name: value})
    assert body.is_valid(), body.errors


@pytest.mark.parametrize(("name", "value"), REFUSED, ids=str)
def test_a_value_of_another_kind_is_refused_beside_its_field(name: str, value: Any) -> None:
    assert list(errors({name: value})) == [name]


def test_the_sentence_stands_beside_the_value_within() -> None:
    told = errors({"items": [{"what": "x", "each": "1.00"}, {"what": 3, "each": "1.00", "wat": "x"}]})
    assert told == {"items": [{}, {"wat": ["There is no such field."], "what": ["Send a text."]}]}


def test_a_field_that_nothing_reads_is_refused_however_it_came() -> None:
    for of_json in (True, False):
        assert errors({"wrods": "five"}, of_json=of_json) == {"wrods": ["There is no such field."]}


def test_of_a_form_all_is_text_and_taken_as_what_it_says() -> None:
    as_described(Body(), {"count": "5", "yes": "true", "volts": "250", "day": "", "key": ""}, of_json=False)


@pytest.mark.parametrize(("name", "value"), [("at", "2026-02-03T09:30:00"), ("key", f"urn:uuid:{KEY}"), ("sum", "1e2")])
def test_a_form_too_writes_days_keys_and_numbers_in_one_way(name: str, value: str) -> None:
    assert list(errors({name: value}, of_json=False)) == [name]


def test_the_sentence_stands_at_the_place_of_a_value_in_a_list() -> None:
    assert errors({"keys": [KEY, 5]}) == {"keys": {1: ["Send a key, such as 01920000-0000-7a6d-b7ee-cb0f5da3af06."]}}
