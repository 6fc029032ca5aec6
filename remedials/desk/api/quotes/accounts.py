"""For the firm's accounts, by period: the lines that were accepted, their sums, and the figures of quotes."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite import clock
from jobsite.api.keyset import ForwardPages
from jobsite.people.rights import Right
from remedials.desk.api.ground import Door, Marked
from remedials.desk.api.quotes.money import NET, WITH_VAT, InPounds, Pounds
from remedials.desk.api.reading import only_asked
from remedials.desk.api.status.figures import PERIOD, FiguresShown, shown_table
from remedials.desk.figures.queries.quoting import as_ours
from remedials.quotes.choices import AnsweredHow, Certainty
from remedials.quotes.forms.lists import PeriodForm
from remedials.quotes.models import LineAnswer
from remedials.quotes.queries import accepted as accounts
from remedials.quotes.queries import figures as counting

RATE = "Of VAT, in per cent."


def period(request: Request) -> tuple[date, date]:
    """The first and the last day that the query asks for. Raises ValidationError for what is no day."""
    today = clock.local_day(request.now)  # type: ignore[attr-defined]
    form = PeriodForm(request.query_params, today=today)  # type: ignore[arg-type]
    if not form.is_valid():
        errors = {name: [str(word) for word in words] for name, words in form.errors.items()}
        raise serializers.ValidationError(errors)
    return form.period()


# --- lines ------------------------------------------------------------------------------------------------------------


class AcceptedLineShown(InPounds, serializers.Serializer):
    """A line that was accepted, with the answer that did it; what was taken back is left out. No invoice."""

    line: Any = serializers.UUIDField(source="line_id")
    answer: Any = serializers.UUIDField(source="answer_id")
    quote: Any = serializers.UUIDField(source="line.offer.quote_id")
    quote_number: Any = serializers.IntegerField(source="line.offer.quote.number")
    version: Any = serializers.IntegerField(source="line.offer.number", help_text="Which version of the quote it was.")
    party: Any = serializers.UUIDField(source="line.offer.quote.party_id")
    given_at: Any = serializers.DateTimeField(source="answer.given_at")
    name: Any = serializers.CharField(source="answer.name", help_text="Who said yes.")
    how: Any = serializers.ChoiceField(AnsweredHow.choices, source="answer.how")
    order_number: Any = serializers.CharField(source="answer.order_number")
    site = serializers.SerializerMethodField()
    words: Any = serializers.CharField(source="line.words")
    price = Pounds(source="line.price", help_text=NET)
    rate: Any = serializers.DecimalField(source="line.rate", max_digits=5, decimal_places=2, help_text=RATE)
    vat = Pounds(source="charged", help_text="Pounds: the VAT that we charge; none under the reverse charge.")
    to_pay = Pounds(source="pays", help_text=WITH_VAT)
    reverse_charge_vat = Pounds(source="reverse", help_text="Pounds: the VAT that the customer accounts for.")
    reverse_charge: Any = serializers.BooleanField(source="line.offer.reverse_charge")
    certainty: Any = serializers.ChoiceField(Certainty.choices, source="line.certainty")

    def get_site(self, row: Any) -> str:
        """Where the work is, by name."""
        return accounts.site_of(row)


class Accounts(Door):
    """The lines that were accepted in a period."""

    right = Right.PRICE
    queryset = LineAnswer.objects.all()
    serializer_class: Any = AcceptedLineShown
    filter_backends = ()

    def accepted(self) -> "QuerySet[LineAnswer, Any]":
        """Those of quotes that this person sees."""
        return accounts.accepted_lines(self.request.user, *period(self.request))  # type: ignore[arg-type]


@extend_schema_view(
    get=extend_schema(
        summary="Lines of quotes that were accepted in a period, the earliest yes first.", parameters=PERIOD
    )
)
class AcceptedLines(ListModelMixin, Accounts):
    pagination_class = ForwardPages
    order = accounts.ORDER

    def get(self, request: Request) -> Response:
        """One page of them."""
        only_asked(request, "since", "until", "cursor", "page_size")
        page = self.paginate_queryset(self.accepted()) or []
        return self.get_paginated_response(self.get_serializer(page, many=True).data)


class AcceptedSumShown(serializers.Serializer):
    """The lines of one rate of VAT, added up."""

    rate = serializers.DecimalField(max_digits=5, decimal_places=2, help_text=RATE)
    reverse_charge = serializers.BooleanField()
    lines: Any = serializers.IntegerField(source="n", help_text="How many.")
    net = Pounds(help_text=NET)
    vat = Pounds(help_text="Pounds: the VAT that we charge.")
    to_pay = Pounds(help_text=WITH_VAT)
    reverse_charge_vat = Pounds(source="rev", help_text="Pounds: the VAT that customers account for.")


class AcceptedSumsShown(InPounds, serializers.Serializer):
    """What was accepted in a period, by rate of VAT and together."""

    rates = AcceptedSumShown(many=True)
    lines = serializers.IntegerField(help_text="How many.")
    net = Pounds(help_text=NET)
    to_pay = Pounds(help_text=WITH_VAT)


@extend_schema_view(
    get=extend_schema(summary="What was accepted in a period, added up by rate of VAT.", parameters=PERIOD)
)
class AcceptedSums(Accounts):
    serializer_class = AcceptedSumsShown

    def get(self, request: Request) -> Response:
        """The sums of the lines that the list has."""
        only_asked(request, "since", "until")
        rates = accounts.sums_by_rate(self.accepted())
        whole = {name: sum((row[name] for row in rates), Decimal(0)) for name in ("net", "to_pay")}
        return Response(self.get_serializer({"rates": rates, "lines": sum(row["n"] for row in rates)} | whole).data)


# --- figures ----------------------------------------------------------------------------------------------------------


@extend_schema_view(
    get=extend_schema(
        summary="What is outstanding, what was accepted and refused and why, and how long answers take.",
        parameters=PERIOD,
        responses={200: FiguresShown},
    )
)
class QuoteFigures(Marked):
    """Of quotes sent in the period, but for what is outstanding: that is of today."""

    right = Right.PRICE

    def get(self, request: Request) -> Response:
        """The tables of the page of quotes."""
        only_asked(request, "since", "until")
        today = clock.local_day(request.now)  # type: ignore[attr-defined]
        tables = counting.figures(request.user, *period(request), today=today)  # type: ignore[arg-type]
        shown = [shown_table(as_ours(table)) for table in tables]
        return Response(
            FiguresShown({"counted": "All quotes.", "caution": "", "currency": "GBP", "tables": shown}).data
        )
