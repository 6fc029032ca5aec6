"""What the pages of one remedial read: for the engineer who closes it, for the person who reviews its proof."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from inspections.choices import Verdict
from inspections.models import MadeSafe, Observation, Reading
from inspections.queries.limits import loop_limits_of
from inspections.standards.impedance import EnterLimit, Limit, LoopLimits
from jobsite import clock
from jobsite.marks import code_mark, verdict_mark
from jobsite.people.models import Instrument
from jobsite.words import THIN, when
from remedials.works.models import Proof, ProofPhoto, ProofReview, Remedial, RequiredReading
from remedials.works.places import place
from remedials.works.queries.closing import circuit_name, fresh_readings, observations_of, required_readings


def items_of(remedial: Remedial) -> list[dict[str, Any]]:
    """The observations of a remedial with their place and, where made safe, what is locked and who has the key.

    Two statements.
    """
    found = list(observations_of(remedial).select_related("board", "circuit__board"))
    held = {m.observation_id: m for m in MadeSafe.objects.filter(observation__in=found, ended="")}
    return [_item(o, held.get(o.pk)) for o in found]


def _item(o: Observation, held: MadeSafe | None) -> dict[str, Any]:
    return {
        "id": str(o.pk),
        "number": str(o.number),
        "row": o,
        "code": o.code,
        "mark": code_mark(o.code, o.made_safe, o.ended == "remedied"),
        "text": o.text,
        "where": where(o),
        "ended": o.get_ended_display() if o.ended else "",
        "held": _held(held) if held else "",
        "address": place("desk:observation", o.pk),
    }


def where(o: Observation) -> str:
    """Where an observation is, as it is spoken of at the site."""
    spot = circuit_name(o.circuit) if o.circuit else (o.board.designation if o.board else "")
    return ", ".join(filter(None, [spot, o.place]))


def _held(made: MadeSafe) -> str:
    lock = f"lock {made.lock}" if made.lock else ""
    key = f"key with {made.key_holder}" if made.key_holder else ""
    return ", ".join(filter(None, [f"Made safe for now: {made.get_how_display()}", made.what, lock, key]))


def photos_of(photos: Iterable[ProofPhoto]) -> list[dict[str, str]]:
    """Photographs after the work, ready for the page. `photos` with their observations."""
    return [
        {
            "id": str(photo.pk),
            "src": place("works:photo", photo.pk),
            "alt": f"After the work: {photo.observation.text}" if photo.observation else "After the work",
            "words": f"Observation {photo.observation.number}" if photo.observation else "The whole remedial",
            "width": str(photo.width),
            "height": str(photo.height),
            "remove": "" if photo.proof_id else place("works:photo_remove", photo.pk),
        }
        for photo in photos
    ]


def waiting_photos(remedial: Remedial) -> list[dict[str, str]]:
    """Those that no closing has used yet. One statement."""
    found = ProofPhoto.objects.filter(remedial=remedial, proof=None).select_related("observation")
    return photos_of(found.order_by("added_at", "pk"))


def readings_asked(remedial: Remedial, *, on: date) -> list[dict[str, Any]]:
    """Each required reading: its circuit, the limit with its basis or why one must be entered, and the latest value.

    Six statements, however many; one where none is asked for.
    """
    needs = required_readings(remedial)
    if not needs:
        return []
    limits = loop_limits_of([need.circuit for need in needs], on=on)
    latest = {reading.circuit_id: reading for reading in fresh_readings(remedial)}
    return [_asked(need, limits[need.circuit_id], latest.get(need.circuit_id)) for need in needs]


def reading_asked(need: RequiredReading, *, on: date) -> dict[str, Any]:
    """One required reading, as `readings_asked` gives it."""
    latest = [reading for reading in fresh_readings(need.remedial) if reading.circuit_id == need.circuit_id]
    return _asked(need, loop_limits_of([need.circuit], on=on)[need.circuit_id], next(iter(latest), None))


def _asked(need: RequiredReading, limits: LoopLimits, latest: Reading | None) -> dict[str, Any]:
    return {
        "id": str(need.pk),
        "circuit": circuit_name(need.circuit),
        "device": need.circuit.device or "device not recorded",
        "address": place("works:reading", need.pk),
        "read": read(latest) if latest else None,
        **_limit_words(need, limits),
    }


def _limit_words(need: RequiredReading, limits: LoopLimits) -> dict[str, str]:
    """The limit in words; `enter` says why a person must enter one, "" where none must; `other` is the other basis."""
    words = {"limit": "", "basis": "", "enter": "", "other": ""}
    if need.limit_entered is not None:
        return words | {"limit": ohms(need.limit_entered), "basis": f"before any factor, from {need.limit_source}"}
    if isinstance(limits.decides, EnterLimit):
        return words | {"enter": limits.decides.reason}
    if isinstance(limits.other, Limit):
        words["other"] = f"{ohms(limits.other.ohms_shown)}: {limits.other.basis}"
    return words | {"limit": ohms(limits.decides.ohms_shown), "basis": limits.decides.basis}


def ohms(value: Decimal) -> str:
    """A value in ohms without trailing noughts."""
    return f"{value.normalize():f}{THIN}Ω"


def read(reading: Reading) -> dict[str, Any]:
    """A reading with its verdict, limit and basis in words. `reading` with circuit, instrument and person."""
    passed = reading.verdict != Verdict.FAIL
    return {
        "circuit": circuit_name(reading.circuit),
        "value": f"{'>' if reading.above_range else ''}{ohms(reading.value)}",
        "mark": verdict_mark(passed, reading.get_verdict_display()),
        "limit": ohms(reading.limit),
        "basis": reading.basis,
        "instrument": str(reading.instrument),
        "out_of_check": "" if reading.instrument_in_check else "This instrument was out of its check.",
        "by": f"{reading.taken_by}, {when(reading.taken_at)}",
    }


def instruments(*, now: datetime) -> list[tuple[str, str]]:
    """The firm's instruments to choose from, those out of their check marked so. One statement."""
    today = clock.local_day(now)
    found = Instrument.objects.filter(archived_at=None).order_by("name", "serial_number")
    return [(str(i.pk), str(i) if i.in_check_on(today) else f"{i} (out of its check)") for i in found]


def proof_shown(proof: Proof) -> dict[str, Any]:
    """One closing as the reviewer and the record see it. Two statements."""
    photos = proof.photos.select_related("observation").order_by("added_at", "pk")
    readings = proof.readings.select_related("circuit__board", "instrument", "taken_by").order_by("taken_at", "pk")
    return {
        "id": str(proof.pk),
        "done_by": str(proof.done_by),
        "done_at": when(proof.done_at),
        "state": proof.get_state_display(),
        "photos": photos_of(photos),
        "readings": [read(reading) for reading in readings],
        "facts": [(name, text) for name, text in _facts(proof) if text],
        "exception": proof.exception_reason,
        "certificate": place("works:certificate", proof.pk) if proof.certificate_file_id else "",
    }


def _facts(proof: Proof) -> list[tuple[str, str]]:
    return [
        ("Supervised by", proof.supervisor_name),
        ("Certificate number", proof.certificate_number),
        ("No photo because", proof.no_photo_reason),
        ("Note", proof.note),
    ]


def earlier_reviews(remedial: Remedial) -> list[dict[str, str]]:
    """What reviewers said of earlier closings, the last first. One statement."""
    found = ProofReview.objects.filter(proof__remedial=remedial).select_related("by").order_by("-at")
    return [
        {"words": f"{r.get_decision_display()} by {r.by}, {when(r.at)}".capitalize(), "reason": r.reason} for r in found
    ]
