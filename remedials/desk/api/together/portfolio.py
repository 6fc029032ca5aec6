"""All units of a customer as the customer reads of them: each with how it stands, the whole in short, documents."""

from typing import Any

from django.core.exceptions import BadRequest
from django.http import Http404, HttpResponse
from django.http.response import HttpResponseBase
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.api.keyset import ForwardPages
from jobsite.api.patterns import NOT_BLANK
from jobsite.paging import Slice
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from remedials.desk.api.files import PDF, File, file
from remedials.desk.api.reading import Rows, only_asked
from remedials.status.facts import Scope
from remedials.status.portfolio import queries
from remedials.status.portfolio.forms import ACCESS, DANGER, DATES, NarrowForm
from remedials.status.portfolio.no_access import no_access_document
from remedials.status.portfolio.summary import summary, summary_document
from remedials.status.proof.making import NoSuchDocument, document_for, year_for
from remedials.status.proof.views import handed_out

LONGEST = 200
DAMAGED = "The list has changed, or this page of it is none of ours: begin it again."
LEVELS = [
    ("danger-now", "a C1 that is not recorded as made safe"),
    ("uncoded", "reported, and nobody competent has looked at it"),
    ("made-safe", "a C1 that was made safe for now"),
    ("dangerous", "a C2"),
    ("investigate", "an FI"),
    ("never", "no inspection on record"),
    ("overdue", "the next inspection is past its date"),
    ("improve", "nothing but C3"),
    ("clear", "nothing of these"),
]


class PortfolioUnitShown(serializers.Serializer):
    """A unit of the customer, with its open items by code. No names of people, no prices, nothing of who lives there."""

    unit = serializers.UUIDField()
    site = serializers.UUIDField()
    name = serializers.CharField()
    place = serializers.CharField(help_text="Its address in one line.")
    level = serializers.ChoiceField(LEVELS, help_text="The worst that is known of it.")
    says = serializers.CharField(help_text="How it stands, in a sentence.")
    items = serializers.CharField(help_text="Its open items in words, the worst first; of many the first twenty.")
    c1 = serializers.IntegerField(help_text="How many items with this code are open.")
    c2 = serializers.IntegerField(help_text="How many items with this code are open.")
    fi = serializers.IntegerField(help_text="How many items with this code are open.")
    c3 = serializers.IntegerField(help_text="How many items with this code are open.")
    uncoded = serializers.IntegerField(help_text="How many were reported and not looked at yet.")
    put_right_by: Any = serializers.DateField(
        source="by", allow_null=True, help_text="The earliest day by which a C1, C2 or FI is to be put right."
    )
    next_inspection: Any = serializers.DateField(source="next", allow_null=True, help_text="When it is due.")
    next_inspection_basis: Any = serializers.CharField(source="next_basis", help_text="On what that rests.")
    shut_out = serializers.IntegerField(help_text="Visits at which nobody let us in, since we last got in.")
    last_tried = serializers.DateField(allow_null=True, help_text="The day of the last attempt to get in.")


class UnitPages(ForwardPages):
    """Pages behind a unit. The list is worked out whole each time: its order is that of danger, which no column holds."""

    def slice_of(self, rows: Any, *, after: str, size: int, view: Any) -> Slice:
        """The units behind the one that `after` names."""
        keys = [str(own.unit.pk) for own, _ in rows]
        if after and after not in keys:
            raise BadRequest(DAMAGED)
        first = keys.index(after) + 1 if after else 0
        shown = rows[first : first + size]
        return Slice(shown, keys[first + size - 1] if len(rows) > first + size else "")


def choices(of: list[tuple[str, str]]) -> list[str]:
    """What may be asked for, but for "all", which is asked for by leaving it out."""
    return [value for value, _ in of if value]


def told(of: list[tuple[str, str]]) -> str:
    """The same in words."""
    return "; ".join(f"`{value}`: {words}" for value, words in of if value) + "."


NARROWED = [
    OpenApiParameter(
        "q",
        {"type": "string", "maxLength": LONGEST, "pattern": NOT_BLANK},
        description="Words, each of which is in the name or address.",
    ),
    OpenApiParameter("danger", str, enum=choices(DANGER), description=told(DANGER)),
    OpenApiParameter("dates", str, enum=choices(DATES), description=told(DATES)),
    OpenApiParameter("access", str, enum=choices(ACCESS), description=told(ACCESS)),
]


class OfParty(Rows):
    """What is about one customer."""

    right = Right.KEEP_CUSTOMERS
    queryset = Party.objects.all()
    filter_backends = ()
    lookup_field = "pk"


@extend_schema_view(
    get=extend_schema(
        operation_id="customers_portfolio_list",
        summary="All units of a customer as the customer reads of them, the most dangerous first.",
        parameters=NARROWED,
    )
)
class Portfolio(ListModelMixin, OfParty):
    serializer_class = PortfolioUnitShown
    pagination_class = UnitPages

    def get(self, request: Request, **kwargs: Any) -> Response:
        """Those that fit, in ten statements at most."""
        party = self.get_object()
        only_asked(request, "q", "danger", "dates", "access", "cursor", "page_size")
        form = NarrowForm(request.query_params)
        asked = queries.Asked(**form.chosen())
        if form.errors:
            raise ValidationError({name: [str(word) for word in words] for name, words in form.errors.items()})
        units = queries.units_of(party, now=request.now)  # type: ignore[attr-defined]
        page = self.paginate_queryset(queries.narrowed(units, asked)) or []  # type: ignore[arg-type]
        lines = [queries.line_of(own, standing, units) for own, standing in page]
        return self.get_paginated_response(self.get_serializer(lines, many=True).data)


class FigureShown(serializers.Serializer):
    """How many units are so."""

    name = serializers.CharField()
    count = serializers.IntegerField()


class OfCodeShown(serializers.Serializer):
    """Items of one code, "" for those not looked at: now open, of these made safe and past their day; closed in the year before today."""

    code = serializers.CharField()
    means = serializers.CharField()
    open = serializers.IntegerField()
    made_safe = serializers.IntegerField()
    late = serializers.IntegerField()
    closed = serializers.IntegerField()


class PlaceShown(serializers.Serializer):
    """One of the places that need attention first."""

    name = serializers.CharField()
    says = serializers.CharField()
    by = serializers.CharField(help_text="The day by which something is to be put right there, in words.")


class SummaryShown(serializers.Serializer):
    """How all units of a customer stand, counted, as their board reads it. `worst_more`: places that need attention besides."""

    title = serializers.CharField()
    says: Any = serializers.ListField(
        child=serializers.CharField(), source="first_words", help_text="Sentences, the most dangerous first."
    )
    danger_now = serializers.BooleanField(help_text="A C1 is open somewhere that is not recorded as made safe.")
    figures = FigureShown(many=True)
    codes = OfCodeShown(many=True)
    steps = FigureShown(many=True, help_text="How far the repair of open items is.")
    worst = PlaceShown(many=True)
    worst_more = serializers.IntegerField()
    inspections = serializers.IntegerField(help_text="Reports issued in the year before today.")


@extend_schema_view(get=extend_schema(summary="How all units of a customer stand, in short."))
class PortfolioSummary(OfParty):
    serializer_class = SummaryShown

    def get(self, request: Request, **kwargs: Any) -> Response:
        """As it stands now."""
        found = summary(self.get_object(), now=request.now)  # type: ignore[attr-defined]
        pairs = {
            name: [{"name": words, "count": count} for words, count in getattr(found, name)]
            for name in ("figures", "steps")
        }
        same = ("title", "first_words", "danger_now", "codes", "worst", "worst_more", "inspections")
        return Response(self.get_serializer({name: getattr(found, name) for name in same} | pairs).data)


class PartyFile(OfParty, File):
    """A document for a customer. Refused (409) where there is nothing to say yet."""

    @property
    def doing(self) -> dict[str, Any]:
        """Who has it made, and when."""
        return {"by": self.request.user, "now": self.request.now}  # type: ignore[attr-defined]

    def scope(self, party: Party) -> Scope:
        """The unit that the address names. Raises Http404 where the customer does not answer for it today."""
        found = queries.scope_at(party, self.kwargs["unit"], now=self.doing["now"])
        if found is None:
            raise Http404
        return found


@file(PDF, summary="The summary of all units of a customer as a PDF, kept as it is handed out.")
class PortfolioSummaryFile(PartyFile):
    def answer(self, row: Party) -> HttpResponse:
        """The same one while nothing has changed that day."""
        return handed_out(summary_document(row, **self.doing))


@file(PDF, summary="A year in summary of all units of a customer, as a PDF.")
class PortfolioYear(PartyFile):
    def answer(self, row: Party) -> HttpResponseBase:
        """As the customer gets it."""
        if row.erased_at:
            raise Http404
        return handed_out(year_for(row, self.kwargs["year"], **self.doing))


@file(PDF, summary="A document of one of a customer's units, as that customer gets it.")
class PortfolioDocument(PartyFile):
    def answer(self, row: Party) -> HttpResponse:
        """Made now, or as it was made before."""
        try:
            return handed_out(document_for(self.kwargs["which"], self.scope(row), **self.doing))
        except NoSuchDocument as none:
            raise Http404 from none


@file(PDF, summary="The attempts to get in to one of a customer's units, as a PDF, kept as it is handed out.")
class PortfolioNoAccess(PartyFile):
    def answer(self, row: Party) -> HttpResponse:
        """As the customer gets it."""
        return handed_out(no_access_document(row, self.scope(row), **self.doing))
