"""At the door of every change: a request with an Idempotency-Key is done once, and one from a phone brings its own time.

As the IETF draft draft-ietf-httpapi-idempotency-key-header has it: the same key and the same request get the stored
answer; while the first still runs, 409; the same key with another request, 422. The key is a string of structured fields
(RFC 8941), in quotes; a bare one is taken too. Which addresses refuse a request without one (400) is theirs to say.
"""

import hashlib
import json
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase

from jobsite.ledger import made
from jobsite.ledger.models import DoneOnce
from jobsite.ledger.operations_once import done_before, keep_answer, taken

CHANGES = frozenset({"POST", "PUT", "PATCH", "DELETE"})
KEY = re.compile(r'"([\x21\x23-\x5b\x5d-\x7e]{1,200})"|([\w:.-]{1,200})', re.ASCII)
# Of an answer to a page these are told again; its words are not: they were said once.
TOLD_AGAIN = ("Content-Type", "Location", "HX-Redirect", "HX-Trigger", "X-Saved", "ETag")
RUNNING = "running"
OTHER = "other-request"
BROKEN = "broken-key"
SENTENCES = {
    RUNNING: (409, "The same request is being done just now: ask again in a moment."),
    OTHER: (422, "This Idempotency-Key was used for another request: a new request takes a new key."),
    BROKEN: (400, 'The Idempotency-Key is a text in quotes, such as "8e03978e-40d5-43e8-bc93-6894a57f9324".'),
}

# Its views, and ours that are made of them, raise what its own middleware answers, which sees nothing that a view raises from
# here; no phone keeps its forms.
SIGNING_IN = ("allauth.", "jobsite.people.signin.")

View = Callable[..., HttpResponseBase]


class Once:
    """The middleware; it stands last, so that what others find wrong (CSRF) is answered before anything is looked up."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        now = request.now  # type: ignore[attr-defined]
        said = made.made_of(request.headers.get("X-Made", ""), request.headers.get("X-Sent", ""), now=now)
        request.made_at = said.at  # type: ignore[attr-defined]
        token = made.begin(said)
        try:
            response = self.get_response(request)
        finally:
            made.end(token)
        if said.off:
            response["X-Clock-Off"] = str(round(said.off / timedelta(seconds=1)))
        return response

    def process_view(self, request: HttpRequest, view: View, args: Any, kwargs: Any) -> HttpResponseBase | None:
        """The answer of `view`, or the one that it gave to the same request before; None where no key is sent."""
        sent = request.headers.get("Idempotency-Key")
        if sent is None or request.method not in CHANGES or not request.user.is_authenticated:
            return None
        if view.__module__.startswith(SIGNING_IN) or not takes(view, request.method):
            return None
        key = key_of(sent)
        if not key:
            return problem(BROKEN)
        with transaction.atomic():
            return _once(request, request.user.pk, key, lambda: view(request, *args, **kwargs))


def takes(view: View, method: str) -> bool:
    """Whether a view of the API takes this method: what it does not is answered so (405), whatever else is wrong."""
    return hasattr(getattr(view, "cls", None), method.lower()) if hasattr(view, "cls") else True


def _once(request: HttpRequest, person: UUID, key: str, do: Callable[[], HttpResponseBase]) -> HttpResponseBase:
    """1. Get hold of the key. 2. Answer again what was answered. 3. Else do it, and keep the answer if it was done."""
    asked = fingerprint(request)
    if not taken(person, key):
        return problem(RUNNING)
    if before := done_before(person, key):
        return _again(before) if bytes(before.fingerprint) == asked else problem(OTHER)
    response = do()
    if hasattr(response, "render") and callable(response.render):
        response = response.render()
    if 200 <= response.status_code < 400:
        keep_answer(
            person,
            key,
            fingerprint=asked,
            status=response.status_code,
            headers={name: response[name] for name in TOLD_AGAIN if name in response},
            body=response.content if _is_json(response) else b"",  # type: ignore[attr-defined]
            now=request.now,  # type: ignore[attr-defined]
        )
    return response


def _again(before: DoneOnce) -> HttpResponse:
    response = HttpResponse(bytes(before.body), status=before.status, headers=before.headers)
    response["X-Again"] = "yes"
    return response


def _is_json(response: HttpResponseBase) -> bool:
    return "json" in response.get("Content-Type", "")


def key_of(sent: str) -> str:
    """The key in the header, "" for what is none."""
    found = KEY.fullmatch(sent.strip())
    return (found[1] or found[2]) if found else ""


def fingerprint(request: HttpRequest) -> bytes:
    """SHA-256 of what is asked for: method, address, fields and files as they were meant.

    Of a form the parsed fields: the boundary between its parts and its CSRF token are other ones each time it is sent.
    """
    digest = hashlib.sha256(f"{request.method} {request.get_full_path()}\n".encode())
    for part in _parts(request):
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.digest()


def _parts(request: HttpRequest) -> Iterator[bytes]:
    kind = request.content_type or ""
    if request.method != "POST" or kind not in ("multipart/form-data", "application/x-www-form-urlencoded"):
        yield request.body
        return
    fields = {name: values for name, values in request.POST.lists() if name != "csrfmiddlewaretoken"}
    yield json.dumps(fields, sort_keys=True).encode()
    for name, files in sorted(request.FILES.lists()):
        for file in files:
            yield f"{name} {file.name}".encode(errors="replace")
            content = hashlib.sha256()
            for chunk in file.chunks():
                content.update(chunk)
            yield content.digest()
            file.seek(0)


def problem(kind: str) -> HttpResponse:
    """A problem document (RFC 9457) of one of the kinds that keys can have."""
    status, sentence = SENTENCES[kind]
    body = {"type": f"urn:problem:idempotency:{kind}", "title": "Refused", "status": status, "detail": sentence}
    return HttpResponse(json.dumps(body), status=status, content_type="application/problem+json")
