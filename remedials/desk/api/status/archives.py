"""Archives of the record, and holds: to read, and what may be done with them."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.firm.models import Progress
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Hold
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.desk.api.fields import Nothing
from remedials.desk.api.files import ZIP, File, file, kept
from remedials.desk.api.ground import Act, Key, Text, Whole, verb
from remedials.desk.api.reading import YES_OR_NO, List, One
from remedials.status.bundles import operations, operations_holds
from remedials.status.bundles.queries import seen_by
from remedials.status.models import Bundle

DRAWN = [(Bundle.Kind.AS_OF.value, Bundle.Kind.AS_OF.label), (Bundle.Kind.ASSESSOR.value, Bundle.Kind.ASSESSOR.label)]
STATES = Progress.State.choices


class ArchiveShown(serializers.ModelSerializer):
    """An archive that was asked for. `state`: how far the worker has come; `fingerprint` and `sha256` once it is made.

    `jobs`: the numbers of the remedials in a pack for the assessor. `as_of`: what was recorded later is left out.
    """

    kind = serializers.ChoiceField(DRAWN, read_only=True)
    state: Any = serializers.ChoiceField(STATES, source="progress.state", read_only=True)
    sentence: Any = serializers.CharField(source="progress.sentence", read_only=True)
    name: Any = serializers.CharField(source="document.name", read_only=True, default="")
    fingerprint: Any = serializers.CharField(source="document.fingerprint", read_only=True, default="")
    sha256: Any = serializers.CharField(source="document.file_id", read_only=True, default="")
    size: Any = serializers.IntegerField(
        source="document.file.size", read_only=True, default=None, allow_null=True, help_text="Bytes."
    )

    class Meta:
        model = Bundle
        fields = [
            "id", "kind", "site", "as_of", "jobs", "reason", "asked_by", "asked_at", "state", "sentence", "name",
            "fingerprint", "sha256", "size",
        ]  # fmt: skip


class ArchiveFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    kind = django_filters.ChoiceFilter(choices=DRAWN)
    state = django_filters.ChoiceFilter(choices=STATES, field_name="progress__state")


class OfArchives:
    """Rows of archives by their own door."""

    request: Any

    def get_queryset(self) -> QuerySet[Bundle]:
        """The archives that this person may take away; none while the schema is drawn."""
        if getattr(self, "swagger_fake_view", False):
            return Bundle.objects.none()
        return seen_by(self.request.user)


@extend_schema_view(get=extend_schema(summary="Archives, in the order in which they were asked for."))
class Archives(OfArchives, List):
    right = Right.DRAW_PROOF
    queryset = Bundle.objects.all()
    serializer_class = ArchiveShown
    filterset_class = ArchiveFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One archive: how far it has come."))
class OneArchive(OfArchives, One):
    right = Right.DRAW_PROOF
    queryset = Bundle.objects.all()
    serializer_class = ArchiveShown


@file(ZIP, summary="The archive itself, once it is made.")
class ArchiveFile(OfArchives, File):
    right = Right.DRAW_PROOF
    queryset = Bundle.objects.all()

    def answer(self, row: Bundle) -> HttpResponse:
        """Byte for byte as it was kept."""
        document = row.document
        if document is None:
            raise Http404
        return kept(read_file(document.file), document.file.media_type, document.name)


class RecordAsked(serializers.Serializer):
    """As of when, for whom and why. `id` is made by the sender."""

    id = Key()
    instant = serializers.DateTimeField(help_text="With its offset. What was recorded later is left out.")
    reason = Text()

    example = {"id": key("new"), "instant": "2026-02-01T12:00:00Z", "reason": "For the insurer, claim 17"}


@verb(ArchiveShown, status=201, summary="Ask for the record of a site as of a date: the worker draws it.")
class AskForRecord(Act):
    model = Site
    right = Right.DRAW_PROOF
    serializer_class = RecordAsked

    def do(self, thing: Site, given: dict[str, Any]) -> Bundle:
        return operations.ask_for_bundle(thing, **given, **self.doing)


class PackAsked(serializers.Serializer):
    """The numbers of remedials as the assessor picked them; for whom and why. `id` is made by the sender."""

    id = Key()
    jobs: Any = serializers.ListField(
        child=Whole(min_value=1), allow_empty=False, max_length=operations.MOST_JOBS, help_text="Numbers, not keys."
    )
    reason = Text()

    example = {"id": key("new"), "jobs": [1001], "reason": "The yearly assessment"}


@verb(ArchiveShown, status=201, summary="Ask for the proof of remedials, for the firm's assessor.")
class AskForPack(Act):
    model = Bundle
    right = Right.DRAW_PROOF
    serializer_class = PackAsked

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> Bundle:
        return operations.ask_for_pack(given.pop("jobs"), **given, **self.doing)


@verb(ArchiveShown, summary="Have an archive drawn again that failed.")
class AskAgain(Act):
    model = Bundle
    right = Right.DRAW_PROOF
    serializer_class = Nothing

    def thing(self) -> Bundle:
        """The archive, if this person may take it away."""
        return get_object_or_404(seen_by(self.request.user), pk=self.kwargs["pk"])  # type: ignore[arg-type]

    def do(self, thing: Bundle, given: dict[str, Any]) -> Bundle:
        operations.ask_again(thing, **self.doing)
        return seen_by(self.doing["by"]).get(pk=thing.pk)


# --- holds ------------------------------------------------------------------------------------------------------------


class HoldShown(serializers.ModelSerializer):
    """A hold: while it stands nothing of `site`, or of the whole firm where that is null, is erased."""

    class Meta:
        model = Hold
        fields = ["id", "site", "reason", "placed_by", "placed_at", "lifted_by", "lifted_at", "lifted_why"]


class HoldFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site")
    standing = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_standing", label="not lifted")

    def by_standing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(lifted_at__isnull=value == "true")


def holds_seen(user: Any) -> QuerySet[Hold]:
    """The holds on the whole firm and on sites that `user` sees."""
    return Hold.objects.filter(Q(site=None) | Q(site__in=Site.objects.visible_to(user).values("pk")))


class OfHolds:
    """Rows of holds by their own door."""

    request: Any

    def get_queryset(self) -> QuerySet[Hold]:
        """The holds that this person may see; none while the schema is drawn."""
        return Hold.objects.none() if getattr(self, "swagger_fake_view", False) else holds_seen(self.request.user)


@extend_schema_view(get=extend_schema(summary="Holds, in the order in which they were placed."))
class Holds(OfHolds, List):
    right = Right.KEEP_PRIVACY
    queryset = Hold.objects.all()
    serializer_class = HoldShown
    filterset_class = HoldFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One hold."))
class OneHold(OfHolds, One):
    right = Right.KEEP_PRIVACY
    queryset = Hold.objects.all()
    serializer_class = HoldShown


class HoldAsked(serializers.Serializer):
    """What for: a claim, an accident, a request of a court or an insurer. `id` is made by the sender."""

    id = Key()
    reason = Text()

    example = {"id": key("new"), "reason": "Claim 17 of the insurer"}


@verb(HoldShown, status=201, summary="Hold all that is kept of a site: nothing of it is erased.")
class HoldSite(Act):
    model = Site
    right = Right.KEEP_PRIVACY
    serializer_class: Any = HoldAsked

    def do(self, thing: Any, given: dict[str, Any]) -> Hold:
        return operations_holds.place_hold(thing, **given, **self.doing)


@verb(HoldShown, status=201, summary="Hold all that is kept of the whole firm: nothing is erased.")
class HoldFirm(HoldSite):
    def thing(self) -> None:
        """Everything."""


class HoldLifted(serializers.Serializer):
    """Why it may be lifted, and who decided that."""

    why = Text()

    example = {"why": "The claim is settled, says the manager"}


@verb(HoldShown, summary="Lift a hold.")
class LiftHold(Act):
    model = Hold
    right = Right.KEEP_PRIVACY
    serializer_class = HoldLifted

    def thing(self) -> Hold:
        """The hold, if this person may see it."""
        return get_object_or_404(holds_seen(self.request.user), pk=self.kwargs["pk"])

    def do(self, thing: Hold, given: dict[str, Any]) -> Hold:
        return operations_holds.lift_hold(thing, **given, **self.doing)
