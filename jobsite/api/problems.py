"""Refusals as problem documents (RFC 9457)."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework.exceptions import APIException
from rest_framework.response import Response
from rest_framework.views import exception_handler

from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused


def problem(error: Exception, context: dict[str, Any]) -> Response | None:
    """Every refusal of the API as a problem document (RFC 9457)."""
    if isinstance(error, Refused):
        return _problem_of(error)
    response = exception_handler(error, context)
    if response is None:
        return None
    title = {404: "Not found", 403: "Not allowed", 401: "Not signed in"}.get(response.status_code, "Refused")
    kind = getattr(error, "problem_type", "about:blank")
    body: dict[str, Any] = {"type": kind, "title": title, "status": response.status_code}
    if isinstance(error, Http404 | PermissionDenied):
        body["detail"] = title
    elif isinstance(error, APIException) and isinstance(error.detail, str):
        body["detail"] = str(error.detail)
    else:
        body |= {"detail": "Some fields need another look.", "errors": response.data}
    response.data, response.content_type = body, "application/problem+json"
    return response


def _problem_of(refused: Refused) -> Response:
    status = 403 if isinstance(refused, NotAllowed) else 412 if isinstance(refused, ChangedMeanwhile) else 409
    body: dict[str, Any] = {"type": "about:blank", "title": "Refused", "status": status, "detail": refused.sentence}
    if refused.field:
        body["field"] = refused.field
    if errors := getattr(refused, "errors", None):
        body["errors"] = errors
    if isinstance(refused, ChangedMeanwhile):
        body["version"] = getattr(refused.theirs, "version", None)
    return Response(body, status=status, content_type="application/problem+json")
