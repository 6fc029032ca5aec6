"""Codes that wait for a decision: which reports hold some, and what one of them asks for at once."""

from datetime import date
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Subquery

from inspections import rules
from inspections.choices import Code, InspectionState
from inspections.models import Inspection, Observation
from inspections.queries import shown
from inspections.queries.inspections import observations_of
from jobsite import words
from jobsite.addresses import address
from jobsite.people.models import Competence, User
from jobsite.people.queries import qualified_names


def codes_to_review(user: User, *, qualified_on: date | None = None, most: int = 20) -> list[dict[str, str]]:
    """The reports whose codes wait for a decision of ours, and what was coded at a visit by somebody who may not decide.

    The longest waiting first; at most `most` of each. With `qualified_on` only where the firm records `user` as qualified
    on that day: nobody else can do it. Two statements.
    """
    undecided = Observation.objects.filter(inspection=OuterRef("pk"), reviewed=False, ended="")
    left = undecided.order_by().values("inspection").annotate(n=Count("pk")).values("n")
    rows = Inspection.objects.visible_to(user).filter(state=InspectionState.ISSUED, site__archived_at__isnull=True)
    if qualified_on:
        rows = rows.filter(Exists(Competence.objects.on(qualified_on).filter(user=user.pk)))
    rows = rows.filter(Exists(undecided)).annotate(left=Subquery(left)).select_related("site")
    found = Observation.objects.visible_to(user).open().filter(inspection=None, reviewed=False, site__archived_at=None)
    found = found.exclude(code="").select_related("site", "recorded_by")
    if qualified_on:
        found = found.filter(Exists(Competence.objects.on(qualified_on).filter(user=user.pk)))
    reports = [_to_review(row) for row in rows.order_by(F("issued_at"), "number")[:most]]
    return [*(_found_to_review(row) for row in found.order_by("recorded_at", "number")[:most]), *reports]


def _to_review(row: Any) -> dict[str, str]:
    return {
        "href": address("inspections:codes", row.pk),
        "title": shown.title(row),
        "site": row.site.name,
        "since": f"taken in {words.day(words.london(row.issued_at).date())}",
        "left": f"{words.many(row.left, 'observation')} to review",
    }


def _found_to_review(row: Observation) -> dict[str, str]:
    return {
        "href": address("inspections:review", row.pk),
        "title": f"Observation {row.number}, {row.code} by {row.recorded_by.name}",
        "site": row.site.name,
        "since": f"found {words.day(row.recorded_on)}",
        "left": row.text,
    }


def to_do_now(inspection: Inspection, *, today: date) -> dict[str, Any]:
    """What an issued report asks for at once: what is open by code, each C1 not made safe, who may decide its codes.

    Two statements.
    """
    rows = [o for o in observations_of(inspection) if not o.ended]
    several = len({o.unit_id for o in rows}) > 1
    return {
        "open": rules.codes_in_words(rules.count_codes(o.code for o in rows if o.code != Code.C3)),
        "bare": [_bare(o, several) for o in rows if o.code == Code.C1 and not o.made_safe],
        "left": any(not o.reviewed for o in rows),
        "qualified": ", ".join(qualified_names(today=today)),
    }


def open_codes(inspection: Inspection) -> str:
    """What is open of the report, by code. One statement."""
    codes = inspection.observations.filter(ended="").values_list("code", flat=True)
    return rules.codes_in_words(rules.count_codes(codes))


def _bare(observation: Observation, several: bool) -> dict[str, str]:
    return {
        "number": str(observation.number),
        "text": observation.text,
        "where": shown.where(observation, with_unit=several),
        "href": address("desk:observation", observation.pk),
        "safe": address("inspections:make_safe", observation.pk),
    }
