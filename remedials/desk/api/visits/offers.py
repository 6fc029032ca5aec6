"""Times offered for one visit: to read, to offer, to send, to withdraw. Choosing one is the customer's, on their link."""

from typing import Any

import django_filters
from django.db.models import Prefetch
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site, Unit
from remedials.desk.api.ground import Act, Day, Key, Moment, Text, one, some, verb
from remedials.desk.api.reading import List, One, Rows
from remedials.desk.api.visits.booking import colleagues, keys_field
from remedials.desk.api.visits.firm import OursAlone
from remedials.desk.api.visits.getting_in import AttemptShown
from remedials.visits.models import Attempt, OfferedTime, TimesOffer
from remedials.visits.operations import times, times_mail
from remedials.works.models import Remedial

MOST_TIMES = 6


class OfferedTimeShown(serializers.ModelSerializer):
    """One of the times offered, as instants."""

    class Meta:
        model = OfferedTime
        fields = ["id", "start", "end"]


class TimesOfferShown(serializers.ModelSerializer):
    """Some times for one visit; nothing is held for it. `words`: what the customer wrote; `visit`: the one that was booked."""

    remedials: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    engineers: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    times = OfferedTimeShown(many=True, read_only=True)

    class Meta:
        model = TimesOffer
        fields = [
            "id", "site", "unit", "party", "remedials", "engineers", "times", "access", "outage", "despite", "state",
            "answer_by", "words", "answered_at", "visit", "made_by", "made_at", "version",
        ]  # fmt: skip


class TimesOfferFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    state = django_filters.ChoiceFilter(choices=TimesOffer.STATES)


class FirmsOffers(OursAlone, Rows):
    """Times offered are the office's to read."""

    right = Right.BOOK
    queryset = TimesOffer.objects.prefetch_related(
        "times", Prefetch("engineers", User.objects.order_by("name", "pk")),
        Prefetch("remedials", Remedial.objects.order_by("number")),
    )  # fmt: skip
    serializer_class = TimesOfferShown


@extend_schema_view(get=extend_schema(summary="Times that were offered to customers."))
class TimesOffers(FirmsOffers, List):
    """In the order in which they were offered."""

    filterset_class = TimesOfferFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="Times offered for one visit."))
class OneTimesOffer(FirmsOffers, One):
    """With what was chosen, if anything was."""


class TimeOffered(serializers.Serializer):
    """One time: instants with their offset."""

    start = Moment()
    end = Moment()


class TimesOffered(serializers.Serializer):
    """Up to six times for one visit, to be answered by a day. `id` is made by the sender: the same again offers no more.

    `despite`: why a time is offered of which a booking would be warned.
    """

    id = Key()
    remedials: Any = keys_field()
    engineers: Any = keys_field()
    times = serializers.ListField(child=TimeOffered(), allow_empty=False, max_length=MOST_TIMES)
    answer_by = Day()
    unit = Key(required=False, allow_null=True, default=None)
    party = Key(required=False, allow_null=True, default=None)
    access = Text(required=False)
    outage = Text(required=False)
    despite = Text(required=False)

    example = {
        "id": key("new"),
        "remedials": [key("remedial")],
        "engineers": [key("user")],
        "times": [{"start": "2026-02-10T09:00:00+00:00", "end": "2026-02-10T11:00:00+00:00"}],
        "answer_by": "2026-02-06",
    }


@verb(TimesOfferShown, status=201, summary="Offer a customer some times for one visit.")
class OfferTimes(Act):
    """Nothing is held: a time that is taken meanwhile is refused when it is chosen. Then send it."""

    model = Site
    right = Right.BOOK
    serializer_class = TimesOffered

    def do(self, thing: Site, given: dict[str, Any]) -> TimesOffer:
        given["remedials"] = some(self, Remedial, given["remedials"], "remedials")
        given["engineers"] = colleagues(given["engineers"], "engineers")
        given["times"] = [(time["start"], time["end"]) for time in given["times"]]
        for name, model in (("unit", Unit), ("party", Party)):
            given[name] = one(self, model, given[name], name) if given[name] else None
        return times.offer_times(thing, **given, **self.doing)


class OfferAct(OursAlone, Act):
    """A verb on one offer."""

    model = TimesOffer
    right = Right.BOOK


class TimesSent(serializers.Serializer):
    """To whom the private link goes, by e-mail. `id` is made by the sender: the same again sends no second."""

    id = Key()
    sent_to = Text(help_text="Who is to choose.")
    email = serializers.EmailField(max_length=254)

    example = {"id": key("new"), "sent_to": "Tina Tenant", "email": "tina@example.com"}


@verb(AttemptShown, status=201, summary="E-mail the private link on which a time is chosen.")
class SendTimes(OfferAct):
    """It is kept as an attempt to agree when. A link to hand over by oneself is made on the page."""

    serializer_class = TimesSent

    def do(self, thing: TimesOffer, given: dict[str, Any]) -> Attempt:
        return times_mail.send_times(thing, **given, **self.doing)


class TimesWithdrawn(serializers.Serializer):
    """Nothing needs to be said."""


@verb(TimesOfferShown, summary="Withdraw times; their links open nothing any more.")
class WithdrawTimes(OfferAct):
    """Withdrawn already: nothing more happens."""

    serializer_class = TimesWithdrawn

    def do(self, thing: TimesOffer, given: dict[str, Any]) -> TimesOffer:
        return times.withdraw_times(thing, **self.doing)
