"""The planner: plans with what they could not place, what they propose; asking, accepting, refusing."""

from typing import Any

import django_filters
from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.models import User
from jobsite.people.rights import Right
from remedials.desk.api.ground import Act, Day, Key, Text, UnknownRow, Whole, verb
from remedials.desk.api.reading import List, One, Rows
from remedials.desk.api.visits.booking import colleagues, keys_field
from remedials.desk.api.visits.firm import OursAlone
from remedials.desk.api.visits.visits import VisitShown
from remedials.visits.choices import Effort, PlanState, ProposalState
from remedials.visits.models import Plan, Proposal, Unplanned, Visit
from remedials.visits.operations import planning, working_out
from remedials.visits.operations.planning import MOST_DAYS
from remedials.works.models import Remedial

LARGEST_SEED = 1_000_000


# --- to read ----------------------------------------------------------------------------------------------------------


class UnplannedShown(serializers.ModelSerializer):
    """Work that could not be placed, and why."""

    class Meta:
        model = Unplanned
        fields = ["remedial", "why"]


class PlanShown(serializers.ModelSerializer):
    """One asking for a plan: `days` days from `first`. `sentence`: why it failed, or that time cut it short.

    `figures`: what it comes to, as the planner counts it: minutes and kilometres of driving, work planned, seconds taken.
    """

    unplanned = UnplannedShown(many=True, read_only=True)

    class Meta:
        model = Plan
        fields = [
            "id", "number", "first", "days", "effort", "seed", "state", "figures", "sentence", "after", "unplanned", "made_by",
            "made_at", "ready_at",
        ]  # fmt: skip


class PlanFilter(FilterSet):
    state = django_filters.ChoiceFilter(choices=PlanState.choices)


class FirmsPlans(OursAlone, Rows):
    """Plans are the office's."""

    right = Right.BOOK
    queryset = Plan.objects.prefetch_related(Prefetch("unplanned", Unplanned.objects.order_by("pk")))
    serializer_class = PlanShown

    def get_queryset(self) -> QuerySet[Any]:
        """All of them, for whoever may plan."""
        return self.queryset.all()


@extend_schema_view(get=extend_schema(summary="Plans, in the order of their numbers."))
class Plans(FirmsPlans, List):
    """What they propose are rows of their own: `proposals/?plan=`."""

    filterset_class = PlanFilter


@extend_schema_view(get=extend_schema(summary="One plan."))
class OnePlan(FirmsPlans, One):
    """Waiting, being worked out, ready or failed."""


class ProposalShown(serializers.ModelSerializer):
    """One visit that a plan proposes. `said`: why it was refused, or is no longer possible; `visit`: the booked one.

    `drive_minutes`: minutes of driving from where they are before it.
    """

    engineers: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    remedials: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)

    class Meta:
        model = Proposal
        fields = [
            "id", "plan", "site", "engineers", "remedials", "start", "end", "drive_minutes", "reason", "state", "said",
            "decided_by", "decided_at", "visit",
        ]  # fmt: skip


class ProposalFilter(FilterSet):
    plan = django_filters.UUIDFilter(field_name="plan_id")
    site = django_filters.UUIDFilter(field_name="site_id")
    remedial = django_filters.UUIDFilter(method="by_remedial", label="a remedial that it is for")
    state = django_filters.ChoiceFilter(choices=ProposalState.choices)

    def by_remedial(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(remedials=value)


class FirmsProposals(OursAlone, Rows):
    """What plans propose is the office's to decide."""

    right = Right.BOOK
    queryset = Proposal.objects.prefetch_related(
        Prefetch("engineers", User.objects.order_by("name", "pk")),
        Prefetch("remedials", Remedial.objects.order_by("number")),
    )
    serializer_class = ProposalShown

    def get_queryset(self) -> QuerySet[Any]:
        """All of them, for whoever may plan."""
        return self.queryset.all()


@extend_schema_view(get=extend_schema(summary="Visits that plans propose."))
class Proposals(FirmsProposals, List):
    """Open ones, and those that were decided."""

    filterset_class = ProposalFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One visit that a plan proposes."))
class OneProposal(FirmsProposals, One):
    """Who would go where and when, and why then."""


# --- to do ------------------------------------------------------------------------------------------------------------


class PlanAct(OursAlone, Act):
    """A verb on one plan."""

    model = Plan
    right = Right.BOOK

    def thing(self) -> Any:
        """The plan; 404 where there is none."""
        return get_object_or_404(Plan, pk=self.kwargs["pk"])


class PlanAsked(serializers.Serializer):
    """Which days, whom it may send, how long it searches. `id` is made by the sender: the same again makes no second.

    With the same `seed` the same work gives the same plan. `after`: a plan that is ready, to begin from.
    """

    id = Key()
    first = Day()
    days = Whole(min_value=1, max_value=MOST_DAYS, required=False, default=7)
    engineers: Any = keys_field()
    effort = serializers.ChoiceField(Effort.choices, required=False, default=Effort.NORMAL.value)
    seed = Whole(min_value=0, max_value=LARGEST_SEED, required=False, default=1)
    after = Key(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "first": "2026-02-04", "days": 5, "engineers": [key("user")], "effort": "quick"}


@verb(PlanShown, status=201, summary="Ask for a plan; a worker works it out.")
class AskPlan(PlanAct):
    """Nothing is booked by it: what it proposes is accepted or refused, visit by visit."""

    serializer_class = PlanAsked

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> Plan:
        given["engineers"] = colleagues(given["engineers"], "engineers")
        if after := given.pop("after"):
            given["after"] = Plan.objects.filter(pk=after, state=PlanState.READY).first()
            if given["after"] is None:
                raise UnknownRow({"after": ["There is no such plan that is ready."]})
        return planning.ask_plan(**given, **self.doing)


class Said(serializers.Serializer):
    """Nothing needs to be said."""


@verb(PlanShown, summary="Work out a plan now, where no worker has begun to.")
class WorkOut(PlanAct):
    """It takes as long as its effort says. One that a worker has, or that is worked out, stays as it is."""

    serializer_class = Said

    def do(self, thing: Plan, given: dict[str, Any]) -> Plan:
        working_out.work_out(thing.pk, now=self.request.now)  # type: ignore[attr-defined]
        return Plan.objects.get(pk=thing.pk)


class NotAccepted(serializers.Serializer):
    """A proposal that could not be accepted, and why."""

    proposal = serializers.UUIDField(source="pk")
    why = serializers.CharField()


class AllAccepted(serializers.Serializer):
    """What was booked, and what was not."""

    visits: Any = VisitShown(many=True)
    refused: Any = NotAccepted(many=True)


@verb(AllAccepted, summary="Accept all that a plan still proposes, each by itself.")
class AcceptAll(PlanAct):
    """What the booking warns of is not accepted here: that takes somebody's word, proposal by proposal."""

    serializer_class = Said

    def do(self, thing: Plan, given: dict[str, Any]) -> Any:
        visits, refused = planning.accept_all(thing, **self.doing)
        return {"visits": visits, "refused": [{"pk": one.pk, "why": why} for one, why in refused]}


class ProposalAct(OursAlone, Act):
    """A verb on one proposal."""

    model = Proposal
    right = Right.BOOK

    def thing(self) -> Any:
        """The proposal; 404 where there is none."""
        return get_object_or_404(Proposal.objects.select_related("site", "plan"), pk=self.kwargs["pk"])


class ProposalAccepted(serializers.Serializer):
    """Why in spite of what the booking warns of, where it does."""

    despite = Text(required=False)

    example: dict[str, Any] = {"despite": ""}


@verb(VisitShown, summary="Accept a proposed visit: it is booked.")
class Accept(ProposalAct):
    """With all the checks of a booking. One whose work or time is taken meanwhile is marked as no longer possible."""

    serializer_class = ProposalAccepted

    def do(self, thing: Proposal, given: dict[str, Any]) -> Visit:
        return planning.accept(thing, **given, **self.doing)


class ProposalRefused(serializers.Serializer):
    """Why it is refused."""

    why = Text()

    example = {"why": "The tenant is away on that day"}


@verb(ProposalShown, summary="Refuse a proposed visit; its work is free for the next plan.")
class Refuse(ProposalAct):
    """Refused already: nothing more happens."""

    serializer_class = ProposalRefused

    def do(self, thing: Proposal, given: dict[str, Any]) -> Proposal:
        return planning.refuse(thing, **given, **self.doing)
