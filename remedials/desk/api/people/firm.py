"""The firm itself, its limits by date, and what others open it by: private links and personal tokens."""

from decimal import Decimal
from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.firm import operations as of_firm
from jobsite.firm.models import Firm, Policy
from jobsite.firm.queries import the_firm
from jobsite.people import operations
from jobsite.people.forms import NATIONS, ROUNDINGS
from jobsite.people.models import AccessToken, PrivateLink
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site
from remedials.desk.api.fields import Changes, Line, Nothing, Words
from remedials.desk.api.ground import Act, Day, verb
from remedials.desk.api.people.ground import New
from remedials.desk.api.reading import YES_OR_NO, List, OfTheFirm, One, Rows

LONGEST_DAYS = 3650

# --- the firm ---------------------------------------------------------------------------------------------------------


class FirmShown(serializers.ModelSerializer):
    """The firm as its customers see it; `nation`: whose bank holidays it keeps."""

    class Meta:
        model = Firm
        fields = ["id", "name", "address", "phone", "email", "nation", "surnames", "version"]


@extend_schema_view(get=extend_schema(summary="The firm."))
class TheFirm(OfTheFirm, One):
    queryset = Firm.objects.all()
    serializer_class = FirmShown
    right = Right.KEEP_FIRM

    def get_object(self) -> Firm:
        """The one that there is, with default words where nobody entered any."""
        return the_firm()


class FirmDescribed(Changes):
    """What is to be changed; what is left out stays."""

    name = Line()
    address = Words(required=False)
    phone = Line(required=False)
    email = serializers.EmailField(max_length=254, allow_blank=True)
    nation = serializers.ChoiceField(choices=NATIONS)
    surnames = serializers.BooleanField(help_text="Whether customers read the surnames of the firm's people.")

    example = {"phone": "01632 960100"}


@verb(FirmShown, summary="Change how the firm presents itself.")
class Describe(New):
    model = Firm
    right = Right.KEEP_FIRM
    versioned = True
    serializer_class = FirmDescribed

    def thing(self) -> Firm:  # type: ignore[override]
        """The one that there is."""
        return the_firm()

    def do(self, thing: Firm, given: dict[str, Any]) -> Firm:
        return of_firm.describe_firm(**given, **self.doing)


# --- its limits -------------------------------------------------------------------------------------------------------


class PolicyShown(serializers.ModelSerializer):
    """The firm's own limits from a day on, in days; they never lengthen the law's."""

    class Meta:
        model = Policy
        fields = [
            "id", "holds_from", "reason", "c1_days", "c2_days", "fi_days", "decide_days", "step_days", "look_again_days",
            "inspection_notice_days", "loop_factor", "loop_rounding", "meter_tolerance_percent",
        ]  # fmt: skip


class PolicyFilter(FilterSet):
    holds_from = django_filters.DateFilter(label="from just this day on")


@extend_schema_view(get=extend_schema(summary="The firm's limits, by the day from which they hold."))
class Policies(OfTheFirm, List):
    queryset = Policy.objects.all()
    serializer_class = PolicyShown
    filterset_class = PolicyFilter
    right = Right.KEEP_FIRM
    ordering = "holds_from"


@extend_schema_view(get=extend_schema(summary="The firm's limits from one day on."))
class OnePolicy(OfTheFirm, One):
    queryset = Policy.objects.all()
    serializer_class = PolicyShown
    right = Right.KEEP_FIRM


def days() -> Any:
    """A number of days."""
    return serializers.IntegerField(min_value=1, max_value=LONGEST_DAYS)


class PolicySet(serializers.Serializer):
    """Limits in days, counted beginning with the day of record. `loop_factor`: of a loop impedance on a cold conductor."""

    holds_from = Day()
    reason = Line()
    c1_days, c2_days, fi_days = days(), days(), days()
    decide_days, step_days, look_again_days, inspection_notice_days = days(), days(), days(), days()
    loop_factor = serializers.DecimalField(3, 2, min_value=Decimal("0.01"), max_value=1)
    loop_rounding = serializers.ChoiceField(choices=ROUNDINGS)
    meter_tolerance_percent = serializers.DecimalField(4, 2, min_value=Decimal("0.1"), max_value=25)

    example = {
        "holds_from": "2026-03-01", "reason": "Agreed at the yearly review", "c1_days": 5, "c2_days": 21, "fi_days": 21,
        "decide_days": 3, "step_days": 5, "look_again_days": 7, "inspection_notice_days": 90, "loop_factor": "0.80",
        "loop_rounding": "exact", "meter_tolerance_percent": "5.00",
    }  # fmt: skip


@verb(PolicyShown, summary="Set the firm's limits from a day on.")
class SetPolicy(New):
    model = Policy
    right = Right.KEEP_FIRM
    serializer_class = PolicySet

    def do(self, thing: None, given: dict[str, Any]) -> Policy:
        return of_firm.set_policy(**given, **self.doing)


# --- private links ----------------------------------------------------------------------------------------------------


class LinkShown(serializers.ModelSerializer):
    """A private link: what it opens, to whom it was given, until when. Its address is nowhere kept."""

    class Meta:
        model = PrivateLink
        fields = [
            "id", "purpose", "site", "unit", "party", "thing", "sent_to", "made_by", "made_at", "expires_at",
            "withdrawn_at", "last_used_at", "uses",
        ]  # fmt: skip


class LinkFilter(FilterSet):
    site = django_filters.UUIDFilter()
    party = django_filters.UUIDFilter()
    thing = django_filters.UUIDFilter(label="the one quote, offered times, visit or copy that it opens")
    purpose = django_filters.ChoiceFilter(choices=PrivateLink.Purpose.choices)


def links_seen(user: Any) -> QuerySet[PrivateLink]:
    """The links to what `user` sees: sites, or all units of a customer; to whom they went is not a subcontractor's to read."""
    if user.subcontractor:
        return PrivateLink.objects.none()
    sites, parties = Site.objects.visible_to(user).values("pk"), Party.objects.visible_to(user).values("pk")
    return PrivateLink.objects.filter(Q(site__in=sites) | Q(site=None, party__in=parties))


class Links(Rows):
    """Private links of what one sees."""

    queryset = PrivateLink.objects.all()
    serializer_class = LinkShown
    right = Right.SHARE_STATUS

    def get_queryset(self) -> QuerySet[Any]:
        """Those to what this person sees."""
        return self.queryset.none() if getattr(self, "swagger_fake_view", False) else links_seen(self.request.user)


@extend_schema_view(get=extend_schema(summary="Private links, in the order in which they were made."))
class LinkList(Links, List):
    filterset_class = LinkFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One private link."))
class OneLink(Links, One):
    pass


@verb(LinkShown, summary="Withdraw a private link: it opens nothing any more.")
class WithdrawLink(Act):
    model = PrivateLink
    right = Right.SHARE_STATUS
    serializer_class = Nothing

    def thing(self) -> Any:
        """The link, as far as this person sees what it opens."""
        return get_object_or_404(links_seen(self.request.user), pk=self.kwargs["pk"])

    def do(self, thing: PrivateLink, given: dict[str, Any]) -> PrivateLink:
        return operations.withdraw_link(thing, **self.doing)


# --- personal tokens --------------------------------------------------------------------------------------------------


class TokenShown(serializers.ModelSerializer):
    """A personal token: which program has it and what it may. The token itself is nowhere kept."""

    class Meta:
        model = AccessToken
        fields = ["id", "user", "name", "scope", "made_at", "expires_at", "last_used_at", "ended_at"]


class TokenFilter(FilterSet):
    ended = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_ended", label="ended by hand, or with its person")

    def by_ended(self, rows: Any, name: str, value: str) -> Any:
        return rows.filter(ended_at__isnull=value == "false")


def tokens_seen(user: Any) -> QuerySet[AccessToken]:
    """One's own; for who keeps people everybody's."""
    rows = AccessToken.objects.all()
    return rows if user.may(Right.KEEP_PEOPLE) else rows.filter(user=user.pk)


class Tokens(Rows):
    """Personal tokens that one may end."""

    queryset = AccessToken.objects.all()
    serializer_class = TokenShown

    def get_queryset(self) -> QuerySet[Any]:
        """Those that this person may end."""
        return self.queryset.none() if getattr(self, "swagger_fake_view", False) else tokens_seen(self.request.user)


@extend_schema_view(get=extend_schema(summary="Personal tokens, one's own; for managers everybody's."))
class TokenList(Tokens, List):
    filterset_class = TokenFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One personal token."))
class OneToken(Tokens, One):
    pass


@verb(TokenShown, summary="End a personal token: it opens nothing any more.")
class EndToken(Act):
    model = AccessToken
    serializer_class = Nothing

    def thing(self) -> Any:
        """The token, if this person may end it."""
        return get_object_or_404(tokens_seen(self.request.user), pk=self.kwargs["pk"])

    def do(self, thing: AccessToken, given: dict[str, Any]) -> AccessToken:
        return operations.end_token(thing, **self.doing)
