"""Instruments that were found wrong: what they have shown since they were last right, and what becomes of each reading."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import Reading
from jobsite.api.examples import key
from jobsite.people.models import InstrumentFault
from jobsite.people.rights import Right
from remedials.desk.api.ground import Act, Key, Text, UnknownRow, verb
from remedials.desk.api.inspections.readings import ReadingShown
from remedials.desk.api.reading import List, OfTheFirm, One
from remedials.works import operations
from remedials.works.models import RecallDecision
from remedials.works.queries.recalls import STATES, doubtful, with_work

CHOICES = [(state, words) for state, words in STATES.items() if state]


class RecallShown(serializers.ModelSerializer):
    """That an instrument was found to measure wrongly: what it showed from `last_good_on` on is doubtful."""

    class Meta:
        model = InstrumentFault
        fields = ["id", "instrument", "last_good_on", "found_on", "what", "recorded_by", "recorded_at"]


class RecallFilter(FilterSet):
    instrument = django_filters.UUIDFilter(field_name="instrument_id")


class Found(OfTheFirm):
    """Instruments are the firm's: whoever reviews proof sees what was found wrong with any."""

    right = Right.REVIEW_PROOF
    queryset: QuerySet[Any] = InstrumentFault.objects.all()
    serializer_class: Any = RecallShown


@extend_schema_view(get=extend_schema(summary="Instruments found wrong, in the order in which it was recorded."))
class Recalls(Found, List):
    """The readings that each makes doubtful are at `readings/` below it."""

    filterset_class = RecallFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One instrument found wrong."))
class OneRecall(Found, One):
    """What was found, when, and since when it may be."""


# --- the readings that it makes doubtful ------------------------------------------------------------------------------


class DecisionShown(serializers.ModelSerializer):
    """What was decided of a doubtful reading; `replaced_at`: from when it no longer stood."""

    class Meta:
        model = RecallDecision
        fields = ["id", "fault", "reading", "decision", "reason", "by", "at", "replaced_at"]


class DoubtfulShown(ReadingShown):
    """A doubtful reading, the closed remedials that it proved, and what was decided of it, what stands first.

    `answered_by`: the reading that answers it, once it was taken again.
    """

    proved = serializers.SerializerMethodField()
    decisions = serializers.SerializerMethodField()
    answered_by = serializers.UUIDField(source="read_again", read_only=True, allow_null=True)

    class Meta(ReadingShown.Meta):
        fields = [*ReadingShown.Meta.fields, "proved", "decisions", "answered_by"]

    def get_proved(self, reading: Any) -> list[str]:
        """Keys of the remedials that were closed with it."""
        return list(dict.fromkeys(str(proof.remedial_id) for proof in reading.proving))

    @extend_schema_field(DecisionShown(many=True))
    def get_decisions(self, reading: Any) -> Any:
        """Those about this finding; another finding has its own."""
        made = [one for one in reading.made if one.fault_id == self.context["view"].fault.pk]
        return DecisionShown(made, many=True).data


class DoubtfulFilter(FilterSet):
    state = django_filters.ChoiceFilter(choices=CHOICES, method="by_state", label="what is still to be done about it")

    def by_state(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows  # the view has asked for these only; here the word is checked


@extend_schema_view(get=extend_schema(summary="The readings that one finding makes doubtful."))
class DoubtfulReadings(Found, List):
    """At sites that you see, in the order in which they were kept."""

    serializer_class = DoubtfulShown
    filterset_class = DoubtfulFilter
    ordering = "id"

    def get_queryset(self) -> QuerySet[Any]:
        """Of the finding that the address names."""
        if getattr(self, "swagger_fake_view", False):
            return Reading.objects.none()
        state = self.request.query_params.get("state", "")
        return with_work(doubtful(self.fault, self.request.user, state=state))  # type: ignore[arg-type]

    def get(self, request: Request, **kwargs: Any) -> Response:
        """The list."""
        self.fault = get_object_or_404(InstrumentFault, pk=kwargs["pk"])
        return self.list(request)


class RecallDecided(serializers.Serializer):
    """What becomes of one reading, and why. `id` is made by the sender: the same again decides nothing twice.

    `again`: it is read again, and what it proved is opened again; `kept` needs what shows that it is right all the same.
    `seen`: the decision that stood when this one was made, null for none.
    """

    id = Key()
    reading = Key()
    decision = serializers.ChoiceField(choices=RecallDecision.Decision.choices)
    reason = Text()
    seen = Key(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "reading": key("reading"), "decision": "again", "reason": "Its leads were broken"}


@verb(DecisionShown, status=201, summary="Decide whether a doubtful reading is read again or kept.")
class DecideRecall(Act):
    """Read again: the remedials that it proved are opened again. Kept: a qualified person answers for it."""

    model = InstrumentFault
    right = Right.REVIEW_PROOF
    serializer_class = RecallDecided

    def thing(self) -> Any:
        """The finding; it is the firm's, whichever sites one sees."""
        return get_object_or_404(InstrumentFault, pk=self.kwargs["pk"])

    def do(self, thing: InstrumentFault, given: dict[str, Any]) -> RecallDecision:
        reading = doubtful(thing, self.request.user).filter(pk=given.pop("reading")).first()  # type: ignore[arg-type]
        if reading is None:
            raise UnknownRow({"reading": ["This finding makes no such reading doubtful."]})
        return operations.decide_recall(thing, reading, **given, **self.doing)
