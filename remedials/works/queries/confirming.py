"""The written confirmation that the works which a report required are complete, from the proof of each."""

from collections import defaultdict
from datetime import date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from inspections.choices import Code
from inspections.models import Inspection, Observation, Paper
from inspections.queries.documents import about_report, letter_facts, report_of, set_paper, with_it
from inspections.queries.shown import where
from inspections.rules import is_asked_for
from jobsite.clock import local_day
from jobsite.documents import Made
from jobsite.people.names import AsCustomersRead, words_as_customers_read
from jobsite.refused import Refused
from jobsite.words import day, joined, many
from remedials.works.models import Proof, ProofReview, Remedial
from remedials.works.states import Stage

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "confirmation.typ"
NOT_COMPLETE = "The works that the report required are not complete: there is nothing to confirm yet."


def confirmation_document(paper: Paper, *, now: datetime) -> Made:
    """The confirmation that `paper` asks for, as a PDF. Raises Refused where the works are not complete."""
    report = report_of(paper)
    if report is None or paper.answer == "lapsed":
        raise Refused(NOT_COMPLETE)
    facts = letter_facts(paper, now=now) | {"report": about_report(report), "with": with_it(paper)}
    facts |= confirmed(report, paper.unit_id)
    facts["completed"] = day(paper.event_on)
    about = f"{paper.unit.site.name}, works of report {report.number}"
    return set_paper(paper, TEMPLATE, facts, title="Electrical works confirmed complete", about=about, now=now)


def confirmed(report: Inspection, unit: UUID) -> dict[str, Any]:
    """Each item that `report` required at `unit` with what was done about it, and its C3 that are still open.

    Four statements whatever the size.
    """
    rows = Observation.objects.filter(site=report.site_id, draft=False)
    known = list(rows.select_related("unit", "board", "circuit").order_by("number"))
    later: dict[UUID, list[Observation]] = defaultdict(list)
    for row in known:
        if row.continues_id:
            later[row.continues_id].append(row)
    of_report = [row for row in known if row.inspection_id == report.pk and row.unit_id == unit]
    required = [row for row in of_report if is_asked_for(row.code, row.ended)]
    done = _done_by_observation(row.pk for top in required for row in _chain(top, later))
    return {
        "items": [_item(row, _chain(row, later), done) for row in required],
        "open": _still_open(of_report),
    }


def _chain(row: Observation, later: dict[UUID, list[Observation]]) -> list[Observation]:
    found = [row]
    for one in found:
        found += [after for after in later.get(one.pk, ()) if after not in found]
    return found


def _still_open(rows: list[Observation]) -> list[str]:
    count = sum(row.code == Code.C3 and not row.ended for row in rows)
    return [f"{many(count, 'improvement')} recommended in the report (C3)"] if count else []


def _item(row: Observation, chain: list[Observation], done: dict[UUID, list[str]]) -> dict[str, Any]:
    words = [words for one in chain for words in _words(one, row, done.get(one.pk, []))]
    return {
        "code": row.code,
        "item": joined(row.item and f"item {row.item}", f"no. {row.number}", by="\n"),
        "where": where(row, with_unit=False),
        "text": row.text,
        "done": list(dict.fromkeys(words)),
    }


def _words(one: Observation, top: Observation, works: list[str]) -> list[str]:
    """What became of one observation of the chain, in sentences."""
    if one.ended == "finding":
        return [*works, f"Investigated, {_on(one)}: {one.ended_reason or 'see below'}"]
    found = [] if one.pk == top.pk else [f"{one.code or 'not coded'}, no. {one.number}: {one.text}"]
    if one.ended == "remedied":
        return found + (works or [f"Put right, {_on(one)}. {one.ended_reason}"])
    if one.ended == "others":
        return [*found, f"Put right by others, {_on(one)}. {one.ended_reason}"]
    if one.ended == "continued":
        return [*found, "Recorded again later: see what follows." if one.pk == top.pk else ""]
    return [*found, f"{one.get_ended_display().capitalize()}, {_on(one)}. {one.ended_reason}"] if one.ended else found


def _on(one: Observation) -> str:
    return day(one.done_on or one.ended_on)


def _done_by_observation(keys: Any) -> dict[UUID, list[str]]:
    """What our closed remedials did for each observation, in sentences: the work, by whom, when, who looked at the proof."""
    wanted = set(keys)
    rows = Remedial.objects.filter(remedies__observation__in=wanted, stage__in=[Stage.DONE, Stage.REVIEWED])
    proofs = Proof.objects.filter(remedial__in=rows, state=Proof.State.STANDS).select_related("done_by", "review__by")
    by_remedial = {proof.remedial_id: proof for proof in proofs}
    found: dict[UUID, list[str]] = defaultdict(list)
    reads = words_as_customers_read()
    pairs = rows.values_list("remedies__observation", "pk", "work").order_by("number")
    for key, remedial, work in pairs.distinct():
        if key in wanted and (proof := by_remedial.get(remedial)):
            found[key].append(_work_words(work, proof, reads))
    return found


def _work_words(work: str, proof: Proof, reads: AsCustomersRead) -> str:
    certificate = proof.certificate_number and f"Certificate {proof.certificate_number}."
    supervised = proof.supervisor_name and f"supervised by {reads.name(proof.supervisor_name)}"
    by = joined(reads.name(proof.done_by.name), supervised)
    lines = [f"{reads.words(work).rstrip('.')}.", f"Done by {by}, {day(_local(proof.done_at))}."]
    review: ProofReview | None = getattr(proof, "review", None)
    if review and review.decision == ProofReview.Decision.ACCEPTED:
        again = " (own work, looked at again on a later day)" if review.self_review else ""
        lines.append(f"Proof reviewed by {reads.name(review.by.name)}, {day(_local(review.at))}{again}.")
    return " ".join([*lines, certificate] if certificate else lines)


def _local(at: datetime) -> date:
    return local_day(at)
