"""Closing letters, with which our part at a site ends: to read, and what may be done with them."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser

from jobsite.api.examples import key
from jobsite.documents import PDF
from jobsite.downloads import as_pdf, as_picture
from jobsite.fields import MOST_BYTES
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.photographs import clean_photograph
from jobsite.messages.models import Message
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.desk.api.due.messages import MessageShown
from remedials.desk.api.fields import Nothing
from remedials.desk.api.files import File, file
from remedials.desk.api.ground import Act, Day, Key, Text, colleague, rows, verb
from remedials.desk.api.reading import YES_OR_NO, List, One
from remedials.due.models import Leaving
from remedials.due.operations import leaving as operations
from remedials.due.rules.closing import HOW

NEITHER = "This is neither a PDF nor a photograph that can be read (JPEG, PNG or WebP)."


class LetterShown(serializers.ModelSerializer):
    """A closing letter. `open_items`: what it lists, in words. Until it was delivered the site stays in every list."""

    open_items: Any = serializers.JSONField(read_only=True)

    class Meta:
        model = Leaving
        fields = [
            "id", "number", "site", "why", "reason", "to_name", "to_address", "open_items", "owner", "deliver_by",
            "delivered_on", "delivered_how", "delivered_to", "written_by", "written_at", "taken_back_at", "version",
        ]  # fmt: skip


class LetterFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    owner = django_filters.UUIDFilter(field_name="owner_id")
    standing = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_standing", label="not taken back")
    delivered = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_delivery", label="delivered")

    def by_standing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(taken_back_at__isnull=value == "true")

    def by_delivery(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(delivered_on__isnull=value == "false")


@extend_schema_view(get=extend_schema(summary="Closing letters, in the order of their numbers."))
class Letters(List):
    right = Right.KEEP_CUSTOMERS
    queryset = Leaving.objects.all()
    serializer_class = LetterShown
    filterset_class = LetterFilter


@extend_schema_view(get=extend_schema(summary="One closing letter."))
class OneLetter(One):
    right = Right.KEEP_CUSTOMERS
    queryset = Leaving.objects.all()
    serializer_class = LetterShown


@file(PDF, summary="The letter as it was kept.")
class LetterFile(File):
    right = Right.KEEP_CUSTOMERS
    queryset = Leaving.objects.select_related("letter")

    def answer(self, row: Leaving) -> HttpResponse:
        """The PDF."""
        if row.letter is None:
            raise Http404
        return as_pdf(read_file(row.letter), f"closing letter {row.number}")


@file(PDF, "image/jpeg", summary="What proves that a letter was delivered.")
class LetterProof(File):
    right = Right.KEEP_CUSTOMERS
    queryset = Leaving.objects.select_related("proof")

    def answer(self, row: Leaving) -> HttpResponse:
        """The PDF or the photograph."""
        if row.proof is None:
            raise Http404
        if row.proof.media_type == PDF:
            return as_pdf(read_file(row.proof), f"delivery of closing letter {row.number}")
        return as_picture(self.request._request, row.proof)  # noqa: SLF001 - the plain request


class LetterAsked(serializers.Serializer):
    """Why our part at a site ends, how we know, and to whom the letter goes. `id` is made by the sender."""

    id = Key()
    why = serializers.ChoiceField(Leaving.Why.choices)
    reason = Text(help_text="Who said so, when, how. It is not printed.")
    to_name = Text()
    to_address = Text(required=False)
    owner = Key(help_text="Who sees that it is delivered.")
    deliver_by = Day()

    example = {
        "id": key("new"),
        "why": "left",
        "reason": "She rang on Monday",
        "to_name": "Petra Landlady",
        "owner": key("user"),
        "deliver_by": "2190-02-10",
    }


@verb(
    LetterShown, status=201, summary="Write the closing letter of a site: it is kept, and ends nothing until delivered."
)
class WriteLetter(Act):
    model = Site
    right = Right.KEEP_CUSTOMERS
    serializer_class = LetterAsked

    def thing(self) -> Site:
        """The site, if this person sees it."""
        found: Site = get_object_or_404(rows(self, Site).select_related("customer"), pk=self.kwargs["pk"])
        return found

    def do(self, thing: Site, given: dict[str, Any]) -> Leaving:
        given["owner"] = colleague(given["owner"], "owner")
        return operations.write_letter(thing, **given, **self.doing)


class LetterAct(Act):
    """A verb on one closing letter."""

    model = Leaving
    right = Right.KEEP_CUSTOMERS

    def thing(self) -> Leaving:
        """The letter, if this person sees its site."""
        found = rows(self, Leaving).select_related("site__customer", "letter", "proof", "owner")
        return get_object_or_404(found, pk=self.kwargs["pk"])  # type: ignore[no-any-return]


class LetterSent(serializers.Serializer):
    """Where it goes."""

    email = serializers.EmailField(max_length=254)

    example = {"email": "petra@example.com"}


@verb(MessageShown, summary="Send a closing letter by e-mail. It is delivered only when somebody says so.")
class SendLetter(LetterAct):
    serializer_class = LetterSent

    def do(self, thing: Leaving, given: dict[str, Any]) -> Message:
        return operations.send_letter(thing, **given, **self.doing)


class LetterDelivered(serializers.Serializer):
    """How, on which day and to whom. `proof` (PDF, JPEG, PNG or WebP, at most 20 MB) is needed when it was posted."""

    how = serializers.ChoiceField(list(HOW.items()))
    on = Day()
    to = Text(help_text="Who took or refused it, or where it was left.")
    proof = serializers.FileField(required=False, allow_null=True, default=None)


@verb(LetterShown, summary="Say that a closing letter was delivered, which ends our part at the site.")
class Deliver(LetterAct):
    versioned = True
    serializer_class = LetterDelivered
    parser_classes = [MultiPartParser]

    def do(self, thing: Leaving, given: dict[str, Any]) -> Leaving:
        proof = self._kept(given.pop("proof"))
        return operations.deliver_letter(thing, proof=proof, **given, **self.doing)

    def _kept(self, sent: Any) -> StoredFile | None:
        """The proof, kept: a PDF byte for byte, a photograph made anew."""
        if sent is None:
            return None
        if sent.size > MOST_BYTES:
            raise Refused("This file is larger than 20 MB.", field="proof")
        data, now = sent.read(), self.doing["now"]
        if data.startswith(b"%PDF-"):
            return store_file(data, media_type=PDF, now=now)
        try:
            clean = clean_photograph(data)
        except Refused as refused:
            raise Refused(NEITHER, field="proof") from refused
        return store_file(clean.data, media_type="image/jpeg", now=now, received=data)


@verb(LetterShown, summary="Take a closing letter back: our part at the site goes on.")
class TakeBack(LetterAct):
    serializer_class = Nothing

    def do(self, thing: Leaving, given: dict[str, Any]) -> Leaving:
        return operations.take_back(thing, **self.doing)
