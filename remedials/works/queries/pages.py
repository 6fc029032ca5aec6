"""What the pages of one remedial read: for the engineer who closes it, for the person who reviews its proof."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any, NamedTuple

from django.db.models import Exists, F, OuterRef, Prefetch, Q, Subquery

from inspections.choices import Code, Quantity
from inspections.models import Observation, ObservationPhoto, Reading
from inspections.queries.doubted import with_doubt
from inspections.queries.phone_limits import judge_words, tool_words
from inspections.queries.readings import limit_shown
from inspections.queries.sheets import without_bound
from inspections.queries.situations import Ground, HowTested, Others, ground_of, others_of
from inspections.standards.limits import Entered, EnterLimit, Limit, Limits
from inspections.standards.readings import limits_for
from jobsite import clock
from jobsite.addresses import address
from jobsite.marks import code_mark, verdict_mark
from jobsite.people.queries import instrument_choice, instruments_in_use
from jobsite.words import when
from remedials.works.models import Proof, ProofPhoto, ProofReview, Remedial, RequiredReading
from remedials.works.queries.around import held_words
from remedials.works.queries.closing import Closing, circuit_name, key_of


def items_of(observations: list[Observation]) -> list[dict[str, Any]]:
    """Observations (by `shown_observations`) for the page; where made safe, what is locked and who has the key."""
    return [_item(o) for o in observations]


def _item(o: Any) -> dict[str, Any]:
    return {
        "id": str(o.pk),
        "number": str(o.number),
        "row": o,
        "code": o.code,
        "mark": code_mark(o.code, o.made_safe, o.ended == "remedied", o.needs_code),
        "text": o.text,
        "where": where(o),
        "ended": o.get_ended_display() if o.ended else "",
        "held": held_words(o.held[0]) if o.held else "",
        "bare": o.code == Code.C1 and not o.made_safe and not o.ended,
        "make_safe": address("inspections:make_safe", o.pk),
        "address": address("desk:observation", o.pk),
    }


def where(o: Observation) -> str:
    """Where an observation is, as it is spoken of at the site."""
    spot = circuit_name(o.circuit) if o.circuit else (o.board.designation if o.board else "")
    return ", ".join(filter(None, [spot, o.place]))


def photos_of(photos: Iterable[ProofPhoto], observations: Iterable[Observation]) -> list[dict[str, str]]:
    """Photographs after the work, ready for the page."""
    by_key = {o.pk: o for o in observations}
    return [_photo(photo, by_key.get(photo.observation_id) if photo.observation_id else None) for photo in photos]


def _photo(photo: ProofPhoto, observation: Observation | None) -> dict[str, str]:
    return {
        "id": str(photo.pk),
        "src": address("works:photo", photo.pk),
        "alt": f"After the work: {observation.text}" if observation else "After the work",
        "words": f"Observation {observation.number}" if observation else "The whole remedial",
        "of": str(photo.observation_id or ""),
        "width": str(photo.width),
        "height": str(photo.height),
        "remove": "" if photo.proof_id else address("works:photo_remove", photo.pk),
    }


def before_photos(observations: list[Observation]) -> dict[str, list[dict[str, str]]]:
    """The photographs of the defects as they were found, by observation. One statement."""
    found: dict[str, list[dict[str, str]]] = {}
    for photo in ObservationPhoto.objects.filter(observation__in=observations).order_by("added_at", "pk"):
        row = {"src": address("inspections:photo", photo.pk), "width": str(photo.width), "height": str(photo.height)}
        row["alt"] = f"As found: {photo.caption}" if photo.caption else "As found"
        found.setdefault(str(photo.observation_id), []).append(row)
    return found


def readings_asked(found: Closing, *, on: date) -> list[dict[str, Any]]:
    """Each required reading: its circuit, the limit with its basis or why one must be entered, and the latest value.

    Five statements, however many; none where no reading is asked for.
    """
    if not found.needs:
        return []
    common, others = _judging(found.needs, on=on)
    latest = {key_of(reading): reading for reading in found.readings}
    return [
        _asked(need, common, others[need.circuit_id], latest.get((need.circuit_id, need.quantity)))
        for need in found.needs
    ]


def reading_asked(need: RequiredReading, *, on: date) -> dict[str, Any]:
    """One required reading, without its value. Five statements."""
    common, others = _judging([need], on=on)
    return _asked(need, common, others[need.circuit_id], None)


def _judging(needs: list[RequiredReading], *, on: date) -> tuple[Ground, dict[Any, Any]]:
    """What a retest is judged by: the edition in force, and the latest other readings of each circuit."""
    return ground_of(needs[0].circuit.site_id, on=on), others_of([need.circuit for need in needs])


def _asked(need: RequiredReading, common: Ground, others: Others, latest: Reading | None) -> dict[str, Any]:
    quantity = Quantity(need.quantity)
    found = limits_for(quantity, common.situation(need.circuit, test_of(need), others), facts=common.facts)
    return {
        "id": str(need.pk),
        "circuit": circuit_name(need.circuit),
        "quantity": quantity,
        "what": quantity.label[0].upper() + quantity.label[1:],
        "device": need.circuit.device or "device not recorded",
        "caution": quantity.caution,
        "address": address("works:reading", need.pk),
        "read": read(latest) if latest else None,
        "judge": judge_words(quantity, need.circuit, common, test=test_of(need), others=others),
        **_limit_words(found),
    }


def test_of(need: RequiredReading) -> HowTested:
    """How a required reading is tested, with the limit that was entered when it was asked for."""
    if need.limit_entered is None:
        return HowTested()
    return HowTested(entered=Entered(need.limit_entered, need.limit_source))


def _limit_words(found: Limits) -> dict[str, str]:
    """The limit in words; `enter` says why a person must enter one, "" where none must; `other` is the other basis."""
    words = {"limit": "", "basis": "", "enter": "", "other": ""}
    if isinstance(found.other, Limit):
        words["other"] = f"{found.other.shown}: {without_bound(found.other.basis)}"
    if isinstance(found.decides, EnterLimit):
        return words | {"enter": found.decides.reason, "other": ""}
    return (
        words
        if found.decides is None
        else words | {"limit": found.decides.shown, "basis": without_bound(found.decides.basis)}
    )


def read(reading: Reading) -> dict[str, Any]:
    """A reading with its verdict, limit and basis in words. `reading` with circuit, instrument and person."""
    return {
        "circuit": circuit_name(reading.circuit),
        "what": reading.what,
        "value": reading.words,
        "mark": verdict_mark(reading.passed, reading.get_verdict_display()),
        "limit": limit_shown(reading),
        "basis": without_bound(reading.basis),
        "instrument": str(reading.instrument or "seen, without an instrument"),
        "out_of_check": _doubt(reading),
        "by": f"{reading.taken_by}, {when(reading.taken_at)}",
    }


def _doubt(reading: Any) -> str:
    if getattr(reading, "doubted", False):
        known = getattr(reading, "known_wrong", False)
        return f"This instrument was {'' if known else 'later '}found to measure wrongly."
    return "" if reading.instrument_in_check else "This instrument was out of its check."


class Tools(NamedTuple):
    """Instruments to choose from, and what a phone needs to know of each (`data-tools`)."""

    choices: list[tuple[str, str]]
    words: str


def instruments(*, now: datetime) -> Tools:
    """The firm's instruments to choose from, those out of their check marked so. One statement."""
    today = clock.local_day(now)
    found = list(instruments_in_use())
    return Tools([(str(i.pk), _choice(i, i.in_check_on(today))) for i in found], tool_words(found))


def _choice(instrument: Any, in_check: bool) -> str:
    """An instrument to choose; one that was found wrong says so before anything else."""
    return instrument_choice(instrument) if in_check or instrument.wrong_on else f"{instrument} (out of its check)"


def proof_shown(proof: Proof, observations: Iterable[Observation]) -> dict[str, Any]:
    """A closing as the reviewer sees it, with every reading taken for it, failing ones too. Two statements."""
    return _closing_shown(proof, observations) | {"readings": _readings_for(proof)}


def filed_beside(remedial: Remedial, observations: list[Observation]) -> list[dict[str, Any]]:
    """What was added to the closing that stands, in the order it came. At most three statements."""
    readings = (
        with_doubt(Reading.objects.all())
        .select_related("circuit__board", "instrument", "taken_by")
        .order_by("taken_at", "pk")
    )
    photos = ProofPhoto.objects.order_by("added_at", "pk")
    found = remedial.proofs.filter(state=Proof.State.BESIDE).select_related("done_by").order_by("done_at", "pk")
    rows = found.prefetch_related(Prefetch("readings", readings), Prefetch("photos", photos))
    return [_closing_shown(p, observations) | {"readings": [read(r) for r in p.readings.all()]} for p in rows]


def _readings_for(proof: Proof) -> list[dict[str, Any]]:
    """All readings on the circuits asked for since the remedial was last opened, each with whether `proof` puts it up."""
    own = Q(circuit__in=proof.remedial.required_readings.values("circuit"), taken_at__gte=proof.remedial.made_at)
    before = Proof.objects.filter(remedial=proof.remedial_id, done_at__lt=proof.done_at).exclude(
        state__in=[Proof.State.STANDS, Proof.State.BESIDE]
    )
    opened = Subquery(before.order_by("-done_at").values("done_at")[:1])
    found = with_doubt(Reading.objects.all()).annotate(
        opened=opened,
        put_up=Exists(Proof.objects.filter(pk=proof.pk, readings=OuterRef("pk"))),
        used=Exists(before.filter(readings=OuterRef("pk"))),
    )
    found = found.filter(Q(put_up=True) | own & Q(used=False) & (Q(opened=None) | Q(taken_at__gte=F("opened"))))
    rows = found.select_related("circuit__board", "instrument", "taken_by").order_by("taken_at", "pk")
    return [read(reading) | {"put_up": reading.put_up} for reading in rows]


def _closing_shown(proof: Proof, observations: Iterable[Observation]) -> dict[str, Any]:
    return {
        "id": str(proof.pk),
        "done_by": str(proof.done_by),
        "done_at": when(proof.done_at),
        "state": proof.get_state_display(),
        "photos": photos_of(sorted(proof.photos.all(), key=lambda photo: (photo.added_at, photo.pk)), observations),
        "facts": [(name, text) for name, text in _facts(proof) if text],
        "exception": proof.exception_reason,
        "certificate": address("works:certificate", proof.pk) if proof.certificate_file_id else "",
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
    said = [(f"{r.get_decision_display()} by {r.by}, {when(r.at)}", r.reason) for r in found]
    return [{"words": words[:1].upper() + words[1:], "reason": reason} for words, reason in said]
