"""The rows behind a completion record, each statement once whatever the number of items."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Prefetch, Q

from inspections.choices import Ended
from inspections.models import DangerNotice, Inspection, MadeSafe, Observation, ObservationPhoto, Reading, Review
from inspections.queries.readings import in_words
from inspections.rules import Item, required_and_complete
from remedials.status import facts
from remedials.works.models import Proof, ProofPhoto, Remedial, Remedies, WayOut
from remedials.works.states import Stage

CLOSED = (Stage.DONE, Stage.REVIEWED)


@dataclass
class Rows:
    """Everything that a completion record rests on; what hangs on an observation or a remedial by its key."""

    observations: list[Observation] = field(default_factory=list)
    reports: dict[UUID, tuple[int, int]] = field(default_factory=dict)
    works: dict[UUID, list[Any]] = field(default_factory=dict)
    proofs: dict[UUID, Proof] = field(default_factory=dict)
    others: dict[UUID, WayOut] = field(default_factory=dict)
    before: dict[UUID, list[ObservationPhoto]] = field(default_factory=dict)
    after: dict[UUID, list[ProofPhoto]] = field(default_factory=dict)
    safe: dict[UUID, list[MadeSafe]] = field(default_factory=dict)
    told: dict[UUID, list[DangerNotice]] = field(default_factory=dict)
    recoded: dict[UUID, list[Review]] = field(default_factory=dict)

    @property
    def done(self) -> list[Observation]:
        """What is closed and not carried on by another, in the order of its numbers."""
        return [o for o in self.observations if o.ended and o.ended != Ended.CONTINUED]

    @property
    def open(self) -> list[Observation]:
        """What is open, in the order of its numbers."""
        return [o for o in self.observations if not o.ended]


def rows_of(scope: facts.Scope) -> Rows:
    """What is on record of all that was recorded at the scope's units. Thirteen statements."""
    found = Observation.objects.filter(site=scope.site, unit__in=scope.keys, draft=False).exclude(ended=Ended.WITHDRAWN)
    related = ("unit", "board", "circuit", "inspection")
    rows = Rows(list(found.select_related(*related).order_by("number")))
    for o in rows.observations:
        facts.unworded(o)
    rows.reports = {key: n for key, n in required_and_complete(_items(scope)).items() if isinstance(key, UUID)}
    done = [o.pk for o in rows.done]
    rows.works = _works(done, scope)
    remedials = {row.remedial_id for works in rows.works.values() for row in works}
    rows.proofs = {proof.remedial_id: proof for proof in _proofs(remedials)}
    ways = WayOut.objects.filter(remedial__in=remedials, stage=Stage.BY_OTHERS, taken_back_at=None)
    rows.others = {way.remedial_id: way for way in ways.select_related("looked_by").order_by("recorded_at")}
    rows.before = _by(facts.photos_before(scope).filter(observation__in=done), "observation_id")
    rows.after = _photos_after(scope, rows)
    rows.safe = _by(MadeSafe.objects.filter(observation__in=done).select_related("by").order_by("at"), "observation_id")
    rows.told = _told(done)
    reviews = Review.objects.filter(observation__in=done, decision="recode").select_related("by")
    rows.recoded = _by(reviews.order_by("at"), "observation_id")
    return rows


def _items(scope: facts.Scope) -> list[Item]:
    return facts.items_at(scope)


def _by(rows: Iterable[Any], name: str) -> dict[UUID, list[Any]]:
    found: dict[UUID, list[Any]] = defaultdict(list)
    for row in rows:
        found[getattr(row, name)].append(row)
    return found


def _works(done: list[UUID], scope: facts.Scope) -> dict[UUID, list[Any]]:
    """By observation, what closed it: `shared` where it also concerns somebody else's unit."""
    others = Remedies.objects.filter(remedial=OuterRef("remedial")).exclude(observation__unit__in=scope.keys)
    found = Remedies.objects.filter(observation__in=done, remedial__stage__in=[*CLOSED, Stage.BY_OTHERS])
    found = found.select_related("remedial").annotate(shared=Exists(others)).order_by("remedial__number")
    return _by(found, "observation_id")


def _proofs(remedials: Iterable[UUID]) -> Iterable[Proof]:
    readings = Prefetch("readings", in_words(Reading.objects.all()).order_by("taken_at", "pk"))
    found = Proof.objects.filter(
        remedial__in=Remedial.objects.filter(pk__in=remedials, stage__in=CLOSED), state=Proof.State.STANDS
    )
    return found.select_related("done_by", "review__by", "certificate_file").prefetch_related(readings)


def _photos_after(scope: facts.Scope, rows: Rows) -> dict[UUID, list[ProofPhoto]]:
    """By observation; one that is for no single one shows all of its remedial's."""
    of_remedial = defaultdict(list)
    for key, works in rows.works.items():
        for row in works:
            of_remedial[row.remedial_id].append(key)
    found: dict[UUID, list[ProofPhoto]] = defaultdict(list)
    for photo in facts.photos_after(scope).filter(remedial__in=list(of_remedial)):
        for key in [photo.observation_id] if photo.observation_id else of_remedial[photo.remedial_id]:
            found[key].append(photo)
    return found


def _told(done: list[UUID]) -> dict[UUID, list[DangerNotice]]:
    found: dict[UUID, list[DangerNotice]] = defaultdict(list)
    rows = DangerNotice.objects.filter(observations__in=done).prefetch_related("observations").order_by("number")
    for notice in rows.distinct():
        for observation in notice.observations.all():
            found[observation.pk].append(notice)
    return found


def reports_of(scope: facts.Scope) -> list[Inspection]:
    """The reports in force of the scope's units, the latest first. One statement."""
    return facts.inspections_in(scope)


def readings_for(proof: Proof, observation: Observation, *, shared: bool) -> list[Reading]:
    """Those readings of `proof` that show this observation put right: of its circuit, else of its board, else all of them.

    Of work that also concerns somebody else's unit only those that are surely of this one.
    """
    every = list(proof.readings.all())
    for name in ("circuit_id", "board_id"):
        here = getattr(observation, name)
        if here and (found := [row for row in every if getattr(row, name) == here]):
            return found
    return [] if shared else every


def any_done(scope: facts.Scope) -> bool:
    """Whether a completion record has anything to say. One statement."""
    found = Observation.objects.filter(site=scope.site, unit__in=scope.keys, draft=False)
    return found.exclude(Q(ended="") | Q(ended__in=facts.UNSPOKEN)).exists()
