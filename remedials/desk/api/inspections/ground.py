"""What the views of this room share: rows that hang on a row of a site, and what is uploaded."""

from datetime import datetime
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.views import APIView

from inspections.models import (
    DangerNotice,
    Inspection,
    InspectionDue,
    Limitation,
    MadeSafe,
    NotSeenAgain,
    Observation,
    ObservationPhoto,
    Paper,
    PaperDocument,
    PaperSupply,
    Review,
)
from jobsite.api.parsing import CleanJSONParser
from jobsite.ledger.files import store_file
from jobsite.ledger.photographs import MOST_BYTES
from jobsite.premises.models import Board, Circuit, Site, Unit
from jobsite.refused import Refused
from remedials.desk.api.ground import LONGEST, Act, Key, one
from remedials.desk.api.reading import List, One, Rows

MOST_AT_ONCE = 500
MOST_REPORT = 20 * 1024 * 1024  # bytes, as the page has it
PICTURE, AS_RECEIVED = "image/jpeg", "application/octet-stream"
PDF = b"%PDF-"
BELOW: dict[Any, tuple[str, Any]] = {
    DangerNotice: ("site", Site),
    InspectionDue: ("unit", Unit),
    Limitation: ("inspection", Inspection),
    MadeSafe: ("observation", Observation),
    NotSeenAgain: ("inspection", Inspection),
    ObservationPhoto: ("observation", Observation),
    PaperDocument: ("paper", Paper),
    PaperSupply: ("paper", Paper),
    Review: ("observation", Observation),
}
"""Rows that are seen by whoever sees the row above them, with the way to that."""

# A form with a file is multipart; the same without one may be JSON.
WITH_A_FILE = [CleanJSONParser, MultiPartParser]


def seen(view: APIView, rows: QuerySet[Any]) -> QuerySet[Any]:
    """Those of `rows` that this person may see, by the door of the row that they hang on."""
    way, above = BELOW[rows.model]
    return rows.filter(**{f"{way}__in": above.objects.visible_to(view.request.user)})


class Below(Rows):
    """Rows that hang on others."""

    def get_queryset(self) -> QuerySet[Any]:
        """Through the door of the row above; while the schema is drawn there is nobody to see any."""
        return self.queryset.none() if getattr(self, "swagger_fake_view", False) else seen(self, self.queryset)


class BelowList(Below, List):
    """A list of rows that hang on others."""

    ordering = "id"


class BelowOne(Below, One):
    """One row that hangs on another."""


class BelowAct(Act):
    """A verb on a row that hangs on another."""

    def thing(self) -> Any:
        """The row that the address names, as far as this person sees it; 404 otherwise."""
        found: Any = self.model
        return get_object_or_404(seen(self, found.objects.all()), pk=self.kwargs["pk"])


class Upload(serializers.FileField):
    """A file, in a multipart form. What is none, or is empty, is refused beside its field: the description cannot tell it."""

    def to_internal_value(self, data: Any) -> Any:
        try:
            return super().to_internal_value(data)
        except serializers.ValidationError as wrong:
            name = self.field_name or self.parent.field_name
            raise Refused(" ".join(map(str, _sentences(wrong))), field=name) from wrong


def _sentences(wrong: serializers.ValidationError) -> list[Any]:
    return wrong.detail if isinstance(wrong.detail, list) else [wrong.detail]


class Uploaded(Upload):
    """A file of a form that may come without one; then it may be JSON too."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"required": False, "allow_null": True, "default": None} | kwargs)


def keys(**kwargs: Any) -> Any:
    """A list of keys, empty unless given."""
    usual: dict[str, Any] = {"required": False, "default": list, "max_length": MOST_AT_ONCE}
    return serializers.ListField(child=Key(), **usual | kwargs)


def several(kind: Any, **kwargs: Any) -> Any:
    """A list of what the serializer `kind` reads."""
    return kind(many=True, **kwargs)


def optional_key(**kwargs: Any) -> Key:
    """The key of a row that need not be named."""
    return Key(required=False, allow_null=True, default=None, **kwargs)


def placed(view: APIView, given: dict[str, Any]) -> dict[str, Any]:
    """`given` with the unit, board and circuit that it names as rows. Raises ValidationError beside the one that is not there."""
    places = {"unit": Unit, "board": Board, "circuit": Circuit}
    found = {name: one(view, model, given[name], name) for name, model in places.items() if given.get(name)}
    return given | found


class Changed(serializers.CharField):
    """Words of which only those that are sent are changed; "" empties them."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_length": LONGEST, "required": False, "allow_blank": True} | kwargs)


def photograph(upload: UploadedFile | None, field: str = "photo") -> bytes | None:
    """The bytes of an uploaded photograph. Raises Refused for one that is too large; what it is, its operation finds."""
    if upload is None:
        return None
    if (upload.size or 0) > MOST_BYTES:
        raise Refused("This photo is larger than 20 MB. Take it at a lower resolution.", field=field)
    return bytes(upload.read())


def kept(upload: UploadedFile | None, *, now: datetime, field: str = "file") -> dict[str, Any]:
    """An uploaded report or receipt, kept byte for byte, as `file` and `file_name`; nothing for none.

    Raises Refused for one that is too large to keep.
    """
    if upload is None:
        return {}
    if (upload.size or 0) > MOST_REPORT:
        raise Refused("This file is larger than 20 MB. Save the report in a smaller one.", field=field)
    data = upload.read()
    media = "application/pdf" if data.startswith(PDF) else "application/octet-stream"
    return {"file": store_file(data, media_type=media, now=now), "file_name": (upload.name or "")[:200]}


def photographs(uploads: list[UploadedFile]) -> list[bytes]:
    """The bytes of several uploaded photographs. Raises Refused as `photograph` does."""
    return [data for data in (photograph(upload, "photos") for upload in uploads) if data is not None]
