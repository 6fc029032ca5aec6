"""What a remedial still lacks before it may close, and what else its observations wait for."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import BooleanField, Exists, ExpressionWrapper, OuterRef, QuerySet

from inspections.choices import Quantity
from inspections.models import MadeSafe, Observation, Reading
from inspections.queries.doubted import with_doubt
from inspections.standards.situation import Multiple
from jobsite.columns import listed
from jobsite.words import when
from remedials.works.models import Proof, ProofPhoto, ProofReview, RecallDecision, Remedial, Remedies, RequiredReading
from remedials.works.queries.isolating import READINGS_IN_ORDER
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
        return still_missing(self.asked, given)

    @property
    def asked(self) -> Asked:
        """What must be shown before it closes."""
        return Asked(
            unseen=tuple(words for _, words in self._unseen()),
            readings=came_out(self.needs, self.readings),
            certificate_kind=self.remedial.certificate_kind,
        )

    def for_phone(self) -> str:
        """The same as JSON: a phone without signal works out what is missing from this and from what it keeps itself.

        Each that no photo shows by its key; each reading with the key of what asks for it, "" for one read besides.
        """
        rows = came_out(self.needs, self.readings)
        needs = [str(need.pk) for need in self.needs]
        needs += [""] * (len(rows) - len(needs))
        facts = {
            "unseen": [{"of": str(key), "words": words} for key, words in self._unseen()],
            "readings": [
                {"need": need, "name": name, "read": read and {"passed": read.passed, "in_check": read.in_check}}
                for need, (name, read) in zip(needs, rows, strict=True)
            ],
            "certificate": self.remedial.certificate_kind,
        }
        return json.dumps(facts, ensure_ascii=False)

    def _unseen(self) -> list[tuple[UUID, str]]:
        """The observations that no photo shows yet, in words; one photo without an observation shows all."""
        shown = {photo.observation_id for photo in self.photos}
        if None in shown or not self.remedial.photo_required:
            return []
        rest = [o for o in self.observations if not o.ended and o.pk not in shown]
        return [(o.pk, f"observation {o.number}, {_short(o.text)}") for o in rest]


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
    return list(found.order_by(*READINGS_IN_ORDER))


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
    a later reading has answered; nor one that was decided to be read again. One statement.
    """
    own = RequiredReading.objects.filter(remedial=remedial, circuit=OuterRef("circuit"), quantity=OuterRef("quantity"))
    found = Reading.objects.filter(Exists(own), taken_at__gte=remedial.made_at, multiple__in=["", Multiple.ONE.value])
    again = RecallDecision.objects.filter(reading=OuterRef("pk"), decision="again", replaced_at=None)
    used = Exists(Proof.objects.filter(remedial=remedial, readings=OuterRef("pk"))) | Exists(again)
    found = with_doubt(found).annotate(used=ExpressionWrapper(used, BooleanField()))
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


def sent_back_words(remedial: Remedial) -> str:
    """What the reviewer said of the last closing, where it was sent back; "" otherwise. One statement."""
    last = remedial.proofs.exclude(state=Proof.State.BESIDE).order_by("-done_at", "-pk").values("pk")[:1]
    sent_back = ProofReview.objects.filter(proof__in=last, decision=ProofReview.Decision.SENT_BACK)
    review = sent_back.select_related("by").first()
    return f"{review.reason} ({review.by}, {when(review.at)})" if review else ""
