"""A report while it is written: what is noted so far, how it stands by its rule, what must not wait for the issue."""

from typing import Any
from uuid import UUID

from django.db.models import Count, Exists, OuterRef, Q

from inspections import rules
from inspections.choices import DANGEROUS
from inspections.models import Inspection, Observation, ObservationPhoto
from inspections.queries import shown
from inspections.queries.facts import facts_on
from inspections.queries.inspections import in_report_order, limitation_rows, many_units, observations_of
from jobsite import words
from jobsite.addresses import address
from jobsite.premises.models import Board


def draft_page(inspection: Inspection) -> dict[str, Any]:
    """A draft with what is noted so far, what the rule of its edition would give, and what must not wait for the issue.

    Eight statements; of a reissue eleven.
    """
    observations, many = in_report_order(observations_of(inspection)), many_units(inspection)
    photos = _photos(inspection)
    return {
        "title": shown.title(inspection),
        "facts": shown.particulars(inspection) + many["covers"],
        "limitations": limitation_rows(inspection, many["several"]),
        "rows": [_draft_row(o, many["several"], photos.get(o.pk, 0)) for o in observations],
        "boards": [] if inspection.other_firm else _reading_rows(inspection),
        "replaces": shown.reissues(inspection)["replaces"] if inspection.replaces_id else None,
        "left_out": _left_out(inspection, observations),
        "last_item": next((o.item for o in sorted(observations, key=lambda o: -o.number)), ""),
        **standing(inspection, observations),
    }


def standing(inspection: Inspection, observations: list[Any]) -> dict[str, Any]:
    """How the draft stands with these observations: counts, the assessment, what cannot wait."""
    codes = [o.code for o in observations]
    outcome, basis = rules.assess(inspection.edition, codes, facts_on(inspection.inspected_on))
    return {
        "outcome": outcome,
        "basis": basis,
        "action": rules.asks_for_action(codes),
        "counts": rules.codes_in_words(rules.count_codes(codes)),
        "urgent": [_urgent(o) for o in observations if _cannot_wait(inspection, o)],
    }


def noted(inspection: Inspection, observation: Observation) -> dict[str, Any]:
    """What changes on the page of the draft when `observation` was noted or changed: its row, where, how all stands.

    Four statements, whatever the number of observations.
    """
    observations = in_report_order(observations_of(inspection))
    at = next((n for n, o in enumerate(observations) if o.pk == observation.pk), 0)
    several = inspection.units.count() > 1
    photos = ObservationPhoto.objects.filter(observation=observation.pk).count()
    return {
        "row": _draft_row(observations[at], several, photos),
        "after": str(observations[at - 1].pk) if at else "",
        **standing(inspection, observations),
    }


def _reading_rows(inspection: Inspection) -> list[dict[str, str]]:
    """Where readings are taken for this report, and how many were: the boards that it names, else all that are there.

    One statement.
    """
    named = Inspection.boards.through.objects.filter(inspection=inspection.pk, board=OuterRef("pk"))
    taken = Count("readings", filter=Q(readings__inspection=inspection.pk))
    boards = Board.objects.current().filter(site=inspection.site_id).annotate(named=Exists(named), taken=taken)
    there = list(boards.order_by("sort", "pk"))
    return [
        {
            "board": board.designation,
            "href": f"{address('inspections:board_readings', board.pk)}?inspection={inspection.pk}",
            "taken": words.many(board.taken, "reading") if board.taken else "none taken yet",
        }
        for board in [board for board in there if board.named] or there
    ]


def _left_out(inspection: Inspection, observations: list[Any]) -> list[dict[str, Any]]:
    """The observations of the report that it replaces, still open, of which it holds no copy. One statement of a reissue."""
    if inspection.replaces_id is None:
        return []
    kept = [o.continues_id for o in observations if o.continues_id]
    rows = Observation.objects.filter(inspection=inspection.replaces_id, ended="").exclude(pk__in=kept)
    return [
        {"id": str(o.pk), "number": str(o.number), "text": o.text, "mark": shown.mark(o)}
        for o in rows.order_by("number")
    ]


def _photos(inspection: Inspection) -> dict[UUID, int]:
    rows = ObservationPhoto.objects.filter(observation__inspection=inspection.pk).values_list("observation", flat=True)
    counted: dict[UUID, int] = {}
    for key in rows:
        counted[key] = counted.get(key, 0) + 1
    return counted


def _draft_row(observation: Observation, several: bool, photos: int) -> dict[str, Any]:
    return {
        "id": str(observation.pk),
        "number": str(observation.number),
        "version": str(observation.version),
        "item": observation.item,
        "where": shown.where(observation, with_unit=several),
        "text": observation.text,
        "mark": shown.mark(observation),
        "written": shown.written(observation),
        "photos": words.many(photos, "photo") if photos else "",
        "change": address("inspections:change", observation.pk),
    }


def _cannot_wait(inspection: Inspection, observation: Any) -> bool:
    """Whether our own inspector stands before a C1 that is neither safe nor told of; another firm's is acted on later.

    A copy in a reissue waits for nothing: its former observation is in force, with all that runs.
    """
    told = observation.made_safe and observation.noticed
    copy = inspection.replaces_id is not None and observation.continues_id is not None
    return observation.code == DANGEROUS[0] and not inspection.other_firm and not told and not copy


def _urgent(observation: Any) -> dict[str, str]:
    missing = [] if observation.made_safe else ["not made safe"]
    missing += [] if observation.noticed else ["no danger notice given"]
    return {
        "number": str(observation.number),
        "missing": " and ".join(missing),
        "safe": "" if observation.made_safe else address("inspections:make_safe", observation.pk),
        "notice": "" if observation.noticed else address("inspections:notice", observation.pk),
    }
