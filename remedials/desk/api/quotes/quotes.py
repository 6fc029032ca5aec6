"""Quotes to read, for those who see prices: what was offered in each version, and what was said to it."""

from typing import Any

import django_filters
from django.db.models import Prefetch, QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.people.rights import Right
from remedials.desk.api.reading import List, One
from remedials.quotes.models import Line, LineAnswer, Offer, Quote
from remedials.quotes.states import WORDS

STATES = [(state.value, words) for state, words in WORDS.items()]


class Pounds(serializers.DecimalField):
    """A sum in pounds, as text to the penny."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"max_digits": 14, "decimal_places": 2, "read_only": True} | kwargs)


class AnswerShown(serializers.ModelSerializer):
    """What was said to a line, by whom, when and how. "not-chosen": another that excludes it was."""

    given_at: Any = serializers.DateTimeField(source="answer.given_at", read_only=True)
    name: Any = serializers.CharField(source="answer.name", read_only=True)
    how: Any = serializers.CharField(source="answer.how", read_only=True)
    order_number: Any = serializers.CharField(source="answer.order_number", read_only=True)

    class Meta:
        model = LineAnswer
        fields = ["says", "why_not", "words", "given_at", "name", "how", "order_number"]


class QuoteLineShown(serializers.ModelSerializer):
    """A line; `key` is the same in every version. Pounds net; under the reverse charge the VAT is the customer's to pay over.

    `answers` has the one that stands, or none.
    """

    remedials: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    answers = AnswerShown(many=True, read_only=True)

    class Meta:
        model = Line
        fields = [
            "id", "key", "position", "kind", "site", "remedials", "words", "danger", "code", "price", "rate", "vat",
            "certainty", "optional", "either", "needs", "answers",
        ]  # fmt: skip


class OfferShown(serializers.ModelSerializer):
    """A version. `net` and `to_pay` are of all of it; of lines that exclude each other the dearest is counted."""

    net, to_pay = Pounds(), Pounds()
    state = serializers.ChoiceField(choices=STATES, read_only=True)

    class Meta:
        model = Offer
        fields = [
            "id", "number", "state", "consumer", "reverse_charge", "valid_until", "sent_at", "sent_how", "ended_at",
            "end_reason", "fingerprint", "net", "to_pay", "version",
        ]  # fmt: skip


class WholeOfferShown(OfferShown):
    """A version with its lines."""

    lines = QuoteLineShown(many=True, read_only=True)

    class Meta(OfferShown.Meta):
        fields = [*OfferShown.Meta.fields, "lines"]


class QuoteShown(serializers.ModelSerializer):
    """A quote with its versions, the first one first; a sent version never changes."""

    sites: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    offers: Any = OfferShown(many=True, read_only=True)

    class Meta:
        model = Quote
        fields = [
            "id", "number", "party", "sites", "name", "owner", "chase_on", "variation_of", "variation_why", "made_at",
            "offers",
        ]  # fmt: skip


class WholeQuoteShown(QuoteShown):
    """A quote with its versions and their lines."""

    offers: Any = WholeOfferShown(many=True, read_only=True)


class QuoteFilter(FilterSet):
    party = django_filters.UUIDFilter(field_name="party_id")
    site = django_filters.UUIDFilter(method="by_site", label="a site that it offers work at")
    remedial = django_filters.UUIDFilter(method="by_remedial", label="a remedial that a version offers")
    state = django_filters.MultipleChoiceFilter(
        choices=STATES, method="by_state", label="state of the version that counts"
    )

    def by_site(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(at_sites__site=value)

    def by_remedial(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(pk__in=Offer.objects.filter(lines__remedials=value).values("quote"))

    def by_state(self, rows: QuerySet[Any], name: str, value: list[str]) -> QuerySet[Any]:
        return rows.filter(pk__in=Offer.objects.current().filter(state__in=value).values("quote")) if value else rows


OFFERS: Any = Offer.objects.with_sums()
ANSWERS = LineAnswer.objects.filter(stands=True).select_related("answer")
LINES = Line.objects.order_by("position").prefetch_related("remedials", Prefetch("answers", ANSWERS))
QUOTES = Quote.objects.prefetch_related("sites", Prefetch("offers", OFFERS.order_by("number")))
WHOLE = Quote.objects.prefetch_related(
    "sites", Prefetch("offers", OFFERS.order_by("number").prefetch_related(Prefetch("lines", LINES)))
)


@extend_schema_view(get=extend_schema(summary="Quotes, in the order of their numbers, without their lines."))
class Quotes(List):
    right = Right.PRICE
    queryset = QUOTES
    serializer_class = QuoteShown
    filterset_class = QuoteFilter


@extend_schema_view(get=extend_schema(summary="One quote, with the lines of its versions and what was said to them."))
class OneQuote(One):
    right = Right.PRICE
    queryset = WHOLE
    serializer_class = WholeQuoteShown
