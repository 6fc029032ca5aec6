"""What a change over the API says in its headers: which request it is (once), and which version it means.

Idempotency-Key as in draft-ietf-httpapi-idempotency-key-header: a request without one is answered with 400. If-Match as in
RFC 9110, section 13.1.1; that it is required is answered with 428 (RFC 6585, section 3).
"""

import re
from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.exceptions import APIException
from rest_framework.request import Request

MISSING_KEY = "urn:problem:idempotency:missing-key"
MISSING_VERSION = "urn:problem:versions:missing-if-match"
BROKEN_VERSION = "urn:problem:versions:broken-if-match"
NO_VERSION = -1
"""A version that no row has: what was seen is not what is there."""
TAG = re.compile(r'(W/)?"([\x21\x23-\x7e\x80-\xff]*)"')  # an entity tag (RFC 9110, section 8.8.3)
TAGS = re.compile(rf"{TAG.pattern}([ \t]*,[ \t]*{TAG.pattern})*")
LONGEST_VERSION = 9  # digits


class MissingKey(APIException):
    """A change without an Idempotency-Key."""

    status_code = 400
    problem_type = MISSING_KEY
    default_detail = "Send an Idempotency-Key: a text of your own in quotes, a new one for each change and the same one when you send it again."


class MissingVersion(APIException):
    """A change to what another may have changed, without saying which version it means."""

    status_code = 428
    problem_type = MISSING_VERSION
    default_detail = "Send If-Match with the version that you saw, in quotes: the ETag of the row."


class BrokenVersion(APIException):
    """An If-Match that is neither * nor entity tags."""

    status_code = 400
    problem_type = BROKEN_VERSION
    default_detail = 'If-Match is * or the version that you saw in quotes, such as "3".'


def must_have_key(request: Request) -> None:
    """Raises MissingKey. What the key means is seen to before any view is called (`jobsite.once`)."""
    if "Idempotency-Key" not in request.headers:
        raise MissingKey


def etag(row: Any) -> str:
    """The entity tag of a row that has a version, "" for others."""
    version = getattr(row, "version", None)
    return "" if version is None else f'"{version}"'


def version_meant(request: Request, row: Any) -> int:
    """The version in If-Match; for "*", and of several, the one that `row` has. Raises MissingVersion, BrokenVersion.

    A weak tag never matches, nor does what is no version of ours: NO_VERSION.
    """
    sent = request.headers.get("If-Match")
    if sent is None:
        raise MissingVersion
    if sent.strip() == "*":
        return int(row.version)
    seen = [_version(*tag) for tag in _tags(sent)]
    return int(row.version) if row.version in seen else seen[0]


def _tags(sent: str) -> list[tuple[str, str]]:
    if not TAGS.fullmatch(sent.strip()):
        raise BrokenVersion
    return TAG.findall(sent)


def _version(weak: str, text: str) -> int:
    ours = not weak and text.isascii() and text.isdigit() and len(text) <= LONGEST_VERSION
    return int(text) if ours else NO_VERSION


# --- as the description of the API has them ---------------------------------------------------------------------------

KEY_PATTERN = r'^("[!#-\[\]-~]{1,200}"|[A-Za-z0-9_:.-]{1,200})$'  # as `jobsite.once` reads it
TAGS_PATTERN = r'^(\*|(W/)?"[!#-~]*"( *, *(W/)?"[!#-~]*")*)$'
KEY_HEADER = OpenApiParameter(
    "Idempotency-Key",
    {"type": "string", "pattern": KEY_PATTERN},
    OpenApiParameter.HEADER,
    required=True,
    description=(
        'A text of your own in quotes (a string of RFC 8941), such as "8e03978e-40d5-43e8-bc93-6894a57f9324": a new one for '
        "each change, the same one when it is sent again, which then is answered as before and changes nothing (X-Again: "
        "yes). Kept for 30 days, for each person apart. Without it 400, while the first still runs 409, with another "
        "request 422; `type` tells them apart."
    ),
)
MATCH_HEADER = OpenApiParameter(
    "If-Match",
    {"type": "string", "pattern": TAGS_PATTERN},
    OpenApiParameter.HEADER,
    required=True,
    description='The version that you saw, in quotes: the ETag of the row. Without it 428, where it has another 412. "*": any.',
)
ETAG_HEADER = OpenApiParameter(
    "ETag",
    str,
    OpenApiParameter.HEADER,
    response=[200],
    description="The version of the row, where it has one, in quotes: for If-Match.",
)
