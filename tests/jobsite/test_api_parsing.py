"""JSON bodies: nothing that the database cannot hold gets past the parser, and nothing else is lost."""

import json
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rest_framework.exceptions import ParseError

from jobsite.api.parsing import LARGEST, CleanJSONParser


def parsed(body: str | bytes, encoding: str = "utf-8"):
    raw = body if isinstance(body, bytes) else body.encode()
    return CleanJSONParser().parse(BytesIO(raw), "application/json", {"encoding": encoding})


@pytest.mark.parametrize(
    "body",
    [
        '{"a": "\\u0000"}', '{"a": "\\ud800"}', '{"a": ["x", {"b": "\\udfff"}]}', '{"\\u0000": 1}', str(LARGEST + 1),
        f'[{{"n": -{10**40}}}]', "9" * 5000, "NaN", "Infinity", "{", "", b"\xff", b"\xef\xbb", "[" * 100_000, '{"a":' * 50_000,
    ],
)  # fmt: skip
def test_unstorable_bodies_are_refused(body):
    with pytest.raises(ParseError):
        parsed(body)


@pytest.mark.parametrize("encoding", ["zlib", "no-such", "rot13"])
def test_odd_encodings_are_refused(encoding):
    with pytest.raises(ParseError):
        parsed("{}", encoding)


TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-LARGEST, LARGEST)
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXT,
    lambda inner: st.lists(inner) | st.dictionaries(TEXT, inner),
)


@given(JSON)
def test_everything_else_comes_through_as_it_was(value):
    assert parsed(json.dumps(value)) == value
