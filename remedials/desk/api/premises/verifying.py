"""Saying what a board or a circuit is and how that is known, and taking it back."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Board, Circuit, Verification
from remedials.desk.api.fields import Line, Nothing
from remedials.desk.api.ground import Act, Key, verb
from remedials.desk.api.premises.boards import BoardAct
from remedials.desk.api.premises.circuits import CircuitAct
from remedials.desk.api.premises.nouns_found import VerificationShown
from remedials.desk.api.premises.nouns_supply import BoardShown, CircuitShown


class Verified(serializers.Serializer):
    """What it is, and how you know. Being told proves nothing: it counts as believed. `id` is made by the sender."""

    id = Key()
    designation = Line()
    how = serializers.ChoiceField(choices.HowVerified.choices)

    example = {"id": key("new"), "designation": "Cooker", "how": "switched"}


class Verifies(Act):
    """Records it, at the time when it was seen."""

    versioned = True
    serializer_class = Verified

    def do(self, thing: Board | Circuit, given: dict[str, Any]) -> Board | Circuit:
        return operations.verify(thing, made_at=self.request.made_at, **given, **self.doing)  # type: ignore[attr-defined]


@verb(BoardShown, summary="Say what a board is, and how that is known.")
class VerifyBoard(Verifies, BoardAct):
    pass


@verb(CircuitShown, summary="Say what a circuit is, and how that is known.")
class VerifyCircuit(Verifies, CircuitAct):
    pass


@verb(VerificationShown, summary="Take back a verification that was a slip: what stood before stands again.")
class TakeBackVerification(Act):
    model = Verification
    right = Right.KEEP_PREMISES
    serializer_class = Nothing

    def do(self, thing: Verification, given: dict[str, Any]) -> Verification:
        operations.take_back_verification(thing, **self.doing)
        return Verification.objects.get(pk=thing.pk)
