"""By what figures people are reminded, and which customers want no reminders."""

from dataclasses import asdict
from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.api.headers import ETAG_HEADER, etag
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Text, Whole, rows, verb
from remedials.desk.api.reading import Rows
from remedials.due.models import Reminding
from remedials.due.operations import stopping
from remedials.due.operations.settings import set_reminding
from remedials.due.queries.settings import reminding, rules_in_force
from remedials.due.queries.stopping import standing
from remedials.due.rules.figures import FIGURES, MOST_LETTERS
from remedials.due.rules.quieter import FIXED, WORDS
from remedials.due.rules.sorts import Days, Sort

SORTS = [(sort.value, WORDS[sort]) for sort in Sort]
SET_SORTS = [(sort.value, WORDS[sort]) for sort in Sort if sort is not FIXED]


# --- figures ----------------------------------------------------------------------------------------------------------


class RuleShown(serializers.Serializer):
    """When the firm's people hear of one sort of row, in days; null: never."""

    sort = serializers.ChoiceField(SORTS)
    before = serializers.IntegerField(help_text="So long before it is due its owner first hears of it.")
    every = serializers.IntegerField(help_text="Once it is late, so often again.")
    qualified_after = serializers.IntegerField(allow_null=True, help_text="So late a qualified person hears of it.")
    manager_after = serializers.IntegerField(allow_null=True, help_text="So late the managers hear of it.")


class RemindingShown(serializers.ModelSerializer):
    """The figures in force: the firm's own, or the shipped ones (version 0). Hours are those of Europe/London; 1 is Monday."""

    working_days: Any = serializers.ListField(child=serializers.IntegerField())
    inspection_days: Any = serializers.ListField(child=serializers.IntegerField())
    rules: Any = serializers.SerializerMethodField()
    version: Any = serializers.SerializerMethodField()

    class Meta:
        model = Reminding
        fields = [*FIGURES, "rules", "version"]

    @extend_schema(responses=RuleShown(many=True))
    def get_rules(self, row: Reminding) -> list[dict[str, Any]]:
        """The days of every sort of row."""
        return [{"sort": sort.value} | asdict(days) for sort, days in rules_in_force().items()]

    def get_version(self, row: Reminding) -> int:
        """That of the figures; 0 while the shipped ones hold."""
        return version_of(row)


def version_of(row: Reminding) -> int:
    """The version of the figures; 0 while the shipped ones hold."""
    return 0 if row._state.adding else row.version  # noqa: SLF001 - Django documents it


def standing_figures() -> Reminding:
    """The figures in force, with the version that If-Match names."""
    row = reminding()
    row.version = version_of(row)
    return row


@extend_schema_view(get=extend_schema(summary="By what figures people are reminded.", parameters=[ETAG_HEADER]))
class Figures(Rows):
    right = Right.KEEP_FIRM
    queryset = Reminding.objects.all()
    serializer_class = RemindingShown
    pagination_class = None
    filter_backends = ()

    def get(self, request: Request) -> Response:
        """The figures in force."""
        row = standing_figures()
        return Response(self.get_serializer(row).data, headers={"ETag": etag(row)})


class RuleAsked(serializers.Serializer):
    """One sort of row: days; null: never. A C1 that is not made safe is said at once and daily, whatever is set."""

    sort = serializers.ChoiceField(SET_SORTS)
    before = Whole(min_value=0)
    every = Whole(min_value=1)
    qualified_after = Whole(min_value=0, allow_null=True)
    manager_after = Whole(min_value=0, allow_null=True)


class RemindingAsked(serializers.Serializer):
    """All figures. `rules`: sorts that are left out are as shipped. What makes danger quieter than shipped needs a `reason`."""

    digest_at = serializers.TimeField()
    working_days: Any = serializers.ListField(child=Whole(min_value=1, max_value=7), max_length=7)
    bank_holidays_off = serializers.BooleanField()
    quiet_from = serializers.TimeField()
    quiet_until = serializers.TimeField()
    inspection_days: Any = serializers.ListField(child=Whole(min_value=1), max_length=MOST_LETTERS)
    inspection_overdue_every = Whole(min_value=7)
    rules = RuleAsked(many=True, required=False)
    reason = Text(required=False)

    example = {
        "digest_at": "07:30",
        "working_days": [1, 2, 3, 4, 5],
        "bank_holidays_off": True,
        "quiet_from": "20:00",
        "quiet_until": "07:00",
        "inspection_days": [90, 30, 7],
        "inspection_overdue_every": 14,
    }


@verb(RemindingShown, summary="Set by what figures people are reminded.")
class SetFigures(Act):
    model = Reminding
    right = Right.KEEP_FIRM
    versioned = True
    serializer_class = RemindingAsked

    def thing(self) -> Reminding:
        """The figures in force."""
        return standing_figures()

    def do(self, thing: Reminding, given: dict[str, Any]) -> Reminding:
        rules = {Sort(rule.pop("sort")): Days(**rule) for rule in given.pop("rules", [])}
        given["inspection_days"] = sorted(set(given["inspection_days"]), reverse=True)
        return set_reminding(rules=rules, **given, **self.doing)


# --- customers --------------------------------------------------------------------------------------------------------


class WantsShown(serializers.Serializer):
    """Whether a customer gets reminders. What danger, the law or their own work asks for is still said to them."""

    party = serializers.UUIDField()
    reminders = serializers.BooleanField()
    stopped_at = serializers.DateTimeField(allow_null=True)
    address = serializers.CharField(help_text="The address that said so.")
    noted_by = serializers.UUIDField(allow_null=True, help_text="Null: they said so by the link in a reminder.")


def wants(party: Party) -> dict[str, Any]:
    """Whether `party` gets reminders, as it is shown."""
    row = standing(party.pk)
    said = {"stopped_at": row.said_at, "address": row.address, "noted_by": row.noted_by_id} if row else None
    return {"party": party.pk, "reminders": row is None} | (
        said or {"stopped_at": None, "address": "", "noted_by": None}
    )


@extend_schema_view(get=extend_schema(summary="Whether a customer gets reminders."))
class Wants(Rows):
    right = Right.KEEP_CUSTOMERS
    queryset = Party.objects.all()
    serializer_class = WantsShown
    filter_backends = ()
    lookup_field = "pk"

    def get(self, request: Request, **kwargs: Any) -> Response:
        """As it stands now."""
        return Response(self.get_serializer(wants(self.get_object())).data)


class WantsAct(Act):
    """A verb on the reminders to one customer."""

    model = Party
    right = Right.KEEP_CUSTOMERS
    serializer_class = Nothing

    def thing(self) -> Party:
        """The customer, if this person sees them."""
        found: Party = get_object_or_404(rows(self, Party), pk=self.kwargs["pk"])
        return found


@verb(WantsShown, summary="Stop reminders to a customer, as they asked.")
class Stop(WantsAct):
    def do(self, thing: Party, given: dict[str, Any]) -> Any:
        stopping.stop_reminders(thing, address=thing.email, **self.doing)
        return wants(thing)


@verb(WantsShown, summary="Let reminders go out to a customer again.")
class Again(WantsAct):
    def do(self, thing: Party, given: dict[str, Any]) -> Any:
        stopping.remind_again(thing, **self.doing)
        return wants(thing)
