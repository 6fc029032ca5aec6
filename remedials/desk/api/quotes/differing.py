"""What changed between two versions of a quote."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.people.rights import Right
from remedials.desk.api.ground import LARGEST, UnknownRow
from remedials.desk.api.reading import Rows, only_asked
from remedials.quotes.models import Quote
from remedials.quotes.queries.differing import differences
from remedials.quotes.rules.differences import What

NUMBER = {"type": "integer", "minimum": 1, "maximum": LARGEST}
KINDS = [(what.value, what.name.lower().replace("_", " ")) for what in What]
LONGEST = 10


class ChangeShown(serializers.Serializer):
    """One particular, what it was and what it is, in words."""

    field: Any = serializers.CharField()
    old = serializers.CharField()
    new = serializers.CharField()


class ChangedShown(serializers.Serializer):
    """What became of one line, or of the quote itself, which has no `key`. A line that was changed and moved has two."""

    kind = serializers.ChoiceField(KINDS)
    key = serializers.UUIDField(allow_null=True, help_text="The same line in every version.")
    name = serializers.CharField(help_text="The words of the line.")
    changes = ChangeShown(many=True)


class DifferenceShown(serializers.Serializer):
    """What changed from one version to another, by their numbers. Of a draft, what it would say now."""

    numbers: Any = serializers.ListField(child=serializers.IntegerField(), help_text="Of all versions that there are.")
    old = serializers.IntegerField()
    new = serializers.IntegerField()
    changed = ChangedShown(many=True)


@extend_schema_view(
    get=extend_schema(
        summary="What changed between two versions of a quote, line by line.",
        parameters=[
            OpenApiParameter("old", NUMBER, description="The number of a version; left out: the one before `new`."),
            OpenApiParameter("new", NUMBER, description="The number of a version; left out: the last."),
        ],
    )
)
class Difference(Rows):
    right = Right.PRICE
    queryset = Quote.objects.all()
    serializer_class = DifferenceShown
    filter_backends = ()
    lookup_field = "pk"

    def get(self, request: Request, **kwargs: Any) -> Response:
        """From the earlier version to the later one."""
        quote = self.get_object()
        only_asked(request, "old", "new")
        numbers = {str(number) for number in quote.offers.values_list("number", flat=True)}
        old, new = self._number("old", numbers), self._number("new", numbers)
        found = differences(quote, old, new, now=request.now)  # type: ignore[attr-defined]
        changed = [row | {"key": row["key"] or None} for row in found["rows"]]
        return Response(self.get_serializer({**found, "changed": changed}).data)

    def _number(self, name: str, numbers: set[str]) -> str:
        """The number under `name`, "" for none. Raises ValidationError for what is none, UnknownRow for one of no version."""
        sent = self.request.query_params.get(name, "")
        if sent and not (sent.isascii() and sent.isdigit() and len(sent) <= LONGEST and int(sent) > 0):
            raise ValidationError({name: ["Send the number of a version."]})
        if sent and sent not in numbers:
            raise UnknownRow({name: ["There is no such version."]})
        return sent
