"""What the office keeps of getting in to a site: times, closed days, whom to ask."""

from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, one, rows, verb
from remedials.desk.api.visits.site import AccessTimeShown, ClosedDaysShown, OccupierShown
from remedials.visits.models import AccessTime, ClosedDays, OccupierNote
from remedials.visits.operations import access


class SiteAct(Act):
    """A verb of the office on one site, about all of it or one of its units."""

    model = Site
    right = Right.BOOK

    def with_unit(self, given: dict[str, Any]) -> dict[str, Any]:
        """What was given, the unit as a row."""
        unit = given.pop("unit", None)
        return given | {"unit": one(self, Unit, unit, "unit") if unit else None}


class AccessTimeAdded(serializers.Serializer):
    """On which days (0 is Monday), from when until when, local time. `unit` left out: the whole site.

    `id` is made by the sender: the same again makes no second.
    """

    id = Key()
    weekdays: Any = serializers.ListField(
        child=serializers.IntegerField(min_value=0, max_value=6), allow_empty=False, max_length=7
    )
    start = serializers.TimeField()
    end = serializers.TimeField()
    unit = Key(required=False, allow_null=True, default=None)
    note = Text(required=False)

    example = {"id": key("new"), "weekdays": [0, 2], "start": "09:00", "end": "12:00", "note": "Ask at the lodge"}


@verb(AccessTimeShown, status=201, summary="Note a time of the week at which people are let in.")
class AddAccessTime(SiteAct):
    """A booking outside such times is warned of or refused, as the firm has set."""

    serializer_class = AccessTimeAdded

    def do(self, thing: Site, given: dict[str, Any]) -> AccessTime:
        return access.add_access_time(thing, **self.with_unit(given), **self.doing)


@verb(AccessTimeShown, summary="Take a time of the week off again.")
class RemoveAccessTime(Act):
    """Answers with what it was; the ledger keeps it."""

    model = AccessTime
    right = Right.BOOK
    serializer_class = Nothing

    def do(self, thing: AccessTime, given: dict[str, Any]) -> AccessTime:
        access.remove_access_time(thing, **self.doing)
        return thing


class ClosedDaysAdded(serializers.Serializer):
    """From which day to which, both included, and why. `unit` left out: the whole site. `id` is made by the sender."""

    id = Key()
    first = Day()
    last = Day()
    why = Text()
    unit = Key(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "first": "2026-02-16", "last": "2026-02-20", "why": "Stocktaking"}


@verb(ClosedDaysShown, status=201, summary="Note days on which nobody may work at a site.")
class AddClosedDays(SiteAct):
    """A booking on them is warned of or refused, as the firm has set."""

    serializer_class = ClosedDaysAdded

    def do(self, thing: Site, given: dict[str, Any]) -> ClosedDays:
        return access.add_closed_days(thing, **self.with_unit(given), **self.doing)


@verb(ClosedDaysShown, summary="Take closed days off again.")
class RemoveClosedDays(Act):
    """Answers with what they were; the ledger keeps it."""

    model = ClosedDays
    right = Right.BOOK
    serializer_class = Nothing

    def do(self, thing: ClosedDays, given: dict[str, Any]) -> ClosedDays:
        access.remove_closed_days(thing, **self.doing)
        return thing


class OccupierNoted(serializers.Serializer):
    """Whom to ask at a unit and what to mind there; what is left out stays. As few words as will do, and no diagnosis."""

    contact = Text(allow_blank=True)
    phone = Text(allow_blank=True)
    email = serializers.EmailField(allow_blank=True, max_length=254)
    best_times = Text(allow_blank=True)
    mind = Text(allow_blank=True)
    loses_power_badly = serializers.BooleanField()

    example = {"contact": "Tina Tenant", "phone": "07700 900123", "best_times": "After four"}


@verb(OccupierShown, summary="Keep whom to ask at a unit, and what to mind there.")
class NoteOccupier(Act):
    """If-Match names the version of the note as you saw it: "0" where there is none yet. The ledger holds no word of it."""

    model = Unit
    right = Right.BOOK
    versioned = True
    serializer_class = OccupierNoted

    def thing(self) -> Any:
        """The note of the unit that the address names, as far as this person sees it; a new one of version 0."""
        unit = get_object_or_404(rows(self, Unit).select_related("site"), pk=self.kwargs["pk"])
        return OccupierNote.objects.filter(unit=unit).first() or OccupierNote(unit=unit, version=0)

    def get_serializer(self, *args: Any, **kwargs: Any) -> Any:
        """What is left out stays."""
        return super().get_serializer(*args, partial=True, **kwargs)

    def do(self, thing: OccupierNote, given: dict[str, Any]) -> OccupierNote:
        return access.note_occupier(thing.unit, **given, **self.doing)
