"""Calendar addresses: who has one and when it was read last, and ending one.

An address is a secret that is told once: it is made on its page, and never given out here.
"""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, verb
from remedials.desk.api.reading import YES_OR_NO, List, One, Rows
from remedials.visits import operations
from remedials.visits.models import Feed


class CalendarAddressShown(serializers.ModelSerializer):
    """That a phone may read the visits of `user` (null: everybody's), and how often it did. Never the address itself."""

    class Meta:
        model = Feed
        fields = ["id", "user", "made_by", "made_at", "withdrawn_at", "last_used_at", "uses"]


class FeedFilter(FilterSet):
    user = django_filters.UUIDFilter(field_name="user_id")
    current = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_current", label="not withdrawn")

    def by_current(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(withdrawn_at__isnull=value == "true")


class AllFeeds(Rows):
    """The office keeps those of all."""

    right = Right.BOOK
    queryset = Feed.objects.all()
    serializer_class = CalendarAddressShown

    def get_queryset(self) -> QuerySet[Any]:
        """Everybody's."""
        return self.queryset.all()


class OwnFeeds(AllFeeds):
    """One's own."""

    right = Right.DO_WORK

    def get_queryset(self) -> QuerySet[Any]:
        """Of the person who asks."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        return self.queryset.filter(user=self.request.user.pk)


@extend_schema_view(get=extend_schema(summary="Calendar addresses of all, without the addresses themselves."))
class Feeds(AllFeeds, List):
    """Withdrawn ones too."""

    filterset_class = FeedFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One calendar address, without the address itself."))
class OneFeed(AllFeeds, One):
    """Whose it is, and when it was read last."""


@extend_schema_view(get=extend_schema(summary="Your own calendar addresses, without the addresses themselves."))
class MyFeeds(OwnFeeds, List):
    """Withdrawn ones too."""

    filterset_class = FeedFilter
    ordering = "id"


class FeedWithdrawn(serializers.Serializer):
    """Nothing needs to be said."""


@verb(CalendarAddressShown, summary="End a calendar address at once.")
class WithdrawFeed(Act):
    """Withdrawn already: nothing more happens."""

    model = Feed
    right = Right.BOOK
    serializer_class = FeedWithdrawn

    def thing(self) -> Any:
        """The address of whomever."""
        return get_object_or_404(Feed, pk=self.kwargs["pk"])

    def do(self, thing: Feed, given: dict[str, Any]) -> Feed:
        return operations.withdraw_feed(thing, **self.doing)


@verb(CalendarAddressShown, summary="End your own calendar address at once.")
class WithdrawMyFeed(WithdrawFeed):
    """It opens nothing any more; a new one is made on its page."""

    right = Right.DO_WORK

    def thing(self) -> Any:
        """The one that stands, if one does."""
        return Feed.objects.filter(user=self.request.user.pk, withdrawn_at=None).first()

    def do(self, thing: Feed | None, given: dict[str, Any]) -> Feed:
        if thing is None:
            raise Refused("You have no calendar address.")
        return operations.withdraw_feed(thing, **self.doing)
