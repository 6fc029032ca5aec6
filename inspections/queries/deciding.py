"""The page on which a report's codes are decided: each observation beside its photos and history, and how far it has come."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import BooleanField, Count, ExpressionWrapper, Prefetch, Q

from inspections import rules
from inspections.choices import Decision, Ended, Outcome
from inspections.models import Inspection, Observation, ObservationPhoto, Review
from inspections.queries import shown
from inspections.queries.facts import facts_on
from inspections.queries.hints import examples_like
from jobsite import words
from jobsite.addresses import address
from jobsite.marks import code_mark

PAGE = 100
UNDECIDED = Q(reviewed=False, ended="")
KEYS = {"agree": "A", "C1": "1", "C2": "2", "C3": "3", "FI": "F", "no-code": "N"}
CHAIN = """
    WITH RECURSIVE earlier (of, key, depth) AS (
        SELECT id, continues_id, 1 FROM inspections_observation WHERE id = ANY(%s) AND continues_id IS NOT NULL
        UNION ALL
        SELECT earlier.of, o.continues_id, depth + 1 FROM earlier JOIN inspections_observation o ON o.id = earlier.key
        WHERE o.continues_id IS NOT NULL AND depth < 50
    ) SELECT of, key FROM earlier ORDER BY of, depth"""


def codes_page(inspection: Inspection, *, only_undecided: bool = False, number: int = 0) -> dict[str, Any]:
    """Page `number` (from 0) of the report's observations with their decisions, and how far the review has come.

    Eight statements, however many observations there are.
    """
    rows, count = _rows(inspection, only_undecided=only_undecided), _progress(inspection)
    total = count["left"] if only_undecided else count["all"]
    part = list(rows[number * PAGE : (number + 1) * PAGE])
    several = len({o.unit_id for o in part}) > 1
    earlier = earlier_of(part)
    return {
        "title": shown.title(inspection),
        "rows": [code_row(o, with_unit=several, earlier=earlier[o.pk]) for o in part],
        "all_decided": bool(count["all"]) and not count["left"],
        "pages": _pages(number, total),
        **progress_in_words(count),
    }


def _rows(inspection: Inspection, *, only_undecided: bool = False) -> Any:
    rows = inspection.observations.select_related("site", "unit", "board", "circuit").order_by("number")
    return _with_history(rows.filter(UNDECIDED) if only_undecided else rows)


def _with_history(rows: Any) -> Any:
    reviews = Prefetch("reviews", Review.objects.select_related("by").order_by("at", "pk"))
    photos = Prefetch("photos", ObservationPhoto.objects.order_by("added_at", "pk"))
    return rows.prefetch_related(reviews, photos)


def _pages(number: int, total: int) -> dict[str, Any]:
    first, last = number * PAGE + 1, min((number + 1) * PAGE, total)
    return {
        "said": f"{first} to {last} of {total}" if total > PAGE else "",
        "before": number - 1 if number else None,
        "next": number + 1 if last < total else None,
    }


def _progress(inspection: Inspection) -> dict[str, int]:
    return inspection.observations.aggregate(all=Count("pk"), left=Count("pk", filter=UNDECIDED))


def progress_of(inspection: Inspection) -> dict[str, Any]:
    """How many of the report's observations are decided, in words and figures. One statement."""
    return progress_in_words(_progress(inspection))


def progress_in_words(count: dict[str, int]) -> dict[str, Any]:
    """“31 of 47 decided”, with the figures for the bar beside it; one that ended otherwise needs no decision."""
    done = count["all"] - count["left"]
    return {"done": str(done), "all": str(count["all"]), "left": count["left"], "decided": f"{done} of {count['all']}"}


def the_observation(inspection: Inspection, key: Any) -> Observation | None:
    """One observation of the report, ready for `code_row`."""
    found: Observation | None = _rows(inspection).filter(pk=key).first()
    return found


def next_undecided(observation: Observation) -> Observation | None:
    """The next observation of its report that nobody has decided on, after the last one the first. One statement."""
    rows = Observation.objects.filter(UNDECIDED, inspection=observation.inspection_id).exclude(pk=observation.pk)
    after = ExpressionWrapper(Q(number__gt=observation.number), BooleanField())
    return rows.order_by(after.desc(), "number").first()


def page_of(observation: Observation, *, only_undecided: bool) -> int:
    """On which page of the review an observation stands, from 0. One statement."""
    before = Observation.objects.filter(inspection=observation.inspection_id, number__lt=observation.number)
    return int((before.filter(UNDECIDED) if only_undecided else before).count()) // PAGE


def earlier_of(rows: Iterable[Observation]) -> dict[UUID, list[Observation]]:
    """For each of `rows` the observations that it continues, the latest first, with their decisions and photos.

    Four statements at most.
    """
    found: dict[UUID, list[Observation]] = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(CHAIN, [[row.pk for row in rows]])
        chain = cursor.fetchall()
    earlier = Observation.objects.filter(pk__in={key for _, key in chain}).select_related("inspection", "unit")
    by_key = {row.pk: row for row in _with_history(earlier)} if chain else {}
    for of, key in chain:
        found[of].append(by_key[key])
    return found


# --- one observation --------------------------------------------------------------------------------------------------


def code_row(
    observation: Observation, *, with_unit: bool = True, earlier: Iterable[Observation] = (), **form: Any
) -> dict[str, Any]:
    """One observation on the page, with what was typed (`form`) where it is shown again."""
    typed = {"choice": "", "reason": "", "error": ""} | form
    return {
        "id": str(observation.pk),
        "number": str(observation.number),
        "item": observation.item,
        "where": shown.where(observation, with_unit=with_unit),
        "text": observation.text,
        "written": observation.code_written or "none",
        "mark": shown.mark(observation),
        "photos": photos(observation),
        "history": history(observation),
        "earlier": [_earlier(one) for one in earlier],
        "examples": examples_like(observation.text),
        "reviewed": observation.reviewed,
        "version": str(observation.version),
        "open": observation.ended in (Ended.OPEN, Ended.NO_CODE),
        "undecided": not observation.ended and not observation.reviewed,
        "ended": observation.get_ended_display() if observation.ended else "",
        "choices": _choices(observation, typed["choice"]),
        "href": address("desk:observation", observation.pk),
        **typed,
    }


def _choices(observation: Observation, chosen: str) -> list[dict[str, Any]]:
    """Agree with the code in force, another code, or none: never the code in force as a new one."""
    in_force = observation.code
    pairs = [("agree", f"agree with {in_force}")] if in_force else []
    pairs += [(code, f"recode to {code}" if in_force else code) for code in rules.CODES if code != in_force]
    if observation.ended != Ended.NO_CODE:
        pairs.append((Decision.NO_CODE.value, "needs no code"))
    return [{"value": value, "label": label, "key": KEYS[value], "on": value == chosen} for value, label in pairs]


def history(observation: Observation) -> list[str]:
    """The decisions on its code, oldest first, in a line each."""
    return [
        f"{words.when(r.at)}, {r.by.name} {r.get_decision_display()}{f': {r.code}' if r.decision == 'recode' else ''}"
        f"{f' – {r.reason}' if r.reason else ''}"
        for r in observation.reviews.all()
    ]


def photos(observation: Observation) -> list[dict[str, str]]:
    """The photographs as found, small ones that open."""
    return [
        {
            "src": address("inspections:photo", photo.pk),
            "width": str(photo.width),
            "height": str(photo.height),
            "alt": photo.caption or f"Photo of observation {observation.number}",
        }
        for photo in observation.photos.all()
    ]


def _earlier(observation: Observation) -> dict[str, Any]:
    report = observation.inspection
    whose = f" by {report.firm_name}" if report and report.other_firm else ""
    return {
        "href": address("desk:observation", observation.pk),
        "number": str(observation.number),
        "mark": shown.mark(observation),
        "text": observation.text,
        "said": f"recorded {words.day(observation.recorded_on)}{whose}, {observation.get_ended_display()}",
        "history": history(observation),
        "photos": photos(observation),
    }


# --- what was missed, and how the two assessments differ ---------------------------------------------------------------


def missed(inspection: Inspection) -> list[dict[str, str]]:
    """What we added because the report had missed it. One statement."""
    rows = inspection.missed.select_related("unit", "board", "circuit").order_by("number")
    return [
        {
            "href": address("desk:observation", row.pk),
            "number": str(row.number),
            "mark": shown.mark(row),
            "where": shown.where(row, with_unit=not row.unit.whole_site),
            "text": row.text,
        }
        for row in rows
    ]


def comparison(inspection: Inspection) -> dict[str, Any]:
    """How the report's assessment and ours differ, in words and counts. Three statements.

    Its own code is the one in force before our first decision. What was found later, and work done since, changes nothing.
    """
    rows = _with_reviews(inspection.observations)
    judged = [rules.Judged(_theirs(o), o.code) for o in rows]
    judged += [rules.Judged("", o.code, missed=True) for o in inspection.missed.all()]
    compared = rules.compare(inspection.edition, judged, facts_on(inspection.inspected_on))
    return {
        "written": Outcome(inspection.outcome_written).label,
        "theirs": compared.theirs[0],
        "theirs_basis": compared.theirs[1],
        "ours": compared.ours[0],
        "ours_basis": compared.ours[1],
        "with_missed": compared.with_missed[0] if compared.with_missed else "",
        "with_missed_basis": compared.with_missed[1] if compared.with_missed else "",
        "said": _headline(inspection, compared),
        "sentences": rules.comparison_in_words(compared),
        "counts": _counts(judged),
        "changed": [_changed(o) for o in rows if _theirs(o) != o.code],
    }


def _with_reviews(rows: Any) -> list[Observation]:
    return list(rows.order_by("number").prefetch_related(Prefetch("reviews", Review.objects.order_by("at", "pk"))))


def _theirs(observation: Observation) -> str:
    first = next(iter(observation.reviews.all()), None)
    return first.code_before if first else observation.code


def _headline(inspection: Inspection, compared: rules.Comparison) -> str:
    ours = (compared.with_missed or compared.ours)[0]
    if inspection.outcome_written not in ("", compared.theirs[0]):
        return f"Written: {inspection.outcome_written}. By its own codes: {compared.theirs[0]}. By ours: {ours}."
    if compared.theirs[0] != ours:
        return f"The two assessments differ: {compared.theirs[0]} by its codes, {ours} by ours."
    same = not compared.changes and not compared.missed
    return f"Both come to {ours}{', code by code' if same else ', though not by the same codes'}."


def _counts(judged: list[rules.Judged]) -> list[dict[str, str]]:
    theirs = rules.count_codes(one.theirs for one in judged if not one.missed)
    ours = rules.count_codes(one.ours for one in judged if not one.missed)
    added = rules.count_codes(one.ours for one in judged if one.missed)
    return [
        {
            "mark": code_mark(code) if code else "no code",
            "theirs": str(theirs[code]),
            "ours": str(ours[code]),
            "added": str(added[code] or ""),
        }
        for code in theirs
        if theirs[code] or ours[code] or added[code]
    ]


def _changed(observation: Observation) -> dict[str, str]:
    last = list(observation.reviews.all())[-1]
    return {
        "href": address("desk:observation", observation.pk),
        "number": str(observation.number),
        "item": observation.item,
        "text": observation.text,
        "theirs": _theirs(observation) or "none",
        "ours": observation.code or "no code",
        "why": last.reason,
    }
