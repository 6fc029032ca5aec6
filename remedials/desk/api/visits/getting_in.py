"""Getting in: attempts, and who is in a place alone. No alarm code is ever given out here."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404
from django.http.response import HttpResponseBase
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.downloads import as_picture
from jobsite.ledger.files import read_file
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused
from remedials.desk.api.files import PDF, File, file, kept
from remedials.desk.api.ground import Act, Day, Key, Moment, Text, one, verb
from remedials.desk.api.reading import List, One, Rows
from remedials.desk.api.visits.booking import VisitAct
from remedials.desk.api.visits.firm import OursAlone
from remedials.desk.queries.visits import own
from remedials.visits.choices import AttemptHow
from remedials.visits.models import Attempt, CheckIn, Visit
from remedials.visits.operations.attempts import log_attempt
from remedials.visits.operations.checking_in import check_in, check_out

NOT_KEPT = "private, no-store"


class AttemptShown(serializers.ModelSerializer):
    """One attempt to get in, or to agree when: whom, how, when, what came of it. `next_on`: when to try again.

    `photo`, `letter`: the SHA-256 of the file as it is kept, null where there is none.
    """

    class Meta:
        model = Attempt
        fields = [
            "id", "site", "unit", "visit", "how", "at", "by", "whom", "said", "got_in", "reply", "replied_on", "next_on",
            "photo", "letter", "recorded_at",
        ]  # fmt: skip


class AttemptFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    unit = django_filters.UUIDFilter(field_name="unit_id")
    visit = django_filters.UUIDFilter(field_name="visit_id")


class OwnAttempts(Rows):
    """The attempts that this person may see: of a subcontractor those of own visits."""

    queryset: QuerySet[Any] = Attempt.objects.all()

    def get_queryset(self) -> QuerySet[Any]:
        """Through the one door to rows, and for a subcontractor one more."""
        rows, user = super().get_queryset(), self.request.user
        if not user.is_authenticated or not user.subcontractor:
            return rows
        return rows.filter(visit__in=own(Visit.objects.all(), user))


@extend_schema_view(get=extend_schema(summary="Attempts to get in, in the order in which they were recorded."))
class Attempts(OwnAttempts, List):
    serializer_class = AttemptShown
    filterset_class = AttemptFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One attempt to get in."))
class OneAttempt(OwnAttempts, One):
    serializer_class = AttemptShown


@file("image/jpeg", summary="The photograph of an attempt to get in.")
class AttemptPhoto(OursAlone, OwnAttempts, File):
    """404 where there is none; none for a subcontractor, as on the page."""

    queryset = Attempt.objects.select_related("photo")

    def answer(self, row: Attempt) -> HttpResponseBase:
        if row.photo is None:
            raise Http404
        return as_picture(self.request, row.photo, keep=NOT_KEPT)


@file(PDF, summary="A letter that asks to be let in, as it went out.")
class AttemptLetter(OursAlone, OwnAttempts, File):
    """Byte for byte; 404 where there is none; none for a subcontractor, as on the page."""

    queryset = Attempt.objects.select_related("letter")

    def answer(self, row: Attempt) -> HttpResponseBase:
        if row.letter is None:
            raise Http404
        return kept(read_file(row.letter), row.letter.media_type, f"{row.how}-{row.at:%Y-%m-%d}.pdf")


class AttemptMade(serializers.Serializer):
    """An attempt to keep. `id` is made by the sender: the same again makes no second. A reply has its day."""

    id = Key()
    how = serializers.ChoiceField(choices=AttemptHow.choices)
    at = Moment()
    whom = Text()
    said = Text(required=False)
    got_in = serializers.BooleanField(required=False, default=False)
    unit = Key(required=False, allow_null=True)
    visit = Key(required=False, allow_null=True)
    next_on = Day(required=False, allow_null=True, default=None)
    reply = Text(required=False)
    replied_on = Day(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"),
        "how": "phone",
        "at": "2026-02-03T11:00:00+00:00",
        "whom": "Tina Tenant",
        "said": "Which day suits",
    }


@verb(AttemptShown, status=201, summary="Keep an attempt to get in.")
class LogAttempt(Act):
    model = Site
    right = Right.SEE_WORK  # the office, or an engineer who sees the site: the operation decides
    serializer_class = AttemptMade

    def do(self, thing: Site, given: dict[str, Any]) -> Attempt:
        unit, visit = given.pop("unit", None), given.pop("visit", None)
        given["unit"] = one(self, Unit, unit, "unit") if unit else None
        given["visit"] = one(self, Visit, visit, "visit") if visit else None
        return log_attempt(thing, **given, **self.doing)


class CheckInShown(serializers.ModelSerializer):
    """That somebody is in a place alone, and when they said they would be out; `out_at` once they are."""

    class Meta:
        model = CheckIn
        fields = ["id", "site", "visit", "user", "in_at", "out_by", "out_at"]


class CheckedIn(serializers.Serializer):
    """When you will be out (an instant), or somebody asks after you. `id` is made by the sender."""

    id = Key()
    out_by = Moment()

    example = {"id": key("new"), "out_by": "2026-02-03T15:00:00+00:00"}


@verb(CheckInShown, status=201, summary="Say that you are in, alone, and when you will be out.")
class In(VisitAct):
    right = Right.DO_WORK
    serializer_class = CheckedIn

    def do(self, thing: Visit, given: dict[str, Any]) -> CheckIn:
        return check_in(thing, **given, **self.doing, made_at=self.request.made_at)  # type: ignore[attr-defined]


class CheckedOut(serializers.Serializer):
    """Nothing needs to be said."""


@verb(CheckInShown, summary="Say that you are out and well.")
class Out(VisitAct):
    right = Right.DO_WORK
    serializer_class = CheckedOut

    def do(self, thing: Visit, given: dict[str, Any]) -> CheckIn:
        mine = thing.check_ins.filter(user=self.request.user.pk).order_by("-in_at").first()
        if mine is None:
            raise Refused("You did not check in on this visit.")
        return check_out(mine, **self.doing, made_at=self.request.made_at)  # type: ignore[attr-defined]
