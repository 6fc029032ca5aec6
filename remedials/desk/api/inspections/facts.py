"""Published facts and how sure they are: to read, to correct, to put back."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inspections import operations
from inspections.models import FactCorrection
from inspections.queries.facts import CORRECTED, UNSURE, corrections_on, fact_groups, fact_row, facts_from
from inspections.standards.registry import FACTS, GROUPS
from jobsite import clock
from jobsite.api.examples import key
from jobsite.people.rights import Right
from remedials.desk.api.ground import Act, Day, Door, Key, Text, verb
from remedials.desk.api.reading import List, One, Rows

ONLY = (UNSURE, CORRECTED)
LONGEST_WORDS = 100
HEAD_OF = {fact.key: head for head, facts in GROUPS.items() for fact in facts}
FACT_PARAMETER = OpenApiParameter(
    "key", str, OpenApiParameter.PATH, description="The key of a fact, such as insulation.to-500-v."
)


class FactShown(serializers.Serializer):
    """A published fact as it is used today: its value in words, where that is from, and how sure it is.

    `was`: the program's own value where the firm corrected it. `editions`: those that it belongs to, "" for all.
    """

    key = serializers.CharField()
    head = serializers.CharField(help_text="What it stands under.")
    title = serializers.CharField()
    shown = serializers.CharField()
    source: Any = serializers.CharField()
    sure = serializers.CharField()
    unsure = serializers.BooleanField(help_text="To be looked up before anybody relies on it.")
    corrected = serializers.BooleanField()
    was = serializers.CharField()
    by = serializers.CharField(help_text="Who corrected it, and from which day on.")
    editions = serializers.CharField()


class FactList(serializers.Serializer):
    """All facts that are asked for, in the order of the page."""

    results = FactShown(many=True)


@extend_schema_view(
    get=extend_schema(
        operation_id="facts_list",
        summary="Published facts as they are used today, under their heads; all in one answer.",
        parameters=[
            OpenApiParameter("q", str, description="Words of title, key or source."),
            OpenApiParameter(
                "only", str, enum=list(ONLY), description="Those to look up, or those the firm corrected."
            ),
        ],
        responses={(200, "application/json"): FactList},
    )
)
class Facts(Door):
    serializer_class = FactList
    pagination_class = None

    def get(self, request: Request) -> Response:
        """The list."""
        query = request.query_params
        unknown = {name: ["There is no such filter."] for name in sorted(set(query) - {"q", "only"})}
        only = query.get("only", "")
        unknown |= {} if "only" not in query or only in ONLY else {"only": [f"One of {', '.join(ONLY)}."]}
        if unknown:
            raise ValidationError(unknown)
        today = clock.local_day(request.now)  # type: ignore[attr-defined]
        groups = fact_groups(today, text=query.get("q", "")[:LONGEST_WORDS], only=only)
        found = [row | {"head": group["head"]} for group in groups for row in group["rows"]]
        return Response(FactList({"results": found}).data)


def _fact(name: str) -> Any:
    if name not in FACTS:
        raise Http404
    return FACTS[name]


@extend_schema_view(
    get=extend_schema(
        summary="One published fact as it is used today.",
        parameters=[FACT_PARAMETER],
        responses={(200, "application/json"): FactShown},
    )
)
class OneFact(Door):
    serializer_class = FactShown

    def get(self, request: Request, **kwargs: Any) -> Response:
        """The fact."""
        found = _fact(kwargs["key"])
        rows = corrections_on(clock.local_day(request.now))  # type: ignore[attr-defined]
        return Response(
            FactShown(fact_row(found, facts_from(rows), rows.get(found.key)) | {"head": HEAD_OF[found.key]}).data
        )


# --- what was corrected -----------------------------------------------------------------------------------------------


class CorrectionShown(serializers.ModelSerializer):
    """What a qualified person put in the place of a fact from a day on; an empty `value` puts the shipped one back."""

    class Meta:
        model = FactCorrection
        fields = ["id", "fact", "value", "source", "reason", "holds_from", "by", "at"]


class CorrectionFilter(FilterSet):
    fact = django_filters.CharFilter(field_name="fact")


class _Firms(Rows):
    """Rows of the firm as a whole: whoever may see work sees all of them."""

    queryset = FactCorrection.objects.all()

    def get_queryset(self) -> QuerySet[Any]:
        """All of them."""
        return self.queryset.all()


@extend_schema_view(get=extend_schema(summary="What was corrected of published facts, in the order in which it was."))
class Corrections(_Firms, List):
    serializer_class = CorrectionShown
    filterset_class = CorrectionFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One correction of a published fact."))
class OneCorrection(_Firms, One):
    serializer_class = CorrectionShown


# --- what may be done -------------------------------------------------------------------------------------------------


class FactAct(Act):
    """A verb on one fact, by its key."""

    right = Right.REVIEW_CODES
    model = FactCorrection

    def thing(self) -> str:
        """The key of the fact that the address names; 404 for none."""
        return str(_fact(self.kwargs["key"]).key)


class FactCorrected(serializers.Serializer):
    """What a qualified person looked up. `id` is made by the sender: the same again makes no second."""

    id = Key()
    value = Text(help_text='As the fact has it: a number in its unit, "yes" or "no", or a day as 2026-04-15.')
    source: Any = Text(help_text="The standard with edition and table, the regulation, or the maker.")
    reason = Text()
    holds_from = Day(help_text="What was judged before keeps its limit.")

    example = {
        "id": key("new"),
        "value": "2.0",
        "source": "The standard, edition and table",
        "reason": "Looked up",
        "holds_from": "2026-02-03",
    }


@verb(CorrectionShown, status=201, summary="Put what was looked up in the place of a fact.")
class CorrectFact(FactAct):
    serializer_class = FactCorrected

    def do(self, thing: str, given: dict[str, Any]) -> FactCorrection:
        return operations.correct_fact(thing, **given, **self.doing)


class FactPutBack(serializers.Serializer):
    """That a fact is used again as the program has it. `id` is made by the sender."""

    id = Key()
    reason = Text()
    holds_from = Day()

    example = {"id": key("new"), "reason": "The table was misread", "holds_from": "2026-02-03"}


@verb(CorrectionShown, status=201, summary="Use a fact again as the program has it.")
class PutBackFact(FactAct):
    serializer_class = FactPutBack

    def do(self, thing: str, given: dict[str, Any]) -> FactCorrection:
        return operations.put_back_fact(thing, **given, **self.doing)
