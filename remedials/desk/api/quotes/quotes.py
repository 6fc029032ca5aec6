"""Quotes to read, for those who see prices: what was offered in each version, and what was said to it."""

from typing import Any

import django_filters
from django.db.models import Prefetch, QuerySet
from django.http import HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.downloads import as_pdf
from jobsite.ledger.files import read_file
from jobsite.people.rights import Right
from remedials.desk.api.files import PDF, File, file
from remedials.desk.api.quotes.money import NET, WITH_VAT, InPounds, Pounds
from remedials.desk.api.reading import YES_OR_NO, List, One
from remedials.quotes.models import Line, LineAnswer, Offer, Quote
from remedials.quotes.operations.mailing import document_name
from remedials.quotes.queries.sending import preview
from remedials.quotes.states import WORDS

STATES = [(state.value, words) for state, words in WORDS.items()]


class AnswerShown(serializers.ModelSerializer):
    """What was said to a line, by whom, when and how. "not-chosen": another that excludes it was."""

    given_at: Any = serializers.DateTimeField(source="answer.given_at", read_only=True)
    name: Any = serializers.CharField(source="answer.name", read_only=True)
    how: Any = serializers.CharField(source="answer.how", read_only=True)
    order_number: Any = serializers.CharField(source="answer.order_number", read_only=True)

    class Meta:
        model = LineAnswer
        fields = ["says", "why_not", "words", "given_at", "name", "how", "order_number"]


class QuoteLineShown(InPounds, serializers.ModelSerializer):
    """A line; `key` is the same in every version. Pounds net; under the reverse charge the VAT is the customer's to pay over.

    `answers` has the one that stands, or none.
    """

    remedials: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    answers = AnswerShown(many=True, read_only=True)
    price = Pounds(help_text=NET)
    vat = Pounds(help_text="Pounds: the VAT on the price.")

    class Meta:
        model = Line
        fields = [
            "id", "key", "position", "kind", "site", "remedials", "words", "danger", "code", "price", "treatment",
            "rate", "vat", "currency", "certainty", "optional", "either", "needs", "visits", "answers",
        ]  # fmt: skip


class OneLineShown(QuoteLineShown):
    """A line by itself, with what it costs the firm, for the office only. `version` is that of its offer."""

    cost = Pounds(help_text=NET)
    version = serializers.IntegerField(read_only=True)

    class Meta(QuoteLineShown.Meta):
        fields = [*QuoteLineShown.Meta.fields, "offer", "cost", "version"]


class OfferShown(InPounds, serializers.ModelSerializer):
    """A version. `net` and `to_pay` are of all of it; of lines that exclude each other the dearest is counted."""

    net, to_pay = Pounds(help_text=NET), Pounds(help_text=WITH_VAT)
    state = serializers.ChoiceField(choices=STATES, read_only=True)

    class Meta:
        model = Offer
        fields = [
            "id", "quote", "number", "state", "consumer", "reverse_charge", "vat_registered", "customer_vat_number",
            "cis_reportable", "end_user", "text_before", "text_after", "valid_until", "work_until", "sent_at", "sent_how",
            "sent_to", "ended_at", "end_reason", "fingerprint", "net", "to_pay", "currency", "version",
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


# --- versions and their lines -----------------------------------------------------------------------------------------


class OfferFilter(FilterSet):
    quote = django_filters.UUIDFilter(field_name="quote_id")
    state = django_filters.MultipleChoiceFilter(choices=STATES)
    current = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_current", label="the version that counts")

    def by_current(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        current = Offer.objects.current().values("pk")
        return rows.filter(pk__in=current) if value == "true" else rows.exclude(pk__in=current)


class LineFilter(FilterSet):
    offer = django_filters.UUIDFilter(field_name="offer_id")
    quote = django_filters.UUIDFilter(field_name="offer__quote_id")
    remedial = django_filters.UUIDFilter(field_name="remedials", distinct=True)
    key = django_filters.UUIDFilter(field_name="key", label="the same line in every version")


WHOLE_OFFERS: Any = OFFERS.prefetch_related(Prefetch("lines", LINES))
ONE_LINES = Line.objects.select_related("offer").prefetch_related("remedials", Prefetch("answers", ANSWERS))


@extend_schema_view(get=extend_schema(summary="Versions of quotes, in the order in which they were begun."))
class Offers(List):
    right = Right.PRICE
    queryset = OFFERS
    serializer_class = OfferShown
    filterset_class = OfferFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One version of a quote, with its lines."))
class OneOffer(One):
    right = Right.PRICE
    queryset = WHOLE_OFFERS
    serializer_class = WholeOfferShown


@file(PDF, summary="The document of a version: as it was kept when it was sent, of a draft as it would be sent.")
class OfferDocument(File):
    right = Right.PRICE
    queryset = Offer.objects.select_related("quote__party", "quote__variation_of", "file")

    def answer(self, row: Offer) -> HttpResponse:
        """Raises Refused for a draft that cannot be sent yet."""
        name = document_name(row).removesuffix(".pdf")
        if row.file is not None:
            return as_pdf(read_file(row.file), name)
        return as_pdf(preview(row, now=self.request.now).pdf, f"draft-of-{name}")  # type: ignore[attr-defined]


@extend_schema_view(get=extend_schema(summary="Lines of quotes, in the order in which they were written."))
class Lines(List):
    right = Right.PRICE
    queryset = ONE_LINES
    serializer_class = OneLineShown
    filterset_class = LineFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One line of a quote. Its ETag is that of its version."))
class OneLine(One):
    right = Right.PRICE
    queryset = ONE_LINES
    serializer_class = OneLineShown
