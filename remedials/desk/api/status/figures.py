"""The figures for managers, as the pages have them: tables of plain values, narrowed in the address as there."""

from datetime import date
from decimal import Decimal
from typing import Any

from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite import clock
from jobsite.api.patterns import NOT_BLANK, YEARS
from jobsite.people.rights import Right
from jobsite.premises.choices import Nation
from remedials.desk.api.ground import Marked
from remedials.desk.api.reading import refuse_empty
from remedials.desk.figures.forms import FiguresNarrowing, PeriodNarrowing
from remedials.desk.figures.queries.access import without_access
from remedials.desk.figures.queries.ages import ages
from remedials.desk.figures.queries.coming import inspections_due
from remedials.desk.figures.queries.engineers import by_engineer
from remedials.desk.figures.queries.on_time import on_time
from remedials.desk.figures.queries.quoting import acceptance
from remedials.desk.figures.queries.remedy import remedy_times
from remedials.desk.figures.tables import COUNT, PERCENT, POUNDS, TEXT, Table
from remedials.desk.figures.views import CAUTIONS

KINDS = [
    (COUNT, "a count"),
    (POUNDS, "pounds, as text, in GBP; the head or `says` tell of VAT"),
    (PERCENT, "per cent"),
    (TEXT, "words"),
]
WORDS = {"type": "string", "maxLength": 200, "pattern": NOT_BLANK}
A_DAY = {"type": "string", "format": "date", "pattern": YEARS}
PLACES = [
    OpenApiParameter("nation", str, enum=list(Nation.values), description="Sites in this nation alone."),
    OpenApiParameter("site", WORDS, description="Words of the site: name, address, post code or number."),
    OpenApiParameter("customer", WORDS, description="Words of the customer's name."),
]
PERIOD = [
    OpenApiParameter("since", A_DAY, description="The first day, included; left out: a year before `until`."),
    OpenApiParameter("until", A_DAY, description="The last day, included; left out: today."),
]


class ColumnShown(serializers.Serializer):
    """A column: its head, and what its values are."""

    head = serializers.CharField()
    kind = serializers.ChoiceField(KINDS)


class TableShown(serializers.Serializer):
    """A figure. `says`: what is counted and how. The last `totals` rows are sums. Null: there is no value."""

    key = serializers.CharField()
    title = serializers.CharField()
    says: Any = serializers.ListField(child=serializers.CharField())
    columns = ColumnShown(many=True)
    rows: Any = serializers.ListField(child=serializers.ListField(child=serializers.JSONField()))
    totals = serializers.IntegerField()
    empty = serializers.CharField(help_text="What is said where there is no row.")


class FiguresShown(serializers.Serializer):
    """Tables, of which sites they are, and what is to be kept in mind."""

    counted = serializers.CharField()
    caution = serializers.CharField()
    currency = serializers.CharField(help_text="Of every sum: GBP.")
    tables = TableShown(many=True)


def plain(value: Any) -> Any:
    """A value as JSON has it: sums as text, days as 2026-11-24."""
    if isinstance(value, Decimal):
        return str(value)
    return value.isoformat() if isinstance(value, date) else value


def shown_table(table: Table) -> dict[str, Any]:
    """A table as it is shown."""
    rows = [[plain(value) for value in row] for row in table.rows]
    names = ("key", "title", "says", "columns", "totals", "empty")
    return {name: getattr(table, name) for name in names} | {"rows": rows}


class FiguresView(Marked):
    """One page of figures."""

    form: type[FiguresNarrowing] = FiguresNarrowing
    page = ""

    def get(self, request: Request) -> Response:
        """Its tables. A query that nothing reads, or that cannot be read, is refused."""
        form = self.form(request.query_params, today=clock.local_day(request.now))  # type: ignore[attr-defined]
        if unknown := sorted(set(request.query_params) - set(form.fields)):
            raise ValidationError({name: ["There is no such filter."] for name in unknown})
        refuse_empty(request)
        if not form.is_valid():
            raise ValidationError({name: [str(word) for word in words] for name, words in form.errors.items()})
        tables = self.tables(form)
        shown = {
            "counted": form.narrowed().in_words(request.user),  # type: ignore[arg-type]
            "caution": CAUTIONS.get(self.page, ""),
            "currency": "GBP",
            "tables": [shown_table(table) for table in tables],
        }
        return Response(FiguresShown(shown).data)

    def tables(self, form: Any) -> list[Table]:
        """The tables for what was chosen."""
        raise NotImplementedError


def figure(summary: str, *more: OpenApiParameter) -> Any:
    """Describes a page of figures."""
    return extend_schema_view(
        get=extend_schema(summary=summary, parameters=[*more, *PLACES], responses={200: FiguresShown})
    )


@figure("How old what is open is, by code.")
class Ages(FiguresView):
    right = Right.PLAN_WORK
    page = "ages"

    def tables(self, form: Any) -> list[Table]:
        return ages(self.request.user, form.narrowed(), today=form.today)  # type: ignore[arg-type]


@figure("How long it takes to remedy, counted with what is still open.", *PERIOD)
class Remedy(FiguresView):
    right = Right.PLAN_WORK
    form, page = PeriodNarrowing, "remedy"

    def tables(self, form: Any) -> list[Table]:
        return remedy_times(self.request.user, form.narrowed(), *form.period(), today=form.today)  # type: ignore[arg-type]


@figure("What was remedied by its day.", *PERIOD)
class InTime(FiguresView):
    right = Right.PLAN_WORK
    form, page = PeriodNarrowing, "in_time"

    def tables(self, form: Any) -> list[Table]:
        return on_time(self.request.user, form.narrowed(), *form.period(), today=form.today)  # type: ignore[arg-type]


@figure("What was in time, by engineer.", *PERIOD)
class Engineers(FiguresView):
    right = Right.KEEP_PEOPLE
    form, page = PeriodNarrowing, "engineers"

    def tables(self, form: Any) -> list[Table]:
        return by_engineer(self.request.user, form.narrowed(), *form.period())  # type: ignore[arg-type]


@figure("Which quotes are accepted.", *PERIOD)
class Quotes(FiguresView):
    right = Right.KEEP_FIRM
    form, page = PeriodNarrowing, "quotes"

    def tables(self, form: Any) -> list[Table]:
        return acceptance(self.request.user, form.narrowed(), *form.period(), today=form.today)  # type: ignore[arg-type]


@figure("Visits at which nobody let us in.", *PERIOD)
class Access(FiguresView):
    right = Right.PLAN_WORK
    form, page = PeriodNarrowing, "access"

    def tables(self, form: Any) -> list[Table]:
        now = self.request.now  # type: ignore[attr-defined]
        return without_access(self.request.user, form.narrowed(), *form.period(), now=now)  # type: ignore[arg-type]


@figure("Which inspections fall due in two years, by month.")
class Inspections(FiguresView):
    right = Right.PLAN_WORK
    page = "inspections"

    def tables(self, form: Any) -> list[Table]:
        return inspections_due(self.request.user, form.narrowed(), today=form.today)  # type: ignore[arg-type]
