"""How long what is kept, and one customer's own data: what is kept of them, handed over, erased."""

from typing import Any

import django_filters
from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite import clock
from jobsite.api.examples import key
from jobsite.api.headers import ETAG_HEADER, etag
from jobsite.ledger.queries import facts_by_form
from jobsite.people.invitations import full_address
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import Refused
from remedials.desk.api.files import ZIP, File, file, kept
from remedials.desk.api.ground import Act, Day, Key, Text, Whole, rows, verb
from remedials.desk.api.reading import List, One, Rows
from remedials.status.models import Erasure, Retention
from remedials.status.privacy.forms import WHY_ERASED
from remedials.status.privacy.operations.erasing import erase_customer
from remedials.status.privacy.operations.exporting import export_of, note_export
from remedials.status.privacy.operations.retention import set_retention
from remedials.status.privacy.queries.about import blocks_of, erased_of, stays_of, subject_of
from remedials.status.privacy.queries.kept import retention_of
from remedials.status.privacy.rules import BY_KEY, LEAST, MOST, SHED
from remedials.status.verbs import Verb

# --- how long what is kept --------------------------------------------------------------------------------------------


class KeptShown(serializers.Serializer):
    """One kind of personal data: how many months it is kept (null: until somebody asks) and why.

    `version` is 0 while the shipped months hold.
    """

    kind = serializers.CharField()
    label: Any = serializers.SerializerMethodField()
    holds = serializers.SerializerMethodField()
    counts_from = serializers.SerializerMethodField()
    months = serializers.IntegerField(allow_null=True)
    shipped_months = serializers.SerializerMethodField()
    why = serializers.CharField()
    version = serializers.IntegerField()

    def get_label(self, row: Retention) -> str:
        """What it is called."""
        return BY_KEY[row.kind].label

    def get_holds(self, row: Retention) -> str:
        """What it holds."""
        return BY_KEY[row.kind].holds

    def get_counts_from(self, row: Retention) -> str:
        """From when the months are counted."""
        return BY_KEY[row.kind].counts_from

    def get_shipped_months(self, row: Retention) -> int | None:
        """Those that hold until the firm sets its own."""
        return BY_KEY[row.kind].months


class KeptList(serializers.Serializer):
    """Every kind."""

    kinds = KeptShown(many=True)


class OfKept(Rows):
    """How long what is kept: a few kinds, all at once."""

    right = Right.KEEP_PRIVACY
    queryset = Retention.objects.all()
    filter_backends = ()
    pagination_class = None


@extend_schema_view(
    get=extend_schema(operation_id="kept_list", summary="Every kind of personal data, and how long it is kept.")
)
class AllKept(OfKept):
    serializer_class = KeptList

    def get(self, request: Request) -> Response:
        """All kinds, in the order of the page."""
        own = {row.kind: row for row in Retention.objects.all()}
        kinds = [
            own.get(kind.key) or Retention(kind=kind.key, months=kind.months, why=kind.why, version=0) for kind in SHED
        ]
        return Response(self.get_serializer({"kinds": kinds}).data)


@extend_schema_view(get=extend_schema(summary="How long one kind of personal data is kept.", parameters=[ETAG_HEADER]))
class OneKept(OfKept):
    serializer_class = KeptShown

    def get(self, request: Request, data: str) -> Response:
        """As it holds now."""
        row = kept_as(data)
        return Response(self.get_serializer(row).data, headers={"ETag": etag(row)})


def kept_as(data: str) -> Retention:
    """How long that kind is kept. Raises Http404 for a kind that there is none of."""
    if data not in BY_KEY:
        raise Http404
    return retention_of(data)


class KeptAsked(serializers.Serializer):
    """How many months (null: until somebody asks), and why, in plain words: anybody may read it."""

    months = Whole(allow_null=True, min_value=LEAST, max_value=MOST)
    why = Text()

    example = {"months": 24, "why": "So long a complaint may come"}


@verb(
    KeptShown, summary="Say how long one kind of personal data is kept; what is past its time goes with the next run."
)
class SetKept(Act):
    model = Retention
    right = Right.KEEP_PRIVACY
    versioned = True
    serializer_class = KeptAsked

    def thing(self) -> Retention:
        """The kind that the address names, as it holds now."""
        return kept_as(self.kwargs["data"])

    def do(self, thing: Retention, given: dict[str, Any]) -> Retention:
        return set_retention(thing.kind, **given, **self.doing)


# --- one customer's data ----------------------------------------------------------------------------------------------


class CountShown(serializers.Serializer):
    """A kind of data and how many rows of it."""

    label: Any = serializers.CharField()
    rows = serializers.IntegerField()


class AboutShown(serializers.Serializer):
    """What would be erased of a customer, what stays and why, and what must be settled first."""

    party = serializers.UUIDField()
    erased_at = serializers.DateTimeField(allow_null=True)
    erased = CountShown(many=True)
    stays: Any = serializers.ListField(child=serializers.DictField())
    blocks: Any = serializers.ListField(child=serializers.CharField())


@extend_schema_view(get=extend_schema(summary="What is kept of a customer: what erasing would take, and what stays."))
class About(Rows):
    right = Right.KEEP_PRIVACY
    queryset = Party.objects.all()
    serializer_class = AboutShown
    filter_backends = ()
    lookup_field = "pk"

    def get(self, request: Request, **kwargs: Any) -> Response:
        """As it stands now."""
        party = self.get_object()
        who = subject_of(party, instead="Erased customer")
        gone = bool(party.erased_at)
        today = clock.local_day(request.now)  # type: ignore[attr-defined]
        shown = {
            "party": party.pk,
            "erased_at": party.erased_at,
            "erased": [] if gone else [{"label": label, "rows": n} for label, n in erased_of(who).items()],
            "stays": stays_of(who),
            "blocks": [] if gone else [block["words"] for block in blocks_of(party, who.sites, today=today)],
        }
        return Response(self.get_serializer(shown).data)


class PartyAct(Act):
    """A verb on one customer's data."""

    model = Party
    right = Right.KEEP_PRIVACY

    def thing(self) -> Party:
        """The customer, if this person sees them."""
        found: Party = get_object_or_404(rows(self, Party), pk=self.kwargs["pk"])
        return found


class ExportAsked(serializers.Serializer):
    """When the customer asked. `id` is made by the sender."""

    id = Key()
    asked_on = Day()

    example = {"id": key("new"), "asked_on": "2026-02-02"}


class ExportShown(serializers.Serializer):
    """That the data are handed over; `file` is the address of the archive, which is made when it is fetched and kept nowhere."""

    id = serializers.UUIDField()
    party = serializers.UUIDField()
    file = serializers.CharField()


@verb(ExportShown, status=201, summary="Hand a customer's own data over: noted first, then fetched as one archive.")
class Export(PartyAct):
    serializer_class = ExportAsked

    def do(self, thing: Party, given: dict[str, Any]) -> Any:
        note_export(thing, **given, **self.doing)
        where = reverse("api:personal_data_file", args=[thing.pk, given["id"]])
        return {"id": given["id"], "party": thing.pk, "file": self.request.build_absolute_uri(where)}


@file(ZIP, summary="A customer's own data as one archive, once it was noted that they are handed over.")
class ExportFile(File):
    right = Right.KEEP_PRIVACY
    queryset = Party.objects.all()

    def answer(self, row: Party) -> HttpResponseBase:
        """The archive. Raises Http404 where nobody noted this handing over, and once the data were erased."""
        if row.erased_at or not facts_by_form(Verb.EXPORTED, row, self.kwargs["form"]):
            raise Http404
        page = full_address(reverse("status:privacy"))
        with export_of(row, page=page, now=self.request.now) as archive:  # type: ignore[attr-defined]
            return kept(archive.read(), ZIP, "personal-data.zip")


class ErasureAsked(serializers.Serializer):
    """When they asked, and why. `sure` must be true: it cannot be undone. `id` is made by the sender."""

    id = Key()
    asked_on = Day()
    why = serializers.ChoiceField(WHY_ERASED)
    sure = serializers.BooleanField()

    example = {"id": key("new"), "asked_on": "2026-02-02", "why": "asked", "sure": True}


class ErasureShown(serializers.ModelSerializer):
    """That a customer's data were erased: how many rows of which kind went, what stays and why. It names nobody."""

    erased: Any = serializers.JSONField(read_only=True)
    kept: Any = serializers.JSONField(read_only=True)

    class Meta:
        model = Erasure
        fields = ["id", "party", "asked_on", "erased", "kept", "by", "at"]


@verb(ErasureShown, status=201, summary="Erase a customer's personal data, for good, where the law lets them go.")
class Erase(PartyAct):
    serializer_class = ErasureAsked

    def do(self, thing: Party, given: dict[str, Any]) -> Erasure:
        if not given.pop("sure"):
            raise Refused("Read first what is erased and what stays, then say that you are sure.", field="sure")
        return erase_customer(thing, **given, **self.doing)


class ErasureFilter(FilterSet):
    party = django_filters.UUIDFilter(field_name="party_id")


class OfErasures:
    """Erasures of the customers that this person sees."""

    request: Any

    def get_queryset(self) -> Any:
        """Those; none while the schema is drawn."""
        if getattr(self, "swagger_fake_view", False):
            return Erasure.objects.none()
        return Erasure.objects.filter(party__in=Party.objects.visible_to(self.request.user))


@extend_schema_view(get=extend_schema(summary="Erasures, in the order in which they were made."))
class Erasures(OfErasures, List):
    right = Right.KEEP_PRIVACY
    queryset = Erasure.objects.all()
    serializer_class = ErasureShown
    filterset_class = ErasureFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One erasure."))
class OneErasure(OfErasures, One):
    right = Right.KEEP_PRIVACY
    queryset = Erasure.objects.all()
    serializer_class = ErasureShown
