"""What a remedial still lacks before it may close, and what else its observations wait for."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from inspections.choices import Quantity
from inspections.models import MadeSafe, Observation, Reading
from inspections.queries.doubted import with_doubt
from inspections.standards.situation import Multiple
from jobsite.columns import listed
from jobsite.words import when
from remedials.works.models import Proof, ProofPhoto, Remedial, Remedies, RequiredReading
from remedials.works.rules import Asked, Given, Read, still_missing


@dataclass(frozen=True)
class Closing:
    """All that decides whether a remedial may close: its observations, photos that wait for a closing, readings."""

    remedial: Remedial
    observations: list[Observation]
    photos: list[ProofPhoto]
    needs: list[RequiredReading]
    readings: list[Reading]

    def missing(self, given: Given) -> list[str]:
        """What stands between the remedial and its closing, a sentence each."""
        asked = Asked(
            unseen=self._unseen() if self.remedial.photo_required else (),
            readings=came_out(self.needs, self.readings),
            certificate_kind=self.remedial.certificate_kind,
        )
        return still_missing(asked, given)

    def _unseen(self) -> tuple[str, ...]:
        """What no photo shows yet; one photo without an observation shows all."""
        shown = {photo.observation_id for photo in self.photos}
        if None in shown:
            return ()
        rest = [o for o in self.observations if not o.ended and o.pk not in shown]
        return tuple(f"observation {o.number}, {_short(o.text)}" for o in rest)


def closing(remedial: Remedial, *, readings: Iterable[Reading] | None = None) -> Closing:
    """What is there for the closing of `remedial`; its fresh readings unless `readings` are given. Four statements."""
    photos = ProofPhoto.objects.filter(remedial=remedial, proof=None).order_by("added_at", "pk")
    return Closing(
        remedial,
        list(shown_observations(remedial)),
        list(photos),
        required_readings(remedial),
        fresh_readings(remedial) if readings is None else list(readings),
    )


def what_is_missing(
    remedial: Remedial,
    *,
    readings: Iterable[Reading] | None = None,
    certificate: bool = False,
    no_photo_reason: str = "",
    exception_reason: str = "",
) -> list[str]:
    """The list that shrinks: what stands between `remedial` and its closing, a sentence each. Four statements."""
    given = Given(certificate, no_photo_reason, exception_reason)
    return closing(remedial, readings=readings).missing(given)


def _short(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57].rstrip()}…"


def observations_of(remedial: Remedial) -> QuerySet[Observation, Any]:
    """The observations that `remedial` remedies, in the order of their numbers."""
    return Observation.objects.filter(remedies__remedial=remedial).order_by("number")


def shown_observations(remedial: Remedial) -> QuerySet[Observation, Any]:
    """Those with their board, their circuit and (`held`) what stands made safe, as `held_words` reads it."""
    held = listed(
        MadeSafe.objects.filter(observation=OuterRef("pk"), ended=""), how="how", what="what", lock="lock",
        key="key_holder",
    )  # fmt: skip
    return observations_of(remedial).select_related("board", "circuit__board").annotate(held=held)


def required_readings(remedial: Remedial) -> list[RequiredReading]:
    """The readings it must pass, in the order of boards and ways. One statement."""
    found = remedial.required_readings.select_related("circuit__board")
    return list(found.order_by("circuit__board__sort", "circuit__way", "circuit__phase"))


def came_out(required: Iterable[RequiredReading], readings: Iterable[Reading]) -> tuple[tuple[str, Read | None], ...]:
    """How each required reading came out by its latest; what was read besides counts when it is doubtful."""
    latest = {key_of(r): r for r in sorted(readings, key=lambda reading: (reading.taken_at, reading.pk))}
    asked = [(reading_name(need), _read(latest.pop((need.circuit_id, need.quantity), None))) for need in required]
    besides = [(reading_name(r), _read(r)) for r in latest.values()]
    return (*asked, *((name, read) for name, read in besides if read and read.doubtful))


def key_of(reading: Reading) -> tuple[UUID | None, str]:
    """By which a reading answers a required one: an RCD's only at the test current that is asked for."""
    other = reading.multiple not in ("", Multiple.ONE)
    return reading.circuit_id, f"{reading.quantity} {reading.multiple}" if other else reading.quantity


def reading_name(of: Any) -> str:
    """A reading or a required one as it is spoken of: "loop impedance reading of Board 2, way 5L1 (kitchen sockets)"."""
    return f"{spoken(Quantity(of.quantity))} of {circuit_name(of.circuit)}"


def spoken(quantity: Quantity) -> str:
    """A quantity's reading in a sentence: "insulation resistance reading", "polarity check"."""
    if quantity.yes_no:
        return f"{quantity.label.removesuffix(' check')} check"
    return f"{quantity.label.removeprefix('earth fault ')} reading"


def _read(reading: Reading | None) -> Read | None:
    """How it came out; an instrument that was later found wrong for its day counts as out of its check."""
    if reading is None:
        return None
    return Read(reading.passed, reading.instrument_in_check and not getattr(reading, "doubted", False))


def circuit_name(circuit: Any) -> str:
    """The circuit as it is spoken of at the site: "Board 2, way 5L1 (kitchen sockets)"."""
    return f"{circuit.board.designation}, way {circuit.way_name} ({circuit})"


def fresh_readings(remedial: Remedial) -> list[Reading]:
    """The latest of each required reading since the remedial was made, unless a closing has used it.

    A reading put up with a proof that was sent back or reopened doesn't count again; neither does an older one, which
    a later reading has answered. One statement.
    """
    own = RequiredReading.objects.filter(remedial=remedial, circuit=OuterRef("circuit"), quantity=OuterRef("quantity"))
    found = Reading.objects.filter(Exists(own), taken_at__gte=remedial.made_at, multiple__in=["", Multiple.ONE.value])
    found = with_doubt(found).annotate(used=Exists(Proof.objects.filter(remedial=remedial, readings=OuterRef("pk"))))
    found = found.select_related("circuit__board", "instrument", "taken_by").order_by("taken_at", "pk")
    latest = {key_of(reading): reading for reading in found}
    return [reading for reading in latest.values() if not reading.used]


def still_to_come(observations: Iterable[Observation], *, besides: Remedial) -> set[UUID]:
    """Those of `observations` that another remedial than `besides` still keeps open. One statement."""
    others = Remedies.objects.filter(observation__in=[o.pk for o in observations]).exclude(remedial=besides)
    unfinished = others.filter(remedial__in=Remedial.objects.unfinished())
    return set(unfinished.values_list("observation", flat=True))


def proof_standing(remedial: Remedial) -> Proof | None:
    """The proof that counts now; None where there is none. One statement."""
    return remedial.proofs.filter(state=Proof.State.STANDS).select_related("done_by").first()


def closed_words(proof: Proof) -> str:
    """That a remedial was closed, when and by whom."""
    return f"This was closed at {when(proof.done_at)} by {proof.done_by}."
