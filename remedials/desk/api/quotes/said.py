"""What customers said to quotes and asked about them, to read."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.people.rights import Right
from remedials.desk.api.quotes.money import NET, WITH_VAT, InPounds, Pounds
from remedials.desk.api.reading import YES_OR_NO, List, One
from remedials.quotes.models import Answer, LineAnswer, Question, Remark


class SaidShown(serializers.ModelSerializer):
    """What an answer says to one line; `stands` is false once it was taken back."""

    class Meta:
        model = LineAnswer
        fields = ["line", "says", "why_not", "words", "stands"]


class GivenShown(InPounds, serializers.ModelSerializer):
    """What somebody said at one time to lines of a version. Sums are those of the lines accepted in it.

    `recorded_by` is null where it came on the customer's own link.
    """

    lines = SaidShown(many=True, read_only=True)
    net, to_pay = Pounds(help_text=NET), Pounds(help_text=WITH_VAT)
    vat = Pounds(help_text="Pounds: the VAT on the net sum.")

    class Meta:
        model = Answer
        fields = [
            "id", "offer", "party", "name", "how", "given_at", "recorded_at", "recorded_by", "order_number", "note",
            "begin_at_once", "fingerprint", "net", "vat", "to_pay", "currency", "taken_back_at", "taken_back_by",
            "taken_back_why", "lines",
        ]  # fmt: skip


class AnswerFilter(FilterSet):
    offer = django_filters.UUIDFilter(field_name="offer_id")
    quote = django_filters.UUIDFilter(field_name="offer__quote_id")
    party = django_filters.UUIDFilter(field_name="party_id")
    stands = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_standing", label="not taken back")

    def by_standing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(taken_back_at__isnull=value == "true")


GIVEN = Answer.objects.prefetch_related("lines")


@extend_schema_view(get=extend_schema(summary="Answers to quotes, in the order in which they were recorded."))
class Answers(List):
    right = Right.PRICE
    queryset = GIVEN
    serializer_class = GivenShown
    filterset_class = AnswerFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One answer to a quote."))
class OneAnswer(One):
    right = Right.PRICE
    queryset = GIVEN
    serializer_class = GivenShown


class RemarkShown(serializers.ModelSerializer):
    """One thing said in the thread; `by` is null where the customer said it."""

    class Meta:
        model = Remark
        fields = ["id", "text", "name", "by", "at"]


class QuestionShown(serializers.ModelSerializer):
    """A question about a quote with its thread: open while the customer had the last word. `line_key` null: the whole."""

    remarks = RemarkShown(many=True, read_only=True)

    class Meta:
        model = Question
        fields = [
            "id", "quote", "line_key", "owner", "reply_by", "open", "asked_at", "closed_why", "closed_by", "closed_at",
            "remarks",
        ]  # fmt: skip


class QuestionFilter(FilterSet):
    quote = django_filters.UUIDFilter(field_name="quote_id")
    owner = django_filters.UUIDFilter(field_name="owner_id")
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="somebody owes a reply")

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(open=value == "true")


QUESTIONS = Question.objects.prefetch_related("remarks")


@extend_schema_view(get=extend_schema(summary="Questions about quotes, in the order in which they were asked."))
class Questions(List):
    right = Right.PRICE
    queryset = QUESTIONS
    serializer_class = QuestionShown
    filterset_class = QuestionFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One question with its thread."))
class OneQuestion(One):
    right = Right.PRICE
    queryset = QUESTIONS
    serializer_class = QuestionShown
