"""The rows behind a customer's page, each statement once whatever the number of items; read only what may be shown."""

from dataclasses import dataclass, field
from uuid import UUID

from django.contrib.postgres.aggregates import ArrayAgg
from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Subquery

from inspections.choices import Ended, InspectionKind, InspectionState
from inspections.models import DangerNotice, Inspection, Limitation, MadeSafe, Observation, ObservationPhoto
from inspections.rules import Item
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Board, Site, Unit
from remedials.visits.models import VisitLine
from remedials.works.models import Proof, ProofPhoto, ProofReview, Remedies, Waiting, WayOut
from remedials.works.states import Stage

# An observation that ended so is no longer spoken of: another carries it on, or it was withdrawn.
UNSPOKEN = (Ended.CONTINUED, Ended.WITHDRAWN)
CLOSED = (Stage.DONE, Stage.REVIEWED)


@dataclass
class Scope:
    """What a link opens: a whole site, or one unit of it and nobody else's."""

    site: Site
    units: list[Unit]
    one_unit: bool

    @property
    def keys(self) -> list[UUID]:
        return [unit.pk for unit in self.units]


@dataclass
class Facts:
    """Everything that a page rests on."""

    scope: Scope
    inspections: list[Inspection] = field(default_factory=list)
    limitations: list[Limitation] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)
    remedies: dict[UUID, list[Remedies]] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)


def scope_of(link: PrivateLink) -> Scope | None:
    """The site and units that `link` opens; None where they are no longer there. One statement."""
    units = Unit.objects.filter(site=link.site).select_related("site", "inspection_due").order_by("sort", "pk")
    found = list(units.filter(pk=link.unit) if link.unit else units)
    return Scope(found[0].site, found, bool(link.unit)) if found else None


def boards_in(scope: Scope) -> QuerySet[Board]:
    """The boards that are there now, of the site or serving the one unit."""
    boards = Board.objects.filter(site=scope.site, retired_at=None)
    return boards.filter(units__in=scope.keys) if _part(scope) else boards


def _part(scope: Scope) -> bool:
    """Whether the page is about a part of a site, so that what belongs to others must be kept out."""
    return scope.one_unit and not scope.units[0].whole_site


def inspections_in(scope: Scope) -> list[Inspection]:
    """The reports in force of the scope's units, the latest first, each with `unit_keys`, and `boards_seen` of `boards_here`."""
    here = boards_in(scope).order_by().values("site").annotate(n=Count("pk", distinct=True)).values("n")
    seen = boards_in(scope).filter(inspections=OuterRef("pk")).order_by().values("site")
    found = Inspection.objects.filter(site=scope.site, state=InspectionState.ISSUED, units__in=scope.keys)
    return list(
        found.exclude(kind=InspectionKind.CALL_OUT)
        .annotate(
            unit_keys=ArrayAgg("units", distinct=True),
            boards_here=Subquery(here),
            boards_seen=Subquery(seen.annotate(n=Count("pk", distinct=True)).values("n")),
        )
        .order_by("-inspected_on", "-issued_at", "-pk")
    )


def limitations_in(scope: Scope) -> list[Limitation]:
    """What no inspection has covered since. One statement."""
    found = Limitation.objects.standing().filter(inspection__site=scope.site, inspection__units__in=scope.keys)
    found = found.filter(Q(unit=None) | Q(unit__in=scope.keys))
    if _part(scope):
        others = Board.objects.filter(site=scope.site, units__isnull=False).exclude(units__in=scope.keys)
        found = found.filter(Q(board=None) | ~Q(board__in=others))
    return list(found.select_related("inspection").order_by("inspection__inspected_on", "pk").distinct())


def observations_in(scope: Scope) -> list[Observation]:
    """Those that the page speaks of or counts, with what stands on each beside them. One statement."""
    standing = MadeSafe.objects.filter(observation=OuterRef("pk"), ended="")
    told = DangerNotice.objects.filter(observations=OuterRef("pk")).order_by("-given_at")
    waits = Waiting.objects.filter(
        Q(observation=OuterRef("pk")) | Q(remedial__remedies__observation=OuterRef("pk")), ended_at=None
    )
    promised = waits.order_by().values("site").annotate(first=Min("promised_for")).values("first")
    found = Observation.objects.filter(site=scope.site, unit__in=scope.keys, draft=False)
    return list(
        found.exclude(ended=Ended.WITHDRAWN)
        .select_related("unit", "board", "circuit")
        .annotate(
            safe_at=Subquery(standing.values("at")[:1]),
            safe_how=Subquery(standing.values("how")[:1]),
            told_at=Subquery(told.values("given_at")[:1]),
            waits=Exists(waits),
            promised=Subquery(promised),
        )
        .order_by("number")
    )


def remedies_of(observations: list[Observation], scope: Scope) -> dict[UUID, list[Remedies]]:
    """The remedials of `observations` by observation, with what a customer hears of each. One statement."""
    line = VisitLine.objects.filter(remedial=OuterRef("remedial"), active=True)
    no = WayOut.objects.filter(remedial=OuterRef("remedial"), stage=Stage.DECLINED).order_by("-recorded_at")
    proof = Proof.objects.filter(remedial=OuterRef("remedial"), state=Proof.State.STANDS)
    accepted = ProofReview.objects.filter(proof__remedial=OuterRef("remedial"), proof__state=Proof.State.STANDS)
    others = Remedies.objects.filter(remedial=OuterRef("remedial")).exclude(observation__unit__in=scope.keys)
    found = Remedies.objects.filter(observation__in=observations).select_related("remedial")
    found = found.annotate(
        starts=Subquery(line.values("visit__start")[:1]),
        ends=Subquery(line.values("visit__end")[:1]),
        said_no_on=Subquery(no.values("on")[:1]),
        ask_again_on=Subquery(no.values("offer_again_on")[:1]),
        done_at=Subquery(proof.values("done_at")[:1]),
        accepted=Exists(accepted.filter(decision=ProofReview.Decision.ACCEPTED)),
        shared=Exists(others),
    )
    by_observation: dict[UUID, list[Remedies]] = {}
    for row in found.order_by("remedial__number"):
        by_observation.setdefault(row.observation_id, []).append(row)
    return by_observation


def photos_before(scope: Scope) -> QuerySet[ObservationPhoto]:
    """The photographs of defects that the scope may see."""
    seen = Observation.objects.filter(site=scope.site, unit__in=scope.keys, draft=False).exclude(ended__in=UNSPOKEN)
    return ObservationPhoto.objects.filter(observation__in=seen).order_by("added_at", "pk")


def photos_after(scope: Scope) -> QuerySet[ProofPhoto]:
    """The photographs after the work that the scope may see: of proof that stands, and not of somebody else's unit.

    One that is for no single observation shows all of its remedial's, so all of those must be in scope.
    """
    others = Remedies.objects.filter(remedial=OuterRef("remedial")).exclude(observation__unit__in=scope.keys)
    found = ProofPhoto.objects.filter(
        proof__state=Proof.State.STANDS, remedial__site=scope.site, remedial__stage__in=CLOSED
    )
    own = Q(observation__unit__in=scope.keys) | (Q(observation=None) & ~Exists(others))
    return found.filter(own).order_by("added_at", "pk")


def items_at(site: Site) -> list[Item]:
    """What completion is counted from. Of the whole site: what continues an item may stand at another unit. One statement."""
    rows = Observation.objects.filter(site=site, draft=False)
    return [Item(*row) for row in rows.values_list("pk", "code", "ended", "continues", "inspection")]


def all_facts(scope: Scope) -> Facts:
    """Everything but the photographs. Six statements."""
    observations = observations_in(scope)
    return Facts(
        scope=scope,
        inspections=inspections_in(scope),
        limitations=limitations_in(scope),
        observations=observations,
        remedies=remedies_of(observations, scope),
        items=items_at(scope.site),
    )
