"""Addresses that give a file, with the headers of the page's: whatever kind of answer the caller names, a refusal is a problem."""

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.http.response import HttpResponseBase
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.request import Request

from remedials.desk.api.reading import Rows

PDF, ZIP = "application/pdf", "application/zip"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class AnyKind(DefaultContentNegotiation):
    """The file is what it is: nobody is refused for asking for another kind."""

    def select_renderer(self, request: Request, renderers: Any, format_suffix: Any = None) -> Any:
        """The renderer of refusals."""
        return renderers[0], renderers[0].media_type


class File(Rows):
    """The file of a row that this person may see."""

    content_negotiation_class = AnyKind
    filter_backends = ()
    lookup_field = "pk"

    def get(self, request: Request, **kwargs: Any) -> HttpResponseBase:
        """The file, byte for byte."""
        return self.answer(self.get_object())

    def answer(self, row: Any) -> HttpResponseBase:
        """The file of `row`. Raises Http404 where it has none."""
        raise NotImplementedError


def file(*kinds: str, summary: str) -> Callable[[type[Any]], Any]:
    """Says in the schema of which kinds the file of a view can be."""
    responses: dict[Any, Any] = {(200, kind): OpenApiTypes.BINARY for kind in kinds}
    return extend_schema_view(get=extend_schema(summary=summary, responses=responses))


def kept(data: bytes, kind: str, name: str) -> HttpResponse:
    """A download named `name` that no cache keeps."""
    response = HttpResponse(data, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response
