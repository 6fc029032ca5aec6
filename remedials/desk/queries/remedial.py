"""One remedial: the work, its stage, what it puts right, who said yes, when, what proves it, who looked."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import OuterRef, Prefetch, QuerySet

from inspections.choices import Code, Quantity
from inspections.models import MadeSafe, Observation, ObservationPhoto, Reading
from inspections.queries.doubted import with_doubt
from jobsite import clock
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.words import day, late, many, measure, money, near_day, when
from remedials.desk.queries import visits
from remedials.desk.queries.columns import ORDER_OF_CODES, day_of, joined, listed, moment_of
from remedials.desk.queries.observation import PHOTO, photo_row, waiting_row
from remedials.desk.queries.open_items import held_words, where
from remedials.quotes.queries.around import lines_column, offered_words, price_words
from remedials.visits.queries.getting_in import before_work
from remedials.works.models import Approval, Proof, ProofPhoto, Remedial, RequiredReading, Waiting, WayOut
from remedials.works.queries.around import ground_of
from remedials.works.queries.closing import circuit_name
from remedials.works.queries.isolating import READINGS_IN_ORDER
from remedials.works.queries.items import to_bring
from remedials.works.queries.pages import read
from remedials.works.queries.steps import power_steps, stints_of, to_isolate
from remedials.works.rules import needs_review
from remedials.works.states import WORDS, Stage

WAY = (Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED, Stage.DONE, Stage.REVIEWED)
COMING = frozenset({Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED})
MOVING = frozenset({Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED, Stage.DONE, Stage.DECLINED})


def with_columns(remedials: QuerySet[Remedial], user: User) -> QuerySet[Remedial]:
    """`remedials` with all that their page shows `user`; its observations and proofs are fetched beside. Five statements."""
    own = {"remedial": OuterRef("pk")}
    rows = remedials.select_related("site", "unit", "owner", "made_by", "call_back_of", "costing__priced_by")
    rows = rows.annotate(
        approval_rows=_approvals(own),
        way_rows=_ways_out(own),
        waiting_rows=_waitings(own),
        visit_rows=visits.of_remedial_column(user),
        proposal_rows=visits.proposals_column(),
        quote_rows=lines_column(sums=True, remedial=OuterRef("pk")),
    )
    readings = (
        with_doubt(Reading.objects.all())
        .select_related("circuit__board", "instrument", "taken_by")
        .order_by("taken_at", "pk")
    )
    proofs = Proof.objects.select_related("done_by", "review__by").order_by("-done_at", "-pk")
    photos = ProofPhoto.objects.select_related("observation").order_by("added_at", "pk")
    needed = RequiredReading.objects.select_related("circuit__board").order_by(*READINGS_IN_ORDER)
    return rows.prefetch_related(
        Prefetch("observations", _observations(), to_attr="found"),
        "items",
        Prefetch("proofs", proofs, to_attr="closings"),
        Prefetch("closings__photos", photos, to_attr="shots"),
        Prefetch("closings__readings", readings, to_attr="measured"),
        Prefetch("required_readings", needed, to_attr="needed"),
    )


def _observations() -> QuerySet[Observation]:
    own = {"observation": OuterRef("pk")}
    held = MadeSafe.objects.filter(**own, ended="")
    before = ObservationPhoto.objects.filter(**own).order_by("added_at")
    return Observation.objects.select_related("unit", "board", "circuit").annotate(
        held=listed(held, how="how", lock="lock", key_holder="key_holder", look_again_on="look_again_on"),
        before=listed(before, **PHOTO, caption="caption"),
    )


def _approvals(own: dict[str, Any]) -> Any:
    return listed(
        Approval.objects.filter(taken_back_at=None, **own).order_by("-recorded_at"),
        given_by="given_by", how="how", on="given_on", pounds="pounds", reference="reference",
        who="recorded_by__name", at="recorded_at",
    )  # fmt: skip


def _ways_out(own: dict[str, Any]) -> Any:
    return listed(
        WayOut.objects.filter(taken_back_at=None, **own).order_by("-recorded_at"),
        stage="stage", who="who", reason="reason", on="on", again="offer_again_on", reference="reference",
        recorder="recorded_by__name", looked_by="looked_by__name", looked_on="looked_on",
    )  # fmt: skip


def _waitings(own: dict[str, Any]) -> Any:
    return listed(
        Waiting.objects.filter(**own).order_by("-ended_at", "chase_on", "id"),
        id="id", on_whom="on_whom", for_what="for_what", reference="reference", asked="asked_on", chase="chase_on",
        promised="promised_for", owner="owner__name", ended_at="ended_at", ended_how="ended_how",
    )  # fmt: skip


def remedial_context(row: Any, *, now: datetime, prices: bool = False) -> dict[str, Any]:
    """What the page of `row` (read by `with_columns`) shows, sums only with `prices`.

    Five statements at most, and eight more for what to switch off.
    """
    today = clock.local_day(now)
    stage = Stage(row.stage)
    items = sorted(row.found, key=lambda item: (ORDER_OF_CODES.index(item.code), item.number))
    return {
        "row": row,
        "unit": "" if row.unit.whole_site else row.unit.name,
        "site_href": address("desk:site", row.site_id),
        "stage": WORDS[stage],
        "way": stage_line(stage, reviewed=_is_reviewed(row)),
        "step": _step(row, stage, today),
        "answer": _answer(row, stage),
        "items": [_item(item, today) for item in items],
        "around": _around(row),
        "off": to_isolate(row, row.found, row.needed),
        "facts": work_facts(row),
        "needed": [_needed(need) for need in row.needed],
        "bring": to_bring(row.items.all()),
        "before_work": before_work(row, today),
        "note_before": address("visits:see_to_new", row.site_id, remedial=row.pk) if stage in COMING else "",
        "price": price_words(getattr(row, "costing", None)) if prices else [],
        "quotes": quotes_in_words(row, now=now, prices=prices),
        "approvals": [_approval(approval, prices) for approval in row.approval_rows],
        "visits": [_visit(visit, now=now) for visit in row.visit_rows],
        "proposals": [visits.proposal_row(proposal) for proposal in row.proposal_rows],
        "stints": stints_of(row),
        "power_steps": power_steps(row)["rows"],
        "proofs": [proof_row(proof) for proof in sorted(row.closings, key=_first_that_stands)],
        "ways_out": [_way_out(way, today) for way in row.way_rows],
        "waitings": [waiting_row(waiting, today) for waiting in row.waiting_rows],
        "before": [photo_row("inspections:photo", photo, f"As found: {o.text}") for o in items for photo in o.before],
    }


def _around(row: Any) -> dict[str, Any]:
    """What to know of the boards it is about. One statement."""
    boards = [item.board_id for item in row.found] + [need.circuit.board_id for need in row.needed]
    return ground_of([row.site_id])[row.site_id].around(boards, besides=[item.pk for item in row.found])


def _is_reviewed(row: Any) -> bool:
    """Whether a qualified person must look at the proof before it counts, as far as it is known."""
    exception = any(proof.exception_reason for proof in row.closings if proof.state == Proof.State.STANDS)
    return needs_review((item.code for item in row.found), exception=exception)


def stage_line(stage: Stage, *, reviewed: bool) -> list[dict[str, str]]:
    """The stages in order, each "past", "here" or "to-come"; a way out of them stands alone.

    `reviewed`: whether the proof must be looked at; where it need not, closing is the end. No quote is named where
    there is none: the yes may come without one.
    """
    left_out = set() if reviewed or stage == Stage.REVIEWED else {Stage.REVIEWED}
    left_out |= set() if stage == Stage.QUOTED else {Stage.QUOTED}
    way = [step for step in WAY if step not in left_out]
    if stage not in way:
        return [{"words": WORDS[stage], "css": "here"}]
    at = way.index(stage)
    css = ["past"] * at + ["here"] + ["to-come"] * (len(way) - at - 1)
    return [{"words": WORDS[step], "css": name} for step, name in zip(way, css, strict=True)]


def _step(row: Remedial, stage: Stage, today: date) -> dict[str, str]:
    """Who has the next step, by when; nothing once there is none."""
    if stage not in MOVING or (row.owner is None and row.step_by is None):
        return {}
    by = near_day(row.step_by, today) if row.step_by else "no date"
    return {"who": str(row.owner or "nobody"), "by": by, "late": late(row.step_by, today)}


def _answer(row: Remedial, stage: Stage) -> dict[str, str]:
    """Where the customer's answer to the price is recorded; nothing at other stages."""
    if stage != Stage.TO_PRICE:
        return {}
    return {"yes": address("works:approve", row.pk), "no": address("works:decline", row.pk)}


def _item(item: Any, today: date) -> dict[str, Any]:
    return {
        "href": address("desk:observation", item.pk),
        "code": code_mark(item.code, item.made_safe and not item.ended, item.ended == "remedied", item.needs_code),
        "text": item.text,
        "where": where(item),
        "held": held_words(item.held[0], today) if item.held else "",
        "bare": item.code == Code.C1 and not item.made_safe and not item.ended,
        "make_safe": address("inspections:make_safe", item.pk),
        "ended": f"{item.get_ended_display()} {day(item.ended_on)}" if item.ended else "",
        "by": "" if item.ended else near_day(item.remedy_by, today),
        "late": "" if item.ended else late(item.remedy_by, today),
        "basis": item.remedy_basis,
    }


POWER = {True: "must go off", False: "may stay on", None: "not known yet whether it must go off"}


def work_facts(row: Remedial) -> list[tuple[str, str]]:
    """What the work needs, as far as somebody said so."""
    made = f"{row.made_by}, {when(row.made_at)}"
    facts = [
        ("Skill", row.skill),
        ("Time", many(row.minutes, "minute") if row.minutes else ""),
        ("Power", POWER[row.power_off]),
        ("See to first", row.see_to_first),
        ("Parts", f"ready on {day(row.parts_ready_on)}" if row.parts_ready_on else ""),
        ("Photo after the work", "needed" if row.photo_required else "not asked for"),
        ("Certificate", row.certificate_kind),
        ("Notifiable", "to building control" if row.notifiable else ""),
        ("Network operator", f"is told of {row.get_network_display()}" if row.network else ""),
        ("Made by", made),
    ]
    return [(name, text) for name, text in facts if text]


def _needed(need: RequiredReading) -> dict[str, str]:
    limit = ""
    if need.limit_entered is not None:
        bound = measure(Decimal(f"{need.limit_entered.normalize():f}"), Quantity(need.quantity).unit)
        limit = f"limit {bound}, from {need.limit_source}"
    return {
        "circuit": circuit_name(need.circuit),
        "what": need.get_quantity_display(),
        "limit": limit or f"limit worked out for its device ({need.circuit.device or 'not recorded'}) when it is read",
    }


def quotes_in_words(row: Any, *, now: datetime, prices: bool) -> list[dict[str, str]]:
    """The lines that offer `row` (with `quote_rows`) in words; without `prices` neither their sums nor the way there."""
    words = [offered_words(quoted, clock.local_day(now)) for quoted in row.quote_rows]
    return words if prices else [one | {"sums": "", "order": "", "href": ""} for one in words]


def _approval(approval: dict[str, Any], prices: bool) -> dict[str, str]:
    pounds = money(decimal_of(approval["pounds"])) if prices and approval["pounds"] is not None else ""
    return {
        "words": joined(
            f"{approval['given_by']} said yes {day(day_of(approval['on']))}", Approval.How(approval["how"]).label
        ),
        "more": joined(pounds, approval["reference"] and f"order number {approval['reference']}"),
        "recorded": f"{_recorder(approval['who'])}, {when(moment_of(approval['at']))}",
    }


def _recorder(name: str | None) -> str:
    """Who recorded what the customer said; the customer, where they answered on their link."""
    return f"recorded by {name}" if name else "answered on their own link"


def decimal_of(value: object) -> Decimal:
    """A sum in pounds out of JSON, which the column holds to the penny."""
    return Decimal(str(value)).quantize(Decimal("0.01"))


def _visit(visit: dict[str, Any], *, now: datetime) -> dict[str, Any]:
    """A visit that it is or was on, with its moves where it is on it still."""
    return visits.visit_row(visit, now=now, active=visit["active"]) | {"moves": visits.moves_words(visit)}


STANDING = (Proof.State.STANDS, Proof.State.BESIDE)


def _first_that_stands(proof: Proof) -> tuple[int, float]:
    """The proof that counts, below it what was filed beside, each as it came; then what no longer counts, newest first."""
    at = proof.done_at.timestamp()
    return (STANDING.index(Proof.State(proof.state)), at) if proof.state in STANDING else (len(STANDING), -at)


def proof_row(proof: Any) -> dict[str, Any]:
    """One closing: who, when, photos, readings with limit and basis, certificate, and the review of it."""
    review = getattr(proof, "review", None)
    facts = [
        ("Supervised by", proof.supervisor_name),
        ("Note", proof.note),
        ("No photo because", proof.no_photo_reason),
        ("Certificate", proof.certificate_number),
        ("Put up with an exception", proof.exception_reason),
    ]
    return {
        "head": f"{_head(proof)} by {proof.done_by}, {when(proof.done_at)}",
        "state": "" if proof.state == Proof.State.STANDS else proof.get_state_display(),
        "facts": [(name, text) for name, text in facts if text],
        "photos": [_shot(shot) for shot in proof.shots],
        "readings": [read(reading) for reading in proof.measured],
        "certificate": address("works:certificate", proof.pk) if proof.certificate_file_id else "",
        "review": _review(review) if review else "",
        "reason": review.reason if review else "",
        "accepted": bool(review and review.decision == "accepted"),
    }


def _head(proof: Any) -> str:
    return "Added" if proof.state == Proof.State.BESIDE else "Closed"


def _shot(photo: ProofPhoto) -> dict[str, Any]:
    """A photograph after the work, for one observation or for the whole remedial."""
    about = photo.observation.text if photo.observation else ""
    shot = {"id": photo.pk, "width": photo.width, "height": photo.height, "caption": about, "taken": photo.taken}
    return photo_row("works:photo", shot | {"added_at": photo.added_at.isoformat()}, "After the work")


def _review(review: Any) -> str:
    own = " (their own work, looked at again on a later day)" if review.self_review else ""
    return f"Proof reviewed by {review.by}, {when(review.at)}{own}: {review.get_decision_display()}"


def _accepted(way: dict[str, Any]) -> str:
    """How the work of others was accepted; nothing for another way out."""
    if way["stage"] != Stage.BY_OTHERS:
        return ""
    looked = f"looked at by {way['looked_by']} on {day(day_of(way['looked_on']))}"
    return looked if way["looked_by"] else "accepted on paper, not looked at by us"


def _way_out(way: dict[str, Any], today: date) -> dict[str, str]:
    again = near_day(day_of(way["again"]), today)
    return {
        "head": f"{WORDS[Stage(way['stage'])].capitalize()} {day(day_of(way['on']))}: {way['who']}",
        "why": joined(way["reason"], way["reference"] and f"their certificate or letter {way['reference']}"),
        "more": joined(again and f"offer again {again}", _accepted(way), _recorder(way["recorder"])),
    }
