"""What may be done with visits: the same operations as the pages call, for the same people, with the same refusals."""

from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from inspections.models import Observation
from jobsite.api.examples import key
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from remedials.desk.api.ground import Act, Key, Moment, Text, UnknownRow, rows, some, verb
from remedials.desk.api.visits.visits import VisitShown
from remedials.desk.queries.visits import own
from remedials.visits import operations
from remedials.visits.choices import Answered, AskedHow
from remedials.visits.models import Visit
from remedials.works.models import Remedial

MOST_AT_ONCE = 500
THINGS: dict[str, Any] = {"remedials": Remedial, "units": Unit, "looks": Observation, "call_outs": Observation}


class VisitAct(Act):
    """A verb on one visit."""

    model = Visit
    right = Right.BOOK

    def thing(self) -> Any:
        """The visit that the address names, as far as this person sees it; 404 otherwise."""
        return get_object_or_404(own(rows(self, Visit), self.request.user), pk=self.kwargs["pk"])  # type: ignore[arg-type]


def colleagues(keys: list[Any], field: str) -> list[User]:
    """The people of the firm with these keys, in their order. Raises ValidationError beside `field` for somebody unknown."""
    found = {user.pk: user for user in User.objects.filter(pk__in=keys)}
    if missing := set(keys) - set(found):
        raise UnknownRow({field: [f"There is no such person: {unknown}." for unknown in sorted(map(str, missing))]})
    return [found[pk] for pk in dict.fromkeys(keys)]


def keys_field(*, required: bool = True) -> Any:
    """A list of keys."""
    if required:
        return serializers.ListField(child=Key(), allow_empty=False, max_length=MOST_AT_ONCE)
    return serializers.ListField(child=Key(), required=False, default=list, max_length=MOST_AT_ONCE)


class Booked(serializers.Serializer):
    """A visit to book. `id` is made by the sender: the same again makes no second. Instants with their offset.

    `units`: inspections of them; `looks`, `call_outs`: observations. `move`: remedials that are on another visit are taken
    off it. `despite`: why, in spite of what was warned of. An `emergency` may `displace` other visits, those that are named
    here by their keys and no others. `confirm`: whether
    somebody is to say that the time suits.
    """

    id = Key()
    remedials: Any = keys_field(required=False)
    engineers: Any = keys_field()
    start = Moment()
    end = Moment()
    units: Any = keys_field(required=False)
    looks: Any = keys_field(required=False)
    call_outs: Any = keys_field(required=False)
    access = Text(required=False)
    outage = Text(required=False)
    outage_with = Text(required=False)
    outage_start = Moment(required=False, allow_null=True, default=None)
    outage_end = Moment(required=False, allow_null=True, default=None)
    permits = Text(required=False)
    locks = Text(required=False)
    move = serializers.BooleanField(required=False, default=False)
    emergency = serializers.BooleanField(required=False, default=False)
    displace: Any = keys_field(required=False)
    despite = Text(required=False)
    confirm = serializers.BooleanField(required=False, default=True)

    example = {
        "id": key("new"),
        "remedials": [key("remedial")],
        "engineers": [key("user")],
        "start": "2026-02-10T09:00:00+00:00",
        "end": "2026-02-10T11:00:00+00:00",
        "access": "Ring the caretaker first",
    }


@verb(VisitShown, status=201, summary="Book a visit to a site.")
class Book(Act):
    model = Site
    right = Right.BOOK
    serializer_class = Booked

    def do(self, thing: Site, given: dict[str, Any]) -> Visit:
        for name, model in THINGS.items():
            given[name] = some(self, model, given.pop(name), name)
        engineers = colleagues(given.pop("engineers"), "engineers")
        return operations.book_visit(thing, engineers=engineers, **given, **self.doing)


class Moved(serializers.Serializer):
    """When instead, and who goes. A confirmed visit moves only with a reason."""

    engineers: Any = keys_field()
    start = Moment()
    end = Moment()
    reason = Text(required=False)
    despite = Text(required=False)

    example = {
        "engineers": [key("user")],
        "start": "2026-02-11T09:00:00+00:00",
        "end": "2026-02-11T11:00:00+00:00",
        "reason": "The tenant asked for it",
    }


@verb(VisitShown, summary="Move a visit to another time or other people.")
class Move(VisitAct):
    versioned = True
    serializer_class = Moved

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        engineers = colleagues(given.pop("engineers"), "engineers")
        return operations.move_visit(thing, engineers=engineers, **given, **self.doing)


class Asked(serializers.Serializer):
    """Who was asked, and how; by "link" an e-mail goes out to `whom`. `id` is made by the sender."""

    id = Key()
    how = serializers.ChoiceField(choices=AskedHow.choices)
    whom = Text()
    words = Text(required=False)

    example = {"id": key("new"), "how": "phone", "whom": "Petra Landlady"}


@verb(VisitShown, summary="Ask, or note that somebody was asked, whether the time of a visit suits.")
class Ask(VisitAct):
    serializer_class = Asked

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        return operations.ask_whether_it_suits(thing, **given, **self.doing).visit


class Confirmed(Asked):
    """What was answered, by whom and how."""

    answered = serializers.ChoiceField(
        choices=[(one.value, one.label) for one in (Answered.CONFIRMED, Answered.CANNOT)]
    )

    example = {"id": key("new"), "answered": "confirmed", "how": "phone", "whom": "Petra Landlady"}


@verb(VisitShown, summary="Record what was answered to the time of a visit.")
class Confirm(VisitAct):
    serializer_class = Confirmed

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        return operations.record_confirmation(thing, **given, **self.doing).visit


class NotLetIn(serializers.Serializer):
    """What was found; who was asked for. `id` is made by the sender."""

    id = Key()
    note = Text()
    whom = Text(required=False)

    example = {"id": key("new"), "note": "Rang twice and waited ten minutes; nobody came"}


@verb(VisitShown, summary="Say that nobody let you in; what is not done yet is to be booked again.")
class NoAccess(VisitAct):
    right = Right.SEE_WORK  # the office, or who goes: the operation decides
    serializer_class = NotLetIn

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        given = {name: value for name, value in given.items() if name != "whom" or value}
        return operations.no_access(thing, **given, **self.doing, made_at=self.request.made_at)  # type: ignore[attr-defined]


class VisitCancelled(serializers.Serializer):
    """Why it is cancelled."""

    reason = Text()

    example = {"reason": "The customer is away"}


@verb(VisitShown, summary="Cancel a visit; what is not done yet is to be booked again.")
class Cancel(VisitAct):
    serializer_class = VisitCancelled

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        return operations.cancel_visit(thing, **given, **self.doing)
