"""Sites, their units, who answers for them, customers and other parties, to read. What is not a field here is not given out."""

from typing import Any

import django_filters
from django.db.models import Exists, OuterRef, QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.models import InspectionDue
from jobsite import clock
from jobsite.people.rights import Right
from jobsite.premises.models import FormerCustomer, Party, PartyAtUnit, Site, Unit
from jobsite.sorting import sort_key
from remedials.desk.api.reading import YES_OR_NO, Archived, List, One, Rows
from remedials.desk.queries.sites import that_say, with_danger

LONGEST_WORDS = 200
SITES = Site.objects.all()
UNITS = Unit.objects.all()
PARTIES = Party.objects.prefetch_related("former_sites")
ROLES: QuerySet[PartyAtUnit] = PartyAtUnit.objects.select_related("unit", "party")


# --- sites ------------------------------------------------------------------------------------------------------------


class SiteShown(serializers.ModelSerializer):
    """A site. Latitude and longitude in degrees. `merged_into`: where it was recorded twice, the site that has all of it now."""

    class Meta:
        model = Site
        fields = [
            "id", "number", "name", "address", "postcode", "nation", "access_notes", "latitude", "longitude", "customer",
            "archived_at", "merged_into", "version",
        ]  # fmt: skip


class SiteFilter(Archived):
    gone = "archived_at"
    customer = django_filters.UUIDFilter(field_name="customer_id")
    words = django_filters.CharFilter(
        method="by_words",
        max_length=LONGEST_WORDS,
        label="in its name, address, post code, customer's name, or its number",
    )
    danger = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_danger", label="a C1, C2 or FI is open there")
    inspection_late = django_filters.ChoiceFilter(
        choices=YES_OR_NO, method="by_inspection", label="the next inspection of a unit is past its day"
    )

    def by_words(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return that_say(rows, value)

    def by_danger(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        dangerous = with_danger(Site.objects.all()).values("pk")
        return rows.filter(pk__in=dangerous) if value == "true" else rows.exclude(pk__in=dangerous)

    def by_inspection(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        due = InspectionDue.objects.filter(unit__site=OuterRef("pk"), unit__retired_at__isnull=True)
        late = Exists(due.filter(due_on__lt=clock.local_day(self.request.now)))
        return rows.filter(late if value == "true" else ~late)


@extend_schema_view(get=extend_schema(summary="Sites, in the order of their numbers."))
class Sites(List):
    queryset = SITES
    serializer_class = SiteShown
    filterset_class = SiteFilter


@extend_schema_view(get=extend_schema(summary="One site."))
class OneSite(One):
    queryset = SITES
    serializer_class = SiteShown


# --- units and who answers for them -----------------------------------------------------------------------------------


class UnitShown(serializers.ModelSerializer):
    """A unit: what is inspected, owned or let by itself. `whole_site`: it is the one unit of a plain site and goes by its name."""

    class Meta:
        model = Unit
        fields = [
            "id", "site", "name", "kind", "tenure", "tenancy_granted_on", "common_parts", "whole_site", "retired_at",
            "version",
        ]  # fmt: skip


class OfSiteFilter(Archived):
    """`site`, and `current` as Archived has it."""

    site = django_filters.UUIDFilter(field_name="site_id")


@extend_schema_view(get=extend_schema(summary="Units, in the order in which they were recorded."))
class Units(List):
    queryset = UNITS
    serializer_class = UnitShown
    filterset_class = OfSiteFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One unit."))
class OneUnit(One):
    queryset = UNITS
    serializer_class = UnitShown


class RoleShown(serializers.ModelSerializer):
    """What a party is at a unit, and how it is reached. `until`: its last day. `limit_pounds`: an approver's standing limit."""

    site = serializers.UUIDField(source="unit.site_id", read_only=True)
    name = serializers.CharField(source="party.name", read_only=True)
    phone = serializers.CharField(source="party.phone", read_only=True)
    email = serializers.CharField(source="party.email", read_only=True)

    class Meta:
        model = PartyAtUnit
        fields = [
            "id", "site", "unit", "party", "role", "limit_pounds", "since", "until", "name", "phone", "email",
        ]  # fmt: skip


class RoleFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="unit__site_id")
    unit = django_filters.UUIDFilter(field_name="unit_id")
    party = django_filters.UUIDFilter(field_name="party_id")
    standing = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_standing", label="has not ended")

    def by_standing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        standing = PartyAtUnit.objects.standing(clock.local_day(self.request.now)).values("pk")
        return rows.filter(pk__in=standing) if value == "true" else rows.exclude(pk__in=standing)


class OwnRoles(Rows):
    """As the pages show them: those that stand to everybody who sees the site, those that ended to who keeps customers."""

    queryset = ROLES

    def get_queryset(self) -> QuerySet[Any]:
        """Through the one door to rows, and without what ended for most."""
        rows, user = super().get_queryset(), self.request.user
        if not user.is_authenticated or (user.may(Right.KEEP_CUSTOMERS) and not user.subcontractor):
            return rows
        return rows.standing(clock.local_day(self.request.now))  # type: ignore[no-any-return, attr-defined]


@extend_schema_view(get=extend_schema(summary="Who is what at which unit, in the order in which it was entered."))
class Roles(OwnRoles, List):
    serializer_class = RoleShown
    filterset_class = RoleFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="What one party is at one unit."))
class OneRole(OwnRoles, One):
    serializer_class = RoleShown


# --- parties ----------------------------------------------------------------------------------------------------------


class FormerSiteShown(serializers.ModelSerializer):
    """A site that was theirs before it was handed over: until which day, that day included, and why."""

    class Meta:
        model = FormerCustomer
        fields = ["site", "until", "reason", "recorded_at"]


class PartyShown(serializers.ModelSerializer):
    """A person or an organisation: customer, owner, agent, occupier, payer. `erased_at`: when its personal data were erased."""

    former_sites = FormerSiteShown(many=True, read_only=True)

    class Meta:
        model = Party
        fields = [
            "id", "name", "organisation", "email", "phone", "address", "former_sites", "archived_at", "erased_at", "version",
        ]  # fmt: skip


class PartyFilter(Archived):
    gone = "archived_at"
    words = django_filters.CharFilter(method="by_words", max_length=LONGEST_WORDS, label="in its name")

    def by_words(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(sort__contains=sort_key(value))


@extend_schema_view(get=extend_schema(summary="Customers and other parties, in the order in which they were entered."))
class Parties(List):
    right = Right.KEEP_CUSTOMERS
    queryset = PARTIES
    serializer_class = PartyShown
    filterset_class = PartyFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One customer or other party."))
class OneParty(One):
    right = Right.KEEP_CUSTOMERS
    queryset = PARTIES
    serializer_class = PartyShown
