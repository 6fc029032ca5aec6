"""What a closing letter says of a site, what must be settled before our part there ends, and how that stands."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, Q

from inspections.choices import Code
from inspections.models import DangerNotice, Inspection, InspectionDue, Limitation, MadeSafe, Observation, Paper
from inspections.queries import shown
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.messages.models import Message
from jobsite.premises.models import Site
from jobsite.words import day, joined, london, many, when
from remedials.due.models import Leaving
from remedials.due.rules.closing import ADVICE, DANGEROUS, HOW, worst_first
from remedials.quotes.models import Offer
from remedials.quotes.states import State
from remedials.visits.models import CheckIn, SiteKey, Visit, VisitLine
from remedials.works.models import Remedial, Waiting, WayOut
from remedials.works.states import Stage

Blocks = list[dict[str, str]]
UNDECIDED = (Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED, Stage.DECLINED)
WORK = {
    Stage.TO_PRICE: "Work proposed, not agreed",
    Stage.QUOTED: "Work quoted, not accepted",
    Stage.APPROVED: "Work accepted, not done",
    Stage.BOOKED: "Work accepted, not done",
    Stage.DECLINED: "Work declined",
}


def standing_at(site: Site) -> Leaving | None:
    """The closing letter of `site` that stands, delivered or not. One statement."""
    rows = Leaving.objects.filter(site=site, taken_back_at__isnull=True)
    return rows.select_related("owner", "letter", "proof", "written_by").first()


# --- what the letter lists --------------------------------------------------------------------------------------------


def on_record(site: Site) -> dict[str, Any]:
    """All that is open at `site`, in words, as a closing letter lists it and as it is kept with the letter. At most
    twelve statements.

    Only facts that change when the record does: no present date, nobody of the firm, no price.
    """
    items = [_item(row) for row in _open(site)]
    return {
        "items": sorted(items, key=lambda item: (worst_first(item["code"]), item["number"])),
        "next": [_next(row) for row in _inspections_due(site)],
        "papers": [[joined(row.what, row.to, by=" to "), f"by {day(row.due_on)}", row.basis] for row in _papers(site)],
        "limits": [joined(row.what, row.why, by=": ") for row in _limits(site)],
        "waiting": [
            _waiting(row) for row in Waiting.objects.filter(site=site, ended_at=None).order_by("asked_on", "pk")
        ],
        "keys": list(_keys(site).values_list("what", flat=True)),
        "quotes": sorted(offer.quote.number for offer in with_the_customer(site)),
    }


def _open(site: Site) -> Iterable[Observation]:
    rows = Observation.objects.open().filter(site=site)
    rows = rows.select_related("unit", "board", "circuit", "inspection")
    return rows.prefetch_related(
        Prefetch("made_safes", MadeSafe.objects.filter(ended="")),
        Prefetch("danger_notices", DangerNotice.objects.order_by("-given_at")),
        Prefetch("remedials", Remedial.objects.filter(stage__in=UNDECIDED).order_by("number")),
        Prefetch("remedials__ways_out", WayOut.objects.filter(taken_back_at=None).order_by("-recorded_at")),
    )


def _item(row: Any) -> dict[str, Any]:
    """One open item. Of what other firms coded and nobody of ours looked at, it is said so."""
    notices, held = list(row.danger_notices.all()), next(iter(row.made_safes.all()), None)
    theirs = row.inspection if row.inspection and row.inspection.other_firm and not row.reviewed else None
    return {
        "number": row.number,
        "code": row.code,
        "meaning": Code(row.code).label if row.code else "not looked at by a competent person",
        "where": place if (place := shown.where(row, with_unit=not row.unit.whole_site)) != shown.NO_PLACE else "",
        "text": row.text,
        "since": f"First recorded {day(row.first_recorded_on)}",
        "coded": f"Coded by {theirs.firm_name or 'another firm'}, not reviewed by us" if theirs else "",
        "held": _held(held) if held else "",
        "look": f"To be looked at again by {day(held.look_again_on)}: from now on that is yours to see to."
        if held
        else "",
        "notice": _noticed(notices[0]) if notices else "",
        "advice": notices[0].advised if notices else ADVICE.get(row.code, ""),
        "work": [_work(remedial, row.code) for remedial in row.remedials.all()],
    }


def _held(held: MadeSafe) -> str:
    lock, key = held.lock and f"lock {held.lock}", held.key_holder and f"key with {held.key_holder}"
    how = joined(f"{held.get_how_display()}: {held.what}", lock, key, f"agreed with {held.agreed_with}", by="; ")
    return f"Made safe on {day(london(held.at).date())}, for now only: {how}."


def _noticed(notice: DangerNotice) -> str:
    answer = f", {notice.get_answer_display()}" if notice.answer else ""
    return (
        f"Danger notice {notice.number}, given to {notice.given_to} on {day(london(notice.given_at).date())}{answer}."
    )


def _work(remedial: Any, code: str) -> str:
    stage = Stage(remedial.stage)
    out = next(iter(remedial.ways_out.all()), None) if stage == Stage.DECLINED else None
    by = f" on {day(out.on)} by {out.who}" if out else ""
    words = "Unresolved investigation, declined" if stage == Stage.DECLINED and code == Code.FI else WORK[stage]
    return f"{words}{by}: {remedial.work}"


def _inspections_due(site: Site) -> Iterable[InspectionDue]:
    rows = InspectionDue.objects.filter(unit__site=site, unit__retired_at=None)
    return rows.select_related("unit").order_by("due_on", "unit__sort")


def _next(row: InspectionDue) -> list[str]:
    law = " Check the current law." if row.by_law else ""
    return ["" if row.unit.whole_site else row.unit.name, f"by {day(row.due_on)}", f"{row.basis}{law}"]


def _papers(site: Site) -> Iterable[Paper]:
    """What the law asks for that others than the firm owe."""
    rows = Paper.objects.open().filter(site=site, unit__retired_at=None).exclude(owed_by=FIRM)
    return rows.order_by("due_on", "pk")


FIRM = "firm"


def _limits(site: Site) -> Iterable[Limitation]:
    return Limitation.objects.standing().filter(inspection__site=site).order_by("inspection__number", "pk")


def _waiting(row: Waiting) -> str:
    reference = f", reference {row.reference}" if row.reference else ""
    return f"{row.on_whom}: {row.for_what}{reference}, asked on {day(row.asked_on)}"


def _keys(site: Site) -> Any:
    return SiteKey.objects.filter(site=site, given_back_at=None).order_by("what", "pk")


def with_the_customer(site: Site) -> list[Offer]:
    """The versions of quotes for work at `site` that were sent and are neither answered nor withdrawn. One statement."""
    rows = Offer.objects.filter(state=State.SENT.value, quote__sites=site).select_related("quote")
    return list(rows.order_by("quote__number"))


# --- what must be settled first ---------------------------------------------------------------------------------------


def what_blocks(site: Site, *, now: datetime) -> Blocks:
    """What must be settled before our part at `site` ends, as sentences with the page that settles each. Seven statements.

    Nobody may be expected there, nothing of ours may be out, and no danger may go unsaid; what only the firm can do (a
    notification that it owes, a proof to review) is done first.
    """
    return [
        *(_block(f"{row.user.name} is checked in there alone.", "visits:visit", row.visit_id) for row in _alone(site)),
        *(_block(*_of_danger(row)) for row in _unsaid(site)),
        *(_block(f"Visit {v.number} on {day(london(v.start).date())} is booked: settle or cancel it.", "visits:visit", v.pk)
          for v in _visits(site, now)),
        *(_block(f"A key is out ({key.what}): have it brought back.", "visits:key", key.pk)
          for key in _keys(site).filter(out_to__isnull=False)),
        *(_block(f"Report {row.number} is still a draft: issue it, or delete it.", "inspections:inspection", row.pk)
          for row in Inspection.objects.filter(site=site, state="draft").order_by("number")),
        *(_block(f"The proof of remedial {row.number} waits for its review.", "works:review", row.pk)
          for row in Remedial.objects.awaiting_review().filter(site=site).exclude(step_by=None).order_by("number")),
        *(_block(f"We still owe {joined(row.what, row.to, by=' to ')}.", "inspections:paper", row.pk)
          for row in Paper.objects.open().filter(site=site, owed_by=FIRM).order_by("due_on", "pk")),
    ]  # fmt: skip


def _block(words: str, page: str, key: object) -> dict[str, str]:
    return {"words": words, "href": address(page, key)}


def _alone(site: Site) -> Iterable[CheckIn]:
    return CheckIn.objects.filter(site=site, out_at=None).select_related("user").order_by("out_by")


def _unsaid(site: Site) -> Iterable[Observation]:
    """What nobody competent has looked at, and each C1 that is neither made safe nor was put in writing."""
    unsaid = Q(code=Code.C1, made_safe=False, danger_notices=None)
    rows = Observation.objects.open().filter(Q(code="") | unsaid, site=site)
    return rows.distinct().order_by("-code", "number")


def _of_danger(row: Observation) -> tuple[str, str, object]:
    if row.code == "":
        sentence = (
            f"Nobody competent has looked at observation {row.number} yet: the letter must say how dangerous it is."
        )
        return sentence, "inspections:review", row.pk
    sentence = f"Observation {row.number} is a C1 that is not made safe: make it safe, or leave a danger notice."
    return sentence, "desk:observation", row.pk


def _visits(site: Site, now: datetime) -> Iterable[Visit]:
    """Those to come, and those past of which nobody said yet what became of something."""
    lines = VisitLine.objects.filter(visit=OuterRef("pk"), active=True)
    unsettled = lines.filter(Q(remedial__stage=Stage.BOOKED) | Q(remedial=None, settled_at=None))
    rows = Visit.objects.filter(Q(end__gt=now) | Exists(unsettled), site=site, state=Visit.State.BOOKED)
    return rows.order_by("start", "pk")


def listed(record: dict[str, Any]) -> list[dict[str, Any]]:
    """The items of a letter as a page lists them, each with the mark of its code."""
    return [
        {
            "mark": code_mark(item["code"], held=bool(item["held"])),
            "words": joined(item["where"], item["text"], by=": "),
            "held": item["held"],
        }
        for item in record["items"]
    ]


def counted(record: dict[str, Any]) -> str:
    """What the letter lists, in one line: "7 open items, 2 of them dangerous; 1 paper"."""
    items = record["items"]
    worse = sum(item["code"] in DANGEROUS or not item["code"] for item in items)
    said = many(len(items), "open item") if items else "no open item"
    said += f", {worse} of them dangerous" if worse else ""
    parts = [("next inspection", "next"), ("paper", "papers"), ("limitation", "limits"), ("quote that ends", "quotes")]
    more = [many(len(record[key]), words, _plural(words)) for words, key in parts if record[key]]
    return "; ".join([said, *more])


def _plural(words: str) -> str:
    return "quotes that end" if words.startswith("quote") else ""


# --- on its page ------------------------------------------------------------------------------------------------------


def letter_shown(row: Leaving) -> dict[str, Any]:
    """A letter as its page shows it. No statement of its own where its people and files were read with it."""
    how = HOW.get(row.delivered_how, row.delivered_how)
    return {
        "number": row.number,
        "why": row.get_why_display(),
        "reason": row.reason,
        "to": joined(row.to_name, row.to_address.replace("\n", ", ")),
        "written": f"{day(london(row.written_at).date())} by {row.written_by.name}",
        "owner": row.owner.name,
        "deliver_by": day(row.deliver_by),
        "delivered": f"{day(row.delivered_on)}, {how}, to {row.delivered_to}" if row.delivered_on else "",
        "file": address("due:letter", row.pk) if row.letter_id else "",
        "proof": address("due:proof", row.pk) if row.proof_id else "",
        "send": address("due:send_letter", row.pk),
        "deliver": address("due:deliver", row.pk),
        "take_back": address("due:take_back", row.pk),
    }


def former_of(site: Site) -> list[dict[str, Any]]:
    """The letters of `site` that stand no more, the last first. One statement."""
    rows = Leaving.objects.filter(site=site, taken_back_at__isnull=False).select_related("written_by", "owner")
    return [
        letter_shown(row) | {"past": _past(row, when(row.taken_back_at))} for row in rows.order_by("-written_at", "-pk")
    ]


def _past(row: Leaving, at: str) -> str:
    return f"they came back, {at}" if row.delivered_on else f"taken back before it was delivered, {at}"


def mail_shown(message: Message) -> dict[str, str]:
    """An e-mail with a letter, and what became of it."""
    at = when(message.settled_at) if message.settled_at else ""
    return {
        "to": message.address,
        "state": joined(message.get_state_display(), at, message.error),
        "href": address("messages:message", message.pk),
    }
