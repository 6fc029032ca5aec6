"""The completion record: each item that is closed, what was done about it, by whom, when, and what shows it."""

from datetime import datetime
from typing import Any

from inspections.choices import Code
from inspections.models import Inspection, Observation, Reading, Review
from inspections.queries.readings import limit_shown
from inspections.queries.readings import where as reading_where
from inspections.queries.sheets import without_bound
from inspections.rules import plain_code
from jobsite import clock
from jobsite.firm.models import Firm
from jobsite.firm.queries import the_firm
from jobsite.people.names import for_customers, words_as_customers_read
from jobsite.refused import Refused
from jobsite.words import day, joined, many
from remedials.status import facts, rules
from remedials.status.proof.done_rows import CLOSED, Rows, readings_for, reports_of, rows_of
from remedials.status.proof.kinds import Kind
from remedials.status.proof.pictures import MOST
from remedials.status.proof.places import firm_lines, place_of, where
from remedials.status.proof.said import Said
from remedials.status.queries.standing import not_known, why_satisfactory
from remedials.works.models import Proof, WayOut

MOST_ITEMS = 300
EACH = 4  # photographs of one item on each side
NOTHING = "Nothing is recorded as put right here yet, so there is no completion record."


class Pictures:
    """The photographs that stand in the document, each once, until there are as many as it can hold."""

    def __init__(self) -> None:
        self.by_name: dict[str, str] = {}

    def of(self, rows: list[Any], words: str) -> tuple[list[dict[str, str]], int]:
        """Those of `rows` that there is room for, ready for the template, and how many more there are."""
        taken = []
        for row in rows[:EACH]:
            name = f"{row.file_id}.jpg"
            if name in self.by_name or len(self.by_name) < MOST:
                self.by_name[name] = row.file_id
                caption = getattr(row, "caption", "")
                taken.append({"name": name, "alt": joined(words, caption, by=": "), "caption": caption})
        return taken, len(rows) - len(taken)


def completion(scope: facts.Scope, *, now: datetime) -> Said:
    """What the completion record of `scope` says as of `now`. Raises Refused where nothing is closed yet.

    Eighteen statements, whatever the size.
    """
    rows, firm, read = rows_of(scope), the_firm(), words_as_customers_read()
    if not rows.done:
        raise Refused(NOTHING)
    pictures = Pictures()
    shown = rows.done[-MOST_ITEMS:]
    groups: dict[Inspection | None, list[dict[str, Any]]] = {}
    for observation in sorted(shown, key=_by_report):
        item = _item(observation, rows, scope, firm, pictures)
        groups.setdefault(observation.inspection, []).append(item)
    return Said(
        kind=Kind.COMPLETION,
        title=Kind.COMPLETION.label,
        place=place_of(scope),
        firm=firm.name,
        facts=read.everywhere(
            {
                "place": joined(place_of(scope), scope.site.one_line),
                "on": day(clock.local_day(now)),
                "reports": [_report(row, rows, scope) for row in reports_of(scope)],
                "groups": [{"title": _group(report), "items": items} for report, items in groups.items()],
                "earlier": len(rows.done) - len(shown),
                "not_known": not_known(scope, rows.observations, read, now=now),
                "open": [_open(o, scope) for o in sorted(rows.open, key=_worst)],
            }
        )
        | {"firm": firm_lines(firm)},
        on=clock.local_day(now),
        site=scope.site.pk,
        unit=scope.units[0].pk if scope.one_unit else None,
        pictures=pictures.by_name,
    )


def _by_report(o: Observation) -> tuple[bool, int, int]:
    """The latest report first, what stands in none last."""
    report = o.inspection
    return report is None, -report.inspected_on.toordinal() if report else 0, o.number


def _worst(o: Observation) -> tuple[int, int]:
    return rules.ORDER.index(o.code), o.number


def _group(report: Inspection | None) -> str:
    if report is None:
        return "Reported or found besides"
    by = report.firm_name or "another firm" if report.other_firm else ""
    return joined(f"{report.get_kind_display().capitalize()} of {day(report.inspected_on)}", by and f"by {by}")


def _report(report: Inspection, rows: Rows, scope: facts.Scope) -> dict[str, str]:
    required, complete = rows.reports.get(report.pk, (0, 0))
    written, computed = report.get_outcome_written_display(), report.get_outcome_display()
    differs = report.outcome_written and report.outcome_written != report.outcome
    outcome = f"{written} as written; {computed} by the rule of its edition" if differs else computed
    return {
        "title": _group(report),
        "outcome": joined(outcome, why_satisfactory(report, rows.observations), by=": "),
        "complete": rules.completion_words(complete, required, scope.whose),
        "reference": report.reference,
    }


def _open(o: Observation, scope: facts.Scope) -> dict[str, Any]:
    at = {"number": str(o.number), "where": where(o, scope)}
    return {**at, "code": o.code, "text": o.text, "safe": o.made_safe}


def _item(o: Observation, rows: Rows, scope: facts.Scope, firm: Firm, pictures: Pictures) -> dict[str, Any]:
    works = [_work(o, row, rows, firm) for row in rows.works.get(o.pk, ())]
    before, more_before = pictures.of(rows.before.get(o.pk, []), f"Observation {o.number} as found")
    after, more_after = pictures.of(rows.after.get(o.pk, []), f"Observation {o.number} after the work")
    more = more_before + more_after
    return {
        "code": o.code,
        "meaning": Code(o.code).label if o.code else "no code",
        "number": str(o.number),
        "item": o.item,
        "at": joined(where(o, scope), f"no. {o.number}"),
        "text": o.text,
        "first": day(o.first_recorded_on),
        "steps": [*_steps(o, rows, firm), [day(facts.closed_on(o)), _ended(o, rows)]],
        "works": works,
        "before": before,
        "after": after,
        "more": f"{many(more, 'more photograph')} on record" if more else "",
    }


def _steps(o: Observation, rows: Rows, firm: Firm) -> list[list[str]]:
    """What came before the work: recoded, told in writing, made safe. Each with its day."""
    safe = [
        (clock.local_day(row.at), f"Made safe for the time being: {row.get_how_display()}.")
        for row in rows.safe.get(o.pk, ())
    ]
    told = [(clock.local_day(row.given_at), f"Danger notice {row.number} given.") for row in rows.told.get(o.pk, ())]
    recoded = [(clock.local_day(row.at), _recoded(row, firm)) for row in rows.recoded.get(o.pk, ())]
    found = sorted([*recoded, *told, *safe], key=lambda pair: pair[0])
    written = plain_code(o.code_written)
    first = [[day(o.recorded_on), f"Recorded as {written}."]] if written and written != o.code else []
    return first + [[day(on), words] for on, words in found]


def _recoded(review: Review, firm: Firm) -> str:
    by = for_customers(review.by.name, surnames=firm.surnames)
    return f"Recoded from {review.code_before or 'no code'} to {review.code or 'no code'} by {by}, a qualified person of ours."


def _ended(o: Observation, rows: Rows) -> str:
    """How it stopped being open; a review of proof never counts as an inspection."""
    on, works = facts.closed_on(o), rows.works.get(o.pk, ())
    reviewed = any(_accepted(rows.proofs.get(row.remedial_id)) for row in works)
    ways = [rows.others[row.remedial_id] for row in works if row.remedial_id in rows.others]
    looked = bool(ways) and all(way.looked_on for way in ways)
    followed = any(later.continues_id == o.pk for later in rows.observations)
    return rules.ended_words(o.ended, on, reviewed=reviewed, followed=followed, looked=looked)


def _accepted(proof: Proof | None) -> bool:
    review = getattr(proof, "review", None)
    return bool(review and review.decision == "accepted")


def _work(o: Observation, row: Any, rows: Rows, firm: Firm) -> dict[str, Any]:
    """One work: what it was, by whom, when, its certificate, its readings, who looked at the proof."""
    what = "" if row.shared else row.remedial.work
    if (way := rows.others.get(row.remedial_id)) and row.remedial.stage not in CLOSED:
        return {"what": what, "facts": _by_others(way, firm), "readings": []}
    proof = rows.proofs.get(row.remedial_id)
    if proof is None:
        return {"what": what, "facts": [], "readings": []}
    readings = readings_for(proof, o, shared=row.shared)
    return {
        "what": what,
        "facts": _proved(proof, row.remedial.certificate_kind, firm),
        "readings": [_reading(reading) for reading in readings],
    }


def _proved(proof: Proof, certificate_kind: str, firm: Firm) -> list[list[str]]:
    def name(person: str) -> str:
        return for_customers(person, surnames=firm.surnames)

    supervised = proof.supervisor_name and f"supervised by {name(proof.supervisor_name)}"
    number = proof.certificate_number and joined(certificate_kind or "Certificate", proof.certificate_number, by=" ")
    file = f"file kept, SHA-256 {proof.certificate_file.hash[:16]}…" if proof.certificate_file else ""
    pairs = [
        ["Done by", joined(name(proof.done_by.name), firm.name, supervised)],
        ["Done on", day(clock.local_day(proof.done_at))],
        ["Certificate", joined(number or (certificate_kind if file else ""), file)],
        ["No photo", proof.no_photo_reason],
        ["Exception", proof.exception_reason],
        ["Proof reviewed", _review(proof, firm)],
    ]
    return [pair for pair in pairs if pair[1]]


def _review(proof: Proof, firm: Firm) -> str:
    review = getattr(proof, "review", None)
    if review is None or not _accepted(proof):
        return "not yet"
    by = for_customers(review.by.name, surnames=firm.surnames)
    own = "own work, looked at again later" if review.self_review else ""
    return joined(f"by {by}, {day(clock.local_day(review.at))}", own)


def _by_others(way: WayOut, firm: Firm) -> list[list[str]]:
    looked = "nobody of our firm has inspected it"
    if way.looked_by and way.looked_on:
        by = for_customers(way.looked_by.name, surnames=firm.surnames)
        looked = f"by {by}, a qualified person of ours, {day(way.looked_on)}"
    pairs = [
        ["Done by", way.who],
        ["Done on", day(way.on)],
        ["Their paper", way.reference],
        ["Looked at", looked],
    ]
    return [pair for pair in pairs if pair[1]]


def _reading(row: Reading) -> dict[str, str]:
    doubted = ", the instrument was found wrong" if getattr(row, "doubted", False) else ""
    out = "" if row.instrument_in_check or not row.instrument_id else ", the instrument was out of its check"
    return {
        "what": row.what,
        "where": reading_where(row),
        "value": row.words,
        "limit": limit_shown(row) or "none known",
        "basis": without_bound(row.basis),
        "verdict": f"{row.get_verdict_display()}{doubted or out}",
    }
