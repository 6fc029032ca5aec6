"""What may be done with rows of the due list: had in hand, given back; what waits on somebody outside is chased."""

from typing import Any
from uuid import UUID

from django.http import Http404
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.messages.models import Message
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import Refused
from remedials.desk.api.due.messages import MessageShown
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, one, some, verb
from remedials.desk.operations.waits import send_chase
from remedials.due.models import Undertaking
from remedials.due.operations import undertaking
from remedials.due.queries.steps import row_for
from remedials.quotes.models import Quote
from remedials.works.models import Waiting

MOST_CHASED = 200


class UndertakingShown(serializers.ModelSerializer):
    """That somebody has a row of the due list in hand until a day, that day included."""

    class Meta:
        model = Undertaking
        fields = ["id", "kind", "ref", "site", "by", "until", "reason", "at", "ended_at"]


class RowAct(Act):
    """A verb on one row of the due list, named by its kind and ref."""

    model = Undertaking

    @property
    def row(self) -> tuple[str, UUID]:
        """Its kind and ref."""
        return self.kwargs["kind"], self.kwargs["ref"]


class InHand(serializers.Serializer):
    """Until when, that day included, and what you will do or why it can wait."""

    until = Day()
    reason = Text()

    example = {"until": "2026-02-05", "reason": "I ring them tomorrow"}


@verb(UndertakingShown, summary="Have a row of the due list in hand: nobody is reminded of it before that day.")
class HaveIt(RowAct):
    serializer_class = InHand

    def thing(self) -> Any:
        """The row, if this person sees it."""
        if row_for(self.request.user, *self.row) is None:  # type: ignore[arg-type]
            raise Http404

    def do(self, thing: Any, given: dict[str, Any]) -> Undertaking:
        kind, ref = self.row
        return undertaking.have_it(kind, ref, **given, **self.doing)


@verb(UndertakingShown, summary="Give a row of the due list back: it is again whose it was.")
class GiveBack(RowAct):
    serializer_class = Nothing

    def thing(self) -> Undertaking:
        """The latest undertaking of the row, ended or not, that this person may see."""
        kind, ref = self.row
        mine = Undertaking.objects.visible_to(self.request.user).filter(kind=kind, ref=ref)  # type: ignore[arg-type]
        found: Undertaking | None = mine.order_by("-at", "-pk").first()
        if found is None:
            raise Http404
        return found

    def do(self, thing: Undertaking, given: dict[str, Any]) -> Undertaking:
        undertaking.give_back(thing.kind, thing.ref, **self.doing)
        thing.refresh_from_db()
        return thing


# --- what waits on somebody outside -----------------------------------------------------------------------------------


class ChaseAsked(serializers.Serializer):
    """One e-mail that chases all of these, which are then chased next on `chase_on`. `id` is made by the sender.

    `waitings`, `quotes`: their keys. `party`: whom it goes to, where it is one of the customers.
    """

    id = Key()
    waitings: Any = serializers.ListField(child=Key(), required=False, default=list, max_length=MOST_CHASED)
    quotes: Any = serializers.ListField(child=Key(), required=False, default=list, max_length=MOST_CHASED)
    party = Key(required=False, allow_null=True, default=None)
    address = serializers.EmailField(max_length=254)
    subject = Text(max_length=200)
    words = Text()
    chase_on = Day()

    example = {
        "id": key("new"),
        "waitings": [key("waiting")],
        "address": "network@example.com",
        "subject": "The supply at Sample House",
        "words": "We wait for your date.",
        "chase_on": "2190-02-10",
    }


@verb(MessageShown, status=201, summary="Chase what waits on somebody outside by one e-mail.")
class SendChase(Act):
    model = Message
    right = Right.PLAN_WORK
    serializer_class = ChaseAsked

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> Message:
        given["waitings"] = some(self, Waiting, given["waitings"], "waitings")
        given["quotes"] = some(self, Quote, given["quotes"], "quotes")
        party = given.pop("party")
        given["to"] = one(self, Party, party, "party").pk if party else None
        if "\n" in given["subject"] or "\r" in given["subject"]:
            raise Refused("A subject is one line.", field="subject")
        return send_chase(**given, **self.doing)
