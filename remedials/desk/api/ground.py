"""What every view of the API stands on: its right, its rows, its fields, and how a verb is done."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any, ClassVar
from uuid import UUID

from django.db import models
from django.db.models import QuerySet
from django.http import QueryDict
from django.shortcuts import get_object_or_404
from drf_spectacular.renderers import OpenApiJsonRenderer, OpenApiJsonRenderer2
from drf_spectacular.utils import extend_schema, extend_schema_view
from drf_spectacular.views import SpectacularAPIView
from rest_framework import serializers
from rest_framework.exceptions import PermissionDenied, ValidationError
from rest_framework.generics import GenericAPIView
from rest_framework.permissions import BasePermission, IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobsite.api.bodies import as_described
from jobsite.api.headers import KEY_HEADER, MATCH_HEADER, must_have_key, version_meant
from jobsite.fields import FIRST_YEAR, LAST_YEAR
from jobsite.people.guard import SECOND_STEP_FIRST
from jobsite.people.models import User
from jobsite.people.rights import Right

LONGEST = 10_000
LARGEST = 2**31 - 1  # what an integer column of PostgreSQL holds


class HoldsRight(BasePermission):
    """Only for people whose roles carry the view's right."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        if request.user.lacks_second_step:  # type: ignore[union-attr]
            raise PermissionDenied(SECOND_STEP_FIRST)
        return bool(request.user.may(view.right))  # type: ignore[union-attr, attr-defined]


class Marked(APIView):
    """A view with its right, which stands on its function too (`view.needs`): the walk over all routes reads it there."""

    right: ClassVar[Right] = Right.SEE_WORK
    permission_classes = [IsAuthenticated, HoldsRight]

    @classmethod
    def as_view(cls, **initkwargs: Any) -> Any:
        """The view's function, marked."""
        view: Any = super().as_view(**initkwargs)
        view.needs = cls.right
        return view


class Schema(Marked, SpectacularAPIView):
    """The description of the API (OpenAPI, as JSON), for people signed in."""

    renderer_classes = [OpenApiJsonRenderer, OpenApiJsonRenderer2]  # so that a refusal too is JSON


class Door(Marked, GenericAPIView):
    """A view of rows."""


class Text(serializers.CharField):
    """Words as somebody types them, at most 10,000 characters; DRF refuses NUL and lone surrogates."""

    def __init__(self, **kwargs: Any) -> None:
        if not kwargs.get("required", True):
            kwargs.setdefault("default", "")
            kwargs.pop("required")
            kwargs["allow_blank"] = True
        super().__init__(**{"max_length": LONGEST} | kwargs)


class Day(serializers.DateField):
    """A date of our time, as 2026-11-24."""

    def to_internal_value(self, value: Any) -> date:
        day = super().to_internal_value(value)
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValidationError(f"The year must be between {FIRST_YEAR} and {LAST_YEAR}.")
        return day


class Moment(serializers.DateTimeField):
    """An instant of our time, with its offset: 2026-11-24T09:30:00Z."""

    def to_internal_value(self, value: Any) -> datetime:
        moment: datetime = super().to_internal_value(value)
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise ValidationError(f"The year must be between {FIRST_YEAR} and {LAST_YEAR}.")
        return moment


class Whole(serializers.IntegerField):
    """A whole number that its column can hold: DRF's own field lets 2^63 through."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_value": LARGEST, "min_value": -LARGEST} | kwargs)


class Key(serializers.UUIDField):
    """The key of a row, as text."""


def rows(view: APIView, model: Any) -> QuerySet[Any]:
    """The rows of `model` that this person may see: the one door to them."""
    return model.objects.visible_to(view.request.user)  # type: ignore[no-any-return]


class UnknownRow(ValidationError):
    """A body names rows that are not there, or not for this person: well formed, and told apart by its type."""

    problem_type = "urn:problem:rows:unknown"


def one(view: APIView, model: type[models.Model], pk: UUID, field: str) -> Any:
    """The row that a body names, if this person may see it; else ValidationError beside `field`, there or not."""
    return some(view, model, [pk], field)[0]


def some(view: APIView, model: type[models.Model], keys: list[UUID], field: str) -> list[Any]:
    """The rows that a body names, if this person may see all of them. Raises ValidationError as `one` does."""
    found = list(rows(view, model).filter(pk__in=keys))
    if len(found) != len(set(keys)):
        raise UnknownRow({field: ["There is no such row."]})
    return found


def colleague(key: UUID | None, field: str) -> Any:
    """The person of the firm with this key, None for none. Raises ValidationError beside `field` for somebody unknown."""
    found = User.objects.filter(pk=key).first() if key else None
    if key and found is None:
        raise UnknownRow({field: ["There is no such person."]})
    return found


class Act(Door):
    """A verb: POST to its address calls one operation. `serializer_class` reads the body, `answers` shows the result.

    A refusal of the operation is a problem document: 403 not allowed, 409 refused, 412 changed meanwhile. `versioned`: the
    verb decides on what somebody saw; its operation takes the `version` that If-Match names.
    """

    model: ClassVar[type[models.Model]]
    answers: ClassVar[type[serializers.Serializer]]
    status: ClassVar[int] = 200
    versioned: ClassVar[bool] = False
    seen: int | None = None

    def thing(self) -> Any:
        """The row that the address names, as far as this person sees it; 404 otherwise."""
        return get_object_or_404(rows(self, self.model), pk=self.kwargs["pk"])

    def do(self, thing: Any, given: dict[str, Any]) -> models.Model:
        """Call the operation on `thing` with what was given; the row to show."""
        raise NotImplementedError

    @property
    def doing(self) -> dict[str, Any]:
        """Who acts and when, and on which version, for the operation."""
        acting = {"by": self.request.user, "now": self.request.now}  # type: ignore[attr-defined]
        return acting | ({"version": self.seen} if self.versioned else {})

    def post(self, request: Request, **kwargs: Any) -> Response:
        """Do it. Whoever may not see the thing hears so first, whatever the body says."""
        thing = self.thing()
        must_have_key(request)
        if self.versioned:
            self.seen = version_meant(request, thing)
        body = self.get_serializer(data=request.data)
        as_described(body, request.data, of_json=not isinstance(request.data, QueryDict))
        body.is_valid(raise_exception=True)
        return Response(self.answers(self.do(thing, body.validated_data)).data, status=self.status)


def verb(answers: type[serializers.Serializer], *, summary: str, status: int = 200) -> Callable[[type[Act]], Any]:
    """Says what a verb answers, to the view and in the schema alike."""

    def set_on(view: type[Act]) -> Any:
        view.answers, view.status = answers, status
        asked = [KEY_HEADER, MATCH_HEADER] if view.versioned else [KEY_HEADER]
        responses = {(status, "application/json"): answers}
        return extend_schema_view(post=extend_schema(summary=summary, parameters=asked, responses=responses))(view)

    return set_on
