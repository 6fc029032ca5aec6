"""Changing remedials beside their way: what they ask for, parts, offered again, done by others; waiting on somebody."""

from typing import Any, ClassVar

from django.core.files.uploadedfile import UploadedFile
from django.db import models
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser

from inspections.choices import QUANTITIES, Quantity
from inspections.models import Observation
from jobsite.api.examples import key
from jobsite.api.parsing import CleanJSONParser
from jobsite.fields import MOST_BYTES
from jobsite.ledger.files import store_file
from jobsite.people.rights import Right
from jobsite.premises.models import Circuit
from remedials.desk.api.files import PDF
from remedials.desk.api.ground import Act, Day, Key, Text, Whole, colleague, rows, some, verb
from remedials.desk.api.works.nouns import RemedialShown
from remedials.desk.api.works.proof import ProofPhotoShown
from remedials.desk.api.works.records import WaitingShown
from remedials.desk.api.works.remedials import MOST_AT_ONCE, RemedialAct
from remedials.works import operations
from remedials.works.choices import Network
from remedials.works.models import ProofPhoto, Remedial, Waiting
from remedials.works.operations.making import EDITABLE

MOST_MINUTES, MOST_CREW = 100_000, 20


class ReadingWanted(serializers.Serializer):
    """A reading that must pass after the work; `limit` with `limit_source` where a person enters it, null: computed."""

    circuit = Key()
    quantity = serializers.ChoiceField(choices=QUANTITIES, required=False, default=Quantity.LOOP.value)
    limit = serializers.DecimalField(max_digits=10, decimal_places=4, required=False, allow_null=True, default=None)
    limit_source = Text(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The circuit is asked for here: within a body that may be a part the framework asks for no field."""
        if "circuit" not in attrs:
            raise serializers.ValidationError({"circuit": self.fields["circuit"].error_messages["required"]})
        return attrs


class RemedialChanged(serializers.Serializer):
    """What a remedial asks for; what is left out stays. `readings` takes the place of all that were asked for.

    `minutes` of the whole crew on site; `crew`: how many people it takes at once.
    """

    work = Text()
    minutes = Whole(allow_null=True, min_value=1, max_value=MOST_MINUTES)
    crew = Whole(min_value=1, max_value=MOST_CREW)
    skill = Text(allow_blank=True)
    power_off = serializers.BooleanField(allow_null=True)
    see_to_first = Text(allow_blank=True)
    photo_required = serializers.BooleanField()
    certificate_kind = Text(allow_blank=True)
    notifiable = serializers.BooleanField()
    network = serializers.ChoiceField(Network.choices, allow_blank=True)
    readings = ReadingWanted(many=True)

    example = {"work": "Replace the cracked socket by one with a cover", "minutes": 45}


@verb(RemedialShown, summary="Change what a remedial asks for, until it is done.")
class Edit(RemedialAct):
    """Those who are asked to come to it see it changed; its quote does not change."""

    versioned = True
    serializer_class = RemedialChanged

    def get_serializer(self, *args: Any, **kwargs: Any) -> Any:
        """What is left out stays."""
        return super().get_serializer(*args, partial=True, **kwargs)

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        wanted = given.pop("readings", None)
        fields = {name: value for name, value in given.items() if name in EDITABLE}
        return operations.edit_remedial(thing, readings=self._readings(wanted), **fields, **self.doing)

    def _readings(self, wanted: list[dict[str, Any]] | None) -> list[operations.Required] | None:
        if wanted is None:
            return None
        found = {c.pk: c for c in some(self, Circuit, [asked["circuit"] for asked in wanted], "readings")}
        # Of what is within a change DRF fills in no default either: what is left out is missing here.
        return [
            operations.Required(
                found[asked["circuit"]], asked.get("limit"), asked.get("limit_source", ""),
                Quantity(asked.get("quantity", Quantity.LOOP)),
            )
            for asked in wanted
        ]  # fmt: skip


class PartsReady(serializers.Serializer):
    """The first day on which all its parts are there; a day past: they are; null: none is waited for."""

    on = Day(allow_null=True)

    example = {"on": "2026-02-10"}


@verb(RemedialShown, summary="Say when the parts of a remedial are there.")
class SayParts(RemedialAct):
    """Nobody is booked for it before that day; a visit that is booked already stays."""

    versioned = True
    serializer_class = PartsReady

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        return operations.say_when_parts_are_ready(thing, **given, **self.doing)


class OfferedAgain(serializers.Serializer):
    """Nothing needs to be said."""


@verb(RemedialShown, summary="Offer declined work anew.")
class OfferAgain(RemedialAct):
    """It is to price again, today."""

    serializer_class = OfferedAgain

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        return operations.offer_again(thing, **self.doing)


# --- done by others ---------------------------------------------------------------------------------------------------


class DoneByOthers(serializers.Serializer):
    """Who did the work and when, with the reference of their certificate or letter, or the paper itself.

    `items`: those of its open observations that their paper covers; left out: all. `looked_by`, `looked_on`: who of ours,
    qualified, has looked at it since, and on which day; left out: it is accepted on paper alone.
    """

    who = Text()
    on = Day()
    reference = Text(required=False)
    items: Any = serializers.ListField(child=Key(), required=False, max_length=MOST_AT_ONCE)
    looked_by = Key(required=False, allow_null=True, default=None)
    looked_on = Day(required=False, allow_null=True, default=None)
    reason = Text(required=False)

    example: dict[str, Any] | None = {"who": "Brook Electrical", "on": "2026-02-02", "reference": "MW-1771"}


class DoneByOthersWithPaper(DoneByOthers):
    """As without it, and their paper: a PDF of at most 20 MB."""

    file = serializers.FileField()

    example = None

    def validate_file(self, value: UploadedFile) -> UploadedFile:
        """A PDF that is not too large."""
        if (value.size or 0) > MOST_BYTES:
            raise serializers.ValidationError("This file is larger than 20 MB.")
        if value.read(5) != b"%PDF-":
            raise serializers.ValidationError("This file is not a PDF.")
        value.seek(0)
        return value


BY_OTHERS = {"application/json": DoneByOthers, "multipart/form-data": DoneByOthersWithPaper}


@extend_schema_view(post=extend_schema(request=BY_OTHERS))
@verb(RemedialShown, summary="Record that somebody else did the work, with their paper.")
class ByOthers(RemedialAct):
    """As JSON, or as a form with the paper in it."""

    serializer_class = DoneByOthers
    parser_classes = [CleanJSONParser, MultiPartParser]

    def get_serializer_class(self) -> Any:
        """With the paper where a form is sent."""
        form = (self.request.content_type or "").startswith("multipart/")
        return DoneByOthersWithPaper if form else DoneByOthers

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        file, items = given.pop("file", None), given.pop("items", None)
        given["looked_by"] = colleague(given["looked_by"], "looked_by")
        if items:
            given["items"] = some(self, Observation, items, "items")
        if file:
            given["file"] = store_file(file.read(), media_type=PDF, now=self.request.now)  # type: ignore[attr-defined]
        return operations.done_by_others(thing, **given, **self.doing)


# --- photographs ------------------------------------------------------------------------------------------------------


class PhotoRemoved(serializers.Serializer):
    """Nothing needs to be said."""


@verb(ProofPhotoShown, summary="Take away a photograph that no closing has used yet.")
class RemovePhoto(Act):
    """Answers with the photograph as it was."""

    model = ProofPhoto
    right = Right.DO_WORK
    serializer_class = PhotoRemoved

    def thing(self) -> Any:
        """The photograph, if this person sees its remedial."""
        seen = ProofPhoto.objects.filter(remedial__in=rows(self, Remedial)).select_related("remedial")
        return get_object_or_404(seen, pk=self.kwargs["pk"])

    def do(self, thing: ProofPhoto, given: dict[str, Any]) -> ProofPhoto:
        operations.remove_proof_photo(ProofPhoto.objects.select_related("remedial").get(pk=thing.pk), **self.doing)
        return thing


# --- waiting ----------------------------------------------------------------------------------------------------------


class WaitsOn(serializers.Serializer):
    """On whom it waits, for what, since when, when to chase, who of us does (`owner`; left out: you).

    `id` is made by the sender: the same again makes no second.
    """

    id = Key()
    on_whom = Text()
    for_what = Text()
    reference = Text(required=False)
    asked_on = Day()
    promised_for = Day(required=False, allow_null=True, default=None)
    chase_on = Day()
    owner = Key(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"),
        "on_whom": "The network operator",
        "for_what": "Earlier date of the cut-out's change",
        "asked_on": "2026-02-03",
        "chase_on": "2026-02-10",
    }


@verb(WaitingShown, status=201, summary="Note that a remedial waits on somebody outside.")
class Wait(Act):
    """It is chased on its day until the waiting ends."""

    model: ClassVar[type[models.Model]] = Remedial
    right = Right.PLAN_WORK
    serializer_class = WaitsOn

    def do(self, thing: models.Model, given: dict[str, Any]) -> Waiting:
        given["owner"] = colleague(given["owner"], "owner")
        given[str(thing._meta.model_name)] = thing
        return operations.wait_on(**given, **self.doing)


@verb(WaitingShown, status=201, summary="Note that an observation waits on somebody outside.")
class WaitObservation(Wait):
    """It is chased on its day until the waiting ends."""

    model = Observation


class WaitingAct(Act):
    """A verb on one waiting."""

    model = Waiting
    right = Right.PLAN_WORK


class Chased(serializers.Serializer):
    """What they said, and when to chase next. `id` is made by the sender: the same again is the same call."""

    id = Key()
    chase_on = Day()
    said = Text(required=False)

    example = {"id": key("new"), "chase_on": "2026-02-12", "said": "They ring back on Thursday"}


@verb(WaitingShown, summary="Note that they were chased today.")
class Chase(WaitingAct):
    """It stands with the thing that waits."""

    serializer_class = Chased

    def do(self, thing: Waiting, given: dict[str, Any]) -> Waiting:
        return operations.chase(thing, **given, **self.doing)


class WaitingEnded(serializers.Serializer):
    """What came, or why we wait no more."""

    how = Text()

    example = {"how": "It came on Tuesday"}


@verb(WaitingShown, summary="Note how a waiting ended.")
class EndWaiting(WaitingAct):
    """Ended already: nothing more happens."""

    serializer_class = WaitingEnded

    def do(self, thing: Waiting, given: dict[str, Any]) -> Waiting:
        return operations.end_waiting(thing, **given, **self.doing)
