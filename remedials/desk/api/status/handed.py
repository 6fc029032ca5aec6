"""What customers are handed: documents of a place, and copies of reports without personal data."""

import re
from typing import Any
from uuid import UUID

import django_filters
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import Inspection
from jobsite import clock
from jobsite.api.examples import key
from jobsite.api.patterns import KEY
from jobsite.downloads import as_pdf
from jobsite.ledger.files import read_file
from jobsite.people.models import PrivateLink
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.queries.sharing import may_be_given, parts_at
from jobsite.refused import Refused
from remedials.desk.api.files import PDF, File
from remedials.desk.api.files import file as gives
from remedials.desk.api.ground import Act, Key, Text, one, verb
from remedials.desk.api.premises.links import LinkSentShown, Sends, Sent
from remedials.desk.api.reading import List, One, Rows, refuse_empty
from remedials.status.copies import queries
from remedials.status.copies.operations import WHY as WHY_A_COPY
from remedials.status.copies.operations import make_copy, opens_copy, state_of
from remedials.status.copies.rules import surely_in, without
from remedials.status.facts import Scope, scope_at
from remedials.status.models import ReportCopy
from remedials.status.proof.making import NoSuchDocument, document_for
from remedials.status.proof.queries import documents_for
from remedials.status.proof.views import handed_out

OF_UNIT = OpenApiParameter("unit", UUID, description="Of this unit alone; without it of the whole.")


def asked_for(view: Any) -> UUID | None:
    """The unit in the address. Raises ValidationError for what is no key, and where it is named but not said."""
    refuse_empty(view.request, but=set(view.request.query_params) - {"unit"})
    said = view.request.query_params.get("unit")
    if said is not None and not re.fullmatch(KEY, said):
        raise ValidationError({"unit": ["This is no key."]})
    return UUID(said) if said else None


# --- documents of a place ---------------------------------------------------------------------------------------------


class DocumentShown(serializers.Serializer):
    """A document that can be fetched: what it says, and when it was made last, "" where never. `which` stands in its address."""

    which = serializers.SerializerMethodField()
    title = serializers.CharField()
    says = serializers.CharField()
    made = serializers.CharField(help_text="In words, by London's clock.")
    size = serializers.CharField(help_text="In words.")

    def get_which(self, line: Any) -> str:
        """As it stands in the address of the file."""
        return str(line.address).removeprefix("documents/").rstrip("/")


class DocumentsShown(serializers.Serializer):
    """The documents of a site or of one of its units."""

    documents = DocumentShown(many=True)


class OfPlace(Rows):
    """What is about a site, or one unit of it."""

    right = Right.SHARE_STATUS
    queryset = Site.objects.all()
    filter_backends = ()
    lookup_field = "pk"

    def scope(self, site: Site) -> Scope:
        """The site, or its unit that is asked for. Raises Http404 where there is none."""
        found = scope_at(site.pk, asked_for(self))
        if found is None:
            raise Http404
        return found


@extend_schema_view(
    get=extend_schema(
        operation_id="sites_documents_list",
        summary="The documents of a site, or of one of its units, that customers keep.",
        parameters=[OF_UNIT],
    )
)
class Documents(OfPlace):
    serializer_class = DocumentsShown

    def get(self, request: Request, **kwargs: Any) -> Response:
        """Those that there are now."""
        found = documents_for(self.scope(self.get_object()))
        return Response(self.get_serializer({"documents": found}).data)


@extend_schema_view(
    get=extend_schema(
        summary="A document of a site or unit as a customer gets it, made now or as it was made before.",
        parameters=[OF_UNIT],
        responses={(200, PDF): OpenApiTypes.BINARY},
    )
)
class DocumentFile(OfPlace, File):
    def answer(self, row: Site) -> HttpResponse:
        """The PDF. Raises Http404 for a kind that there is none of, Refused where there is nothing to say yet."""
        try:
            document = document_for(
                self.kwargs["which"],
                self.scope(row),
                by=self.request.user,  # type: ignore[arg-type]
                now=self.request.now,  # type: ignore[attr-defined]
            )
        except NoSuchDocument as none:
            raise Http404 from none
        return handed_out(document)


# --- copies of reports ------------------------------------------------------------------------------------------------


class CopyShown(serializers.ModelSerializer):
    """A copy of a report with personal data left out, as somebody looked it over. `changed`: in how many places."""

    id: Any = serializers.UUIDField(source="document_id", read_only=True)
    inspection: Any = serializers.UUIDField(source="document.subject", read_only=True)
    site: Any = serializers.UUIDField(source="document.site", read_only=True)
    unit: Any = serializers.UUIDField(source="document.unit", read_only=True, allow_null=True)
    title: Any = serializers.CharField(source="document.title", read_only=True)
    made_at: Any = serializers.DateTimeField(source="document.made_at", read_only=True)
    fingerprint: Any = serializers.CharField(source="document.fingerprint", read_only=True)

    class Meta:
        model = ReportCopy
        fields = ["id", "inspection", "site", "unit", "title", "made_at", "fingerprint", "changed"]


class CopyFilter(FilterSet):
    inspection = django_filters.UUIDFilter(field_name="document__subject")
    site = django_filters.UUIDFilter(field_name="document__site")


def copies_seen(user: Any) -> QuerySet[ReportCopy]:
    """Copies of reports on the sites that `user` sees."""
    seen = Site.objects.visible_to(user).values("pk")
    return ReportCopy.objects.filter(document__site__in=seen).select_related("document__file")


class OfCopies:
    """Copies of reports on the sites that this person sees."""

    request: Any

    def get_queryset(self) -> QuerySet[ReportCopy]:
        """Those; none while the schema is drawn."""
        if getattr(self, "swagger_fake_view", False):
            return ReportCopy.objects.none()
        return copies_seen(self.request.user)


@extend_schema_view(get=extend_schema(summary="Copies of reports without personal data."))
class Copies(OfCopies, List):
    right = Right.SHARE_STATUS
    queryset = ReportCopy.objects.all()
    serializer_class = CopyShown
    filterset_class = CopyFilter
    ordering = "document_id"


@extend_schema_view(get=extend_schema(summary="One copy of a report."))
class OneCopy(OfCopies, One):
    right = Right.SHARE_STATUS
    queryset = ReportCopy.objects.all()
    serializer_class = CopyShown


@gives(PDF, summary="A copy of a report, as it was kept.")
class CopyFile(OfCopies, File):
    right = Right.SHARE_STATUS
    queryset = ReportCopy.objects.all()

    def answer(self, row: ReportCopy) -> HttpResponse:
        """The PDF."""
        return as_pdf(read_file(row.document.file), row.document.name.removesuffix(".pdf"))


class CopyTextShown(serializers.Serializer):
    """One free text of a report. `offered`: without what is sure to be personal."""

    key = serializers.CharField()
    label: Any = serializers.CharField()
    words = serializers.CharField()
    offered = serializers.CharField()


class ToLookOver(serializers.Serializer):
    """What somebody reads before a copy is made. `seen`: the state of the record, sent back with what they decided."""

    seen = serializers.CharField()
    texts = CopyTextShown(many=True)


@extend_schema_view(
    get=extend_schema(summary="The free text of a report, to be looked over for a copy of it.", parameters=[OF_UNIT])
)
class Texts(Rows):
    right = Right.SHARE_STATUS
    queryset = Inspection.objects.select_related("site")
    serializer_class = ToLookOver
    filter_backends = ()
    lookup_field = "pk"

    def get(self, request: Request, **kwargs: Any) -> Response:
        """As the record says it now."""
        report = self.get_object()
        wanted = asked_for(self)
        unit = report.units.filter(pk=wanted).first() if wanted else None
        if wanted and unit is None:
            raise Http404
        said, names = queries.said_of(report, unit), queries.names_around(report)
        texts = [
            {"key": name, "label": label, "words": words, "offered": without(words, names)}
            for name, label, words in queries.texts_in(said)
        ]
        return Response(self.get_serializer({"seen": state_of(said), "texts": texts}).data)


class CopyTextAsked(serializers.Serializer):
    """What stands in the copy in place of one text, by its key; empty: left out."""

    key = Text(max_length=100)
    words = Text(required=False)


class CopyAsked(serializers.Serializer):
    """The copy as somebody looked it over. `looked` must be true. `stays`: what looks personal may stand there all the same.

    A text that is not named is left as it is offered: without what is sure to be personal. `id` is made by the sender.
    """

    id = Key()
    seen = Text(max_length=64)
    texts = CopyTextAsked(many=True, required=False)
    unit = Key(required=False, allow_null=True, default=None)
    looked = serializers.BooleanField()
    stays = serializers.BooleanField(required=False, default=False)

    example = {"id": key("new"), "seen": "as the texts say it", "texts": [], "looked": True}


@verb(CopyShown, status=201, summary="Make a copy of a report without personal data; the report is as it was.")
class MakeCopy(Act):
    model = Inspection
    right = Right.SHARE_STATUS
    serializer_class = CopyAsked

    def do(self, thing: Inspection, given: dict[str, Any]) -> ReportCopy:
        if not given["looked"]:
            raise Refused("Read it through first, then say so here.", field="looked")
        unit = one(self, Unit, given["unit"], "unit") if given["unit"] else None
        names = queries.names_around(thing)
        offered = {name: without(words, names) for name, _, words in queries.texts_in(queries.said_of(thing, unit))}
        texts = offered | {row["key"]: row["words"] for row in given.get("texts", []) if row["key"] in offered}
        personal = {found for words in texts.values() for found in surely_in(words, names)}
        if personal and not given["stays"]:
            named = ", ".join(sorted(personal))
            raise Refused(f"Leave this out: {named}. If it may stand, say so.", field="texts")
        document = make_copy(thing, id=given["id"], unit=unit, texts=texts, seen=given["seen"], **self.doing)
        return ReportCopy.objects.select_related("document").get(pk=document.pk)


class CopySent(Sent):
    """To whom: the customer, or who is something at a unit there, also a tenant who is yet to move in.

    `email` empty: the address that is recorded. `note`: a word of your own in the e-mail. `id` is made by the sender.
    """

    party = Key()

    example = Sent.example | {"party": key("party")}


@verb(LinkSentShown, status=201, summary="Send a private link to a copy of a report.")
class SendCopyLink(Sends):
    """Links that there are: private-links with this copy as their `thing`."""

    model = ReportCopy
    serializer_class = CopySent
    why = WHY_A_COPY

    def thing(self) -> ReportCopy:
        """The copy, if this person sees its site."""
        return get_object_or_404(copies_seen(self.request.user), pk=self.kwargs["pk"])

    def do(self, thing: ReportCopy, given: dict[str, Any]) -> PrivateLink:
        document, party = thing.document, one(self, Party, given["party"], "party")
        site = get_object_or_404(Site, pk=document.site)
        parts = parts_at(site, clock.local_day(self.doing["now"]), before_their_day=True)
        if not may_be_given(site, parts).filter(pk=party.pk).exists():
            raise Refused(f"{party.name} is neither the customer nor entered at a unit of this site.", field="party")
        opens = {"purpose": PrivateLink.Purpose.COPY, "site": site.pk, "unit": document.unit, "thing": document.pk}
        return self.send(party, opens_copy(site), given, **opens)
