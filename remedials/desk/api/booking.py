"""What may be done with visits: the same operations as the pages call, for the same people, with the same refusals."""

from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.desk.api.ground import Act, Key, Text, rows, some, verb
from remedials.desk.api.visits import VisitShown
from remedials.desk.queries.visits import own
from remedials.visits import operations
from remedials.visits.models import Visit
from remedials.works.models import Remedial

MOST_AT_ONCE = 500


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
        raise serializers.ValidationError(
            {field: [f"There is no such person: {key}." for key in sorted(map(str, missing))]}
        )
    return [found[key] for key in dict.fromkeys(keys)]


def keys_field(*, required: bool = True) -> Any:
    """A list of keys."""
    if required:
        return serializers.ListField(child=Key(), allow_empty=False, max_length=MOST_AT_ONCE)
    return serializers.ListField(child=Key(), required=False, default=list, max_length=MOST_AT_ONCE)


class Booked(serializers.Serializer):
    """A visit to book. `id` is made by the sender: the same again makes no second. Instants with their offset.

    `move`: remedials that are on another visit are taken off it.
    """

    id = Key()
    remedials: Any = keys_field(required=False)
    engineers: Any = keys_field()
    start = serializers.DateTimeField()
    end = serializers.DateTimeField()
    access = Text(required=False)
    outage = Text(required=False)
    move = serializers.BooleanField(required=False, default=False)


@verb(VisitShown, status=201, summary="Book a visit to a site.")
class Book(Act):
    model = Site
    right = Right.BOOK
    serializer_class = Booked

    def do(self, thing: Site, given: dict[str, Any]) -> Visit:
        remedials = some(self, Remedial, given.pop("remedials"), "remedials")
        engineers = colleagues(given.pop("engineers"), "engineers")
        return operations.book_visit(thing, remedials=remedials, engineers=engineers, **given, **self.doing)


class VisitCancelled(serializers.Serializer):
    """Why it is cancelled."""

    reason = Text()


@verb(VisitShown, summary="Cancel a visit; what is not done yet is to be booked again.")
class Cancel(VisitAct):
    serializer_class = VisitCancelled

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        return operations.cancel_visit(thing, **given, **self.doing)
