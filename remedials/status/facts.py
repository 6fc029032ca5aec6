"""The rows behind a customer's page, each statement once whatever the number of items; read only what may be shown."""

from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from django.contrib.postgres.aggregates import ArrayAgg
from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Subquery

from inspections.choices import Ended, InspectionKind, InspectionState, PaperAnswer
from inspections.models import DangerNotice, Inspection, Limitation, MadeSafe, Observation, ObservationPhoto, Paper
from inspections.rules import Item
from jobsite.people.models import PrivateLink
from jobsite.people.names import AsCustomersRead, words_as_customers_read
from jobsite.premises.models import Board, Site, Unit
from remedials.status.notices import notices_in
from remedials.visits.models import VisitLine
from remedials.works.models import Proof, ProofPhoto, ProofReview, Remedies, Waiting, WayOut
from remedials.works.states import Stage

REPORTED = "A defect was reported"
LEFT_OUT = "a part of the building that the report does not lay to one home (ask us which)"
SEVERAL = "It covers several homes: what it was to cover stands in the report itself."
# An observation that ended so is no longer spoken of: another carries it on, or it was withdrawn.
UNSPOKEN = (Ended.CONTINUED, Ended.WITHDRAWN)
CONFIRMATION = "confirmation"  # in the key of each duty to confirm completed work, whatever the nation
CLOSED = (Stage.DONE, Stage.REVIEWED)


@dataclass
class Scope:
    """What a page or document is about: a whole site, or one unit of it and nobody else's. `scope_at` makes one.

    `reader`: the party that it is shown to, where that is known.
    """

    site: Site
    units: list[Unit]
    one_unit: bool
    reader: UUID | None = None

    @property
    def keys(self) -> list[UUID]:
        return [unit.pk for unit in self.units]

    @property
    def part(self) -> bool:
        """Whether it is a part of a site, so that what belongs to others must be kept out."""
        return self.one_unit and not self.units[0].whole_site

    @property
    def whose(self) -> str:
        """The unit that a part of a site is, by name; "" for a whole site."""
        return self.units[0].name if self.part else ""


@dataclass
class Facts:
    """Everything that a page rests on. `reads`: how words that name the firm's people are read by customers."""

    scope: Scope
    inspections: list[Inspection] = field(default_factory=list)
    limitations: list[Limitation] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)
    remedies: dict[UUID, list[Remedies]] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    confirmations: list[Paper] = field(default_factory=list)
    reads: AsCustomersRead = field(default_factory=words_as_customers_read)


def scope_at(site: UUID | None, unit: UUID | None = None, *, reader: UUID | None = None) -> Scope | None:
    """The whole of a site, or one unit of it; None where they are no longer there. One statement.

    It asks nobody's right: who may see it is the caller's to know.
    """
    units = Unit.objects.filter(site=site).select_related("site", "inspection_due__after").order_by("sort", "pk")
    found = list(units.filter(pk=unit) if unit else units)
    return Scope(found[0].site, found, bool(unit), reader) if found else None


def scope_of(link: PrivateLink) -> Scope | None:
    """The site and units that `link` opens; None where they are no longer there. One statement.

    A site that is archived opens again when it is brought back; a unit that was taken off by itself does not.
    """
    scope = scope_at(link.site, link.unit, reader=link.party)
    gone = scope is None or scope.site.archived_at or (scope.one_unit and scope.units[0].retired_at)
    return None if gone else scope


def boards_in(scope: Scope) -> QuerySet[Board]:
    """The boards that are there now, of the site or serving the one unit."""
    boards = Board.objects.filter(site=scope.site, retired_at=None)
    return boards.filter(units__in=scope.keys) if scope.part else boards


def inspections_in(scope: Scope) -> list[Inspection]:
    """The reports in force of the scope's units, the latest first, each with `unit_keys`, and `boards_seen` of `boards_here`."""
    here = boards_in(scope).order_by().values("site").annotate(n=Count("pk", distinct=True)).values("n")
    seen = boards_in(scope).filter(inspections=OuterRef("pk")).order_by().values("site")
    found = Inspection.objects.filter(site=scope.site, state=InspectionState.ISSUED, units__in=scope.keys)
    return list(
        found.exclude(kind=InspectionKind.CALL_OUT)
        .annotate(
            unit_keys=ArrayAgg("units", distinct=True),
            homes=_homes("pk"),
            boards_here=Subquery(here),
            boards_seen=Subquery(seen.annotate(n=Count("pk", distinct=True)).values("n")),
        )
        .order_by("-inspected_on", "-issued_at", "-pk")
    )


def limitations_in(scope: Scope) -> list[Limitation]:
    """What no inspection has covered since. One statement."""
    found = Limitation.objects.standing().filter(inspection__site=scope.site, inspection__units__in=scope.keys)
    found = found.filter(Q(unit=None) | Q(unit__in=scope.keys))
    if scope.part:
        others = Board.objects.filter(site=scope.site, units__isnull=False).exclude(units__in=scope.keys)
        found = found.filter(Q(board=None) | ~Q(board__in=others))
    found = found.select_related("inspection").annotate(homes=_homes("inspection"))
    rows: list[Any] = list(found.order_by("inspection__inspected_on", "pk").distinct())
    for row in rows if scope.part else ():
        for_one_home(row, homes=row.homes)
    return rows


def _homes(inspection: str) -> Subquery:
    """How many units a report covers."""
    covered = Inspection.units.through.objects.filter(inspection=OuterRef(inspection)).order_by()
    return Subquery(covered.values("inspection").annotate(n=Count("pk")).values("n"))  # type: ignore[misc]


def for_one_home(limitation: Limitation, *, homes: int) -> None:
    """Take the words off what a report on several homes left out without saying where: they may tell of a neighbour.

    That something was left out is still said. In memory only.
    """
    if homes > 1 and limitation.unit_id is None and limitation.board_id is None:
        limitation.what, limitation.why = LEFT_OUT, ""


def observations_in(scope: Scope) -> list[Observation]:
    """Those that the page speaks of or counts, with what stands on each beside them. One statement."""
    standing = MadeSafe.objects.filter(observation=OuterRef("pk"), ended="")
    told = DangerNotice.objects.filter(observations=OuterRef("pk")).order_by("-given_at")
    # What a notice says that is also about somebody else's unit is not told here, only that it was given.
    others = Observation.objects.filter(site=scope.site).exclude(unit__in=scope.keys)
    own = told.exclude(observations__in=others) if scope.one_unit else told
    waits = Waiting.objects.filter(
        Q(observation=OuterRef("pk")) | Q(remedial__remedies__observation=OuterRef("pk")), ended_at=None
    )
    promised = waits.order_by().values("site").annotate(first=Min("promised_for")).values("first")
    found = Observation.objects.filter(site=scope.site, unit__in=scope.keys, draft=False)
    rows = list(
        found.exclude(ended=Ended.WITHDRAWN)
        .select_related("unit", "board", "circuit", "inspection")
        .annotate(
            safe_at=Subquery(standing.values("at")[:1]),
            safe_how=Subquery(standing.values("how")[:1]),
            told_at=Subquery(told.values("given_at")[:1]),
            # What is advised keeps people from harm, so it is told whoever was told first; the notice itself is not.
            notice=Subquery(told.filter(pk__in=notices_in(scope).values("pk")).values("number")[:1]),
            advised=Subquery(own.values("advised")[:1]),
            waits=Exists(waits),
            promised=Subquery(promised),
        )
        .order_by("number")
    )
    _add_earlier(rows)
    for o in rows:
        unworded(o)
    return rows


def unworded(o: Observation) -> None:
    """Take a caller's own words off a report that nobody competent has looked at: whoever rang did not write to a landlord.

    In memory only; the office and the record have them.
    """
    if not o.code and o.inspection_id is None:
        o.text, o.place = REPORTED, ""


def _add_earlier(rows: list[Any]) -> None:
    """To each what was told of the one that it continues, unless it was told of itself; `told_as`: that one's number.

    `report`: where it was recorded first, as far back as the scope shows.
    """
    by_key = {o.pk: o for o in rows}
    for o in rows:
        chain = [o]
        while chain[-1].continues_id in by_key and len(chain) <= len(rows):
            chain.append(by_key[chain[-1].continues_id])
        told = next((one for one in chain if one.told_at), o)
        o.told_at, o.notice, o.advised = told.told_at, told.notice, told.advised
        o.told_as = told.number if told is not o else None
        o.report = chain[-1].inspection


def remedies_of(observations: list[Observation], scope: Scope) -> dict[UUID, list[Remedies]]:
    """The remedials of `observations` by observation, with what a customer hears of each. One statement."""
    line = VisitLine.objects.filter(remedial=OuterRef("remedial"), active=True)
    no = WayOut.objects.filter(remedial=OuterRef("remedial"), stage=Stage.DECLINED).order_by("-recorded_at")
    papers = WayOut.objects.filter(remedial=OuterRef("remedial"), stage=Stage.BY_OTHERS, taken_back_at=None)
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
        # Where others did several things and we looked at one of them, it is not known which.
        looked=Exists(papers.filter(looked_on__isnull=False)) & ~Exists(papers.filter(looked_on=None)),
        shared=Exists(others),
    )
    by_observation: dict[UUID, list[Remedies]] = {}
    for row in found.order_by("remedial__number"):
        by_observation.setdefault(row.observation_id, []).append(row)
    return by_observation


def closed_on(o: Observation) -> date:
    """The day of an item that is closed, on every page and in every document for customers: that of the work.

    Not that on which it was closed, as the page and "How it stands" once said beside a completion record with the work's:
    proof is reviewed later, and others' papers come later.
    """
    return o.done_on or o.ended_on or o.recorded_on


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


def confirmations_in(scope: Scope) -> list[Paper]:
    """The written confirmations of completed work that the law asks for, and where they stand. One statement."""
    found = Paper.objects.standing().filter(site=scope.site, unit__in=scope.keys, duty__contains=CONFIRMATION)
    found = found.filter(answer__in=["", PaperAnswer.DONE], inspection__state=InspectionState.ISSUED)
    return list(found.select_related("unit").order_by("due_on", "pk"))


def items_at(scope: Scope) -> list[Item]:
    """What completion is counted from: what continues an item may stand at another unit of the site. One statement.

    Of a part of a site only its own items count as a report's: a report may cover many homes.
    """
    rows = Observation.objects.filter(site=scope.site, draft=False)
    named = rows.values_list("pk", "code", "ended", "continues", "inspection", "unit")
    own = set(scope.keys)
    return [
        Item(key, code, ended, continues, report if unit in own or not scope.part else None)
        for key, code, ended, continues, report, unit in named
    ]


def all_facts(scope: Scope) -> Facts:
    """Everything but photographs and supply. Eight statements."""
    observations = observations_in(scope)
    return Facts(
        scope=scope,
        inspections=inspections_in(scope),
        limitations=limitations_in(scope),
        observations=observations,
        remedies=remedies_of(observations, scope),
        items=items_at(scope),
        confirmations=confirmations_in(scope),
    )
