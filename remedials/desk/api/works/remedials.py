"""What may be done with remedials: make, approve, decline, cancel, give to somebody, prove, close, review, reopen."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.parsers import MultiPartParser

from inspections.choices import QUANTITIES, Quantity
from inspections.models import Observation, Reading
from jobsite.api.examples import key
from jobsite.ledger.photographs import MOST_BYTES
from jobsite.people.rights import Right
from jobsite.premises.models import Circuit, Party, Unit
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Day, Key, Text, Whole, colleague, one, some, verb
from remedials.desk.api.works.nouns import RemedialShown
from remedials.works import operations
from remedials.works.choices import Network
from remedials.works.models import Approval, PowerStep, Proof, ProofPhoto, ProofReview, Remedial, Stint

MOST_AT_ONCE = 500
FINDING_CODES = [("", "nothing"), ("C1", "C1"), ("C2", "C2"), ("C3", "C3")]


class RemedialAct(Act):
    """A verb on one remedial."""

    model = Remedial
    right = Right.PLAN_WORK


class ReadingAsked(serializers.Serializer):
    """A reading that must pass after the work: on which circuit, and of what."""

    circuit = Key()
    quantity = serializers.ChoiceField(choices=QUANTITIES, required=False, default=Quantity.LOOP.value)


class RemedialMade(serializers.Serializer):
    """A remedial to price, for open observations of one site. `id` is made by the sender: the same again makes no second."""

    id = Key()
    observations: Any = serializers.ListField(child=Key(), allow_empty=False, max_length=MOST_AT_ONCE)
    work = Text()
    unit = Key(required=False, allow_null=True)
    owner = Key(required=False, allow_null=True)
    step_by = Day(required=False, allow_null=True)
    minutes = Whole(required=False, allow_null=True, min_value=1)
    skill = Text(required=False)
    power_off = serializers.BooleanField(required=False, allow_null=True, default=None)
    see_to_first = Text(required=False)
    photo_required = serializers.BooleanField(required=False, default=True)
    certificate_kind = Text(required=False)
    notifiable = serializers.BooleanField(required=False, default=False)
    network = serializers.ChoiceField(Network.choices, required=False, allow_blank=True, default="")
    readings = ReadingAsked(many=True, required=False)

    example = {
        "id": key("new"),
        "observations": [key("observation")],
        "work": "Replace the cracked socket",
        "minutes": 30,
    }


@verb(RemedialShown, status=201, summary="Make a remedial from observations.")
class Make(RemedialAct):
    serializer_class = RemedialMade

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> Remedial:
        observations = some(self, Observation, given.pop("observations"), "observations")
        unit, owner = given.pop("unit", None), colleague(given.pop("owner", None), "owner")
        given["readings"] = self._readings(given.pop("readings", []))
        given["unit"] = one(self, Unit, unit, "unit") if unit else None
        return operations.make_remedial(observations, owner=owner, **given, **self.doing)

    def _readings(self, asked: list[dict[str, Any]]) -> list[operations.Required]:
        found = {c.pk: c for c in some(self, Circuit, [one_of["circuit"] for one_of in asked], "readings")}
        return [operations.Required(found[a["circuit"]], quantity=Quantity(a["quantity"])) for a in asked]


class ApprovalGiven(serializers.Serializer):
    """Who said yes, how and when, and to which sum in pounds. `party`: whose standing limit, where one is used."""

    given_by = Text()
    how = serializers.ChoiceField(choices=Approval.How.recorded())
    given_on = Day()
    pounds = serializers.DecimalField(max_digits=10, decimal_places=2, min_value=0, required=False, allow_null=True)
    party = Key(required=False, allow_null=True)
    reference = Text(required=False)

    example = {"given_by": "Petra Landlady", "how": "phone", "given_on": "2026-02-03", "pounds": "480.50"}


@verb(RemedialShown, summary="Record the customer's approval.")
class Approve(RemedialAct):
    versioned = True
    serializer_class = ApprovalGiven

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        party = given.pop("party", None)
        found = one(self, Party, party, "party") if party else None
        return operations.approve_remedial(thing, party=found, **given, **self.doing)


class Declined(serializers.Serializer):
    """Who said no, why, and when to offer the work again."""

    who = Text()
    reason = Text(required=False)
    offer_again_on = Day(required=False, allow_null=True, default=None)

    example = {"who": "Petra Landlady", "reason": "Not this year", "offer_again_on": "2026-09-01"}


@verb(RemedialShown, summary="Record that the customer declined.")
class Decline(RemedialAct):
    versioned = True
    serializer_class = Declined

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        return operations.decline_remedial(thing, **given, **self.doing)


class Cancelled(serializers.Serializer):
    """Why it is cancelled, and who asked for it. `nothing_more`: other closed remedials have put its observations right."""

    reason = Text()
    who = Text(required=False)
    nothing_more = serializers.BooleanField(required=False, default=False)

    example = {"reason": "It was made twice", "who": "Petra Landlady"}


@verb(RemedialShown, summary="Cancel a remedial; its observations are to be decided again.")
class Cancel(RemedialAct):
    versioned = True
    serializer_class = Cancelled

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        return operations.cancel_remedial(thing, **given, **self.doing)


class StepOfRemedial(serializers.Serializer):
    """Who takes the next step, and by when."""

    owner = Key()
    step_by = Day()

    example = {"owner": key("user"), "step_by": "2026-02-09"}


@verb(RemedialShown, summary="Give a remedial's next step to somebody.")
class TakeOn(RemedialAct):
    serializer_class = StepOfRemedial

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        owner = colleague(given["owner"], "owner")
        return operations.take_on(thing, owner=owner, step_by=given["step_by"], **self.doing)


# --- proof ------------------------------------------------------------------------------------------------------------


class PhotoGiven(serializers.Serializer):
    """A photograph after the work (JPEG, PNG or WebP), of one observation or of all that the remedial puts right."""

    photo = serializers.FileField()
    observation = Key(required=False, allow_null=True)


class PhotoShown(serializers.ModelSerializer):
    """A photograph, cleaned and turned upright; sizes in pixels."""

    class Meta:
        model = ProofPhoto
        fields = ["id", "remedial", "observation", "width", "height", "taken", "added_at"]


@verb(PhotoShown, status=201, summary="Add a photograph after the work.")
class AddPhoto(RemedialAct):
    right = Right.DO_WORK
    serializer_class = PhotoGiven
    parser_classes = [MultiPartParser]

    def do(self, thing: Remedial, given: dict[str, Any]) -> ProofPhoto:
        about = given.get("observation")
        observation = one(self, Observation, about, "observation") if about else None
        if given["photo"].size > MOST_BYTES:
            raise Refused("This photo is larger than 20 MB. Take it at a lower resolution.", field="photo")
        return operations.add_proof_photo(thing, data=given["photo"].read(), observation=observation, **self.doing)


class MaterialUsed(serializers.Serializer):
    """A material that was used: how much of it, in which unit ("m"; empty for pieces)."""

    what = Text()
    quantity = serializers.DecimalField(max_digits=9, decimal_places=3, required=False, default=Decimal(1))
    unit = Text(required=False)


class Spent(serializers.Serializer):
    """What an engineer's time came to. `id` is made by the sender: the same again is no second."""

    id = Key()
    minutes = Whole(required=False, allow_null=True, default=None, min_value=1)
    used = MaterialUsed(many=True, required=False)

    def validate_used(self, value: list[dict[str, Any]]) -> list[operations.Material]:
        """The materials as the operations take them."""
        return [operations.Material(**one) for one in value]


class Closed(Spent):
    """What proves the work besides the photographs added before; `readings` are keys.

    `beside`: what the same engineer adds to a remedial closed already is filed beside the first closing.
    """

    readings: Any = serializers.ListField(child=Key(), required=False, default=list, max_length=MOST_AT_ONCE)
    note = Text(required=False)
    certificate_number = Text(required=False)
    no_photo_reason = Text(required=False)
    exception_reason = Text(required=False)
    supervisor_name = Text(required=False)
    beside = serializers.BooleanField(required=False, default=False)

    example = {"id": key("new"), "note": "Cover fitted", "minutes": 30, "no_photo_reason": "It was too dark"}


@verb(RemedialShown, summary="Close a remedial with proof.")
class Close(RemedialAct):
    right = Right.DO_WORK
    serializer_class = Closed

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        given["readings"] = some(self, Reading, given["readings"], "readings")
        return operations.close_remedial(thing, **given, **self.doing, made_at=self.request.made_at).remedial  # type: ignore[attr-defined]


class Left(Spent):
    """Why it is part done or could not be done, and what is left."""

    came = serializers.ChoiceField(choices=[(c.value, c.label) for c in (Stint.Came.PART_DONE, Stint.Came.COULD_NOT)])
    because = Text()

    example = {"id": key("new"), "came": "part-done", "because": "The part was the wrong one", "minutes": 20}


@verb(RemedialShown, summary="Leave a remedial part done, or say that it could not be done.")
class Leave(RemedialAct):
    right = Right.DO_WORK
    serializer_class = Left

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        return operations.leave_remedial(thing, **given, **self.doing, made_at=self.request.made_at).remedial  # type: ignore[attr-defined]


class PowerStepGiven(serializers.Serializer):
    """That power is off, locked and proved dead (`where`: points and locks), or on again: the engineer's word."""

    id = Key()
    kind = serializers.ChoiceField(choices=PowerStep.Kind.choices)
    where = Text(required=False)

    example = {"id": key("new"), "kind": "off", "where": "Board 1, way 3, own lock"}


class PowerStepShown(serializers.ModelSerializer):
    """A step, and when it was."""

    class Meta:
        model = PowerStep
        fields = ["id", "remedial", "kind", "where", "by", "at"]


@verb(PowerStepShown, status=201, summary="Record power off and proved dead, or on again, by the engineer's word.")
class Power(RemedialAct):
    right = Right.DO_WORK
    serializer_class = PowerStepGiven

    def do(self, thing: Remedial, given: dict[str, Any]) -> PowerStep:
        return operations.record_power(thing, **given, **self.doing, made_at=self.request.made_at)  # type: ignore[attr-defined]


class ProofDecided(serializers.Serializer):
    """The look at the proof that stands. `finding_code` and `finding_text`: how an FI ended.

    If-Match names the version of the remedial that the reviewer saw: a proof which came after is not decided on unseen.
    """

    decision = serializers.ChoiceField(choices=ProofReview.Decision.choices)
    reason = Text(required=False)
    finding_code = serializers.ChoiceField(choices=FINDING_CODES, required=False, allow_null=True, allow_blank=True)
    finding_text = Text(required=False)

    example = {"decision": "accepted"}


@verb(RemedialShown, summary="Accept the proof of a remedial, or send it back.")
class Review(RemedialAct):
    right = Right.REVIEW_PROOF
    versioned = True
    serializer_class = ProofDecided

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        proof = thing.proofs.filter(state=Proof.State.STANDS).first()
        if proof is None:
            raise Refused(
                f"Remedial {thing.number} is {thing.get_stage_display()}: no proof of it stands to be reviewed."
            )
        operations.review_proof(proof, **given, **self.doing)
        return Remedial.objects.get(pk=thing.pk)


class Reopened(serializers.Serializer):
    """Why it is opened again."""

    reason = Text()

    example = {"reason": "The cover came off again"}


@verb(RemedialShown, summary="Open a closed or cancelled remedial again.")
class Reopen(RemedialAct):
    right = Right.SEE_WORK  # the office, or a qualified person of whatever role: the operation decides
    serializer_class = Reopened

    def do(self, thing: Remedial, given: dict[str, Any]) -> Remedial:
        return operations.reopen_remedial(thing, **given, **self.doing)
