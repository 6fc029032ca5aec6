"""Codes that wait for a decision: which reports hold some, one report's codes, and what it asks for at once."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import BooleanField, Count, Exists, ExpressionWrapper, F, OuterRef, Prefetch, Q, Subquery

from inspections import rules
from inspections.choices import Code, InspectionState
from inspections.models import Inspection, Observation, Review
from inspections.queries import shown
from inspections.queries.inspections import observations_of
from jobsite import words
from jobsite.addresses import address
from jobsite.people.models import Competence, User
from jobsite.people.queries import qualified_names


def codes_to_review(user: User, *, qualified_on: date | None = None, most: int = 20) -> list[dict[str, str]]:
    """The reports whose codes wait for a decision of ours, the longest waiting first; at most `most` of them.

    With `qualified_on` only where the firm records `user` as qualified on that day: nobody else can do it. One statement.
    """
    undecided = Observation.objects.filter(inspection=OuterRef("pk"), reviewed=False, ended="")
    left = undecided.order_by().values("inspection").annotate(n=Count("pk")).values("n")
    rows = Inspection.objects.visible_to(user).filter(state=InspectionState.ISSUED, site__archived_at__isnull=True)
    if qualified_on:
        rows = rows.filter(Exists(Competence.objects.on(qualified_on).filter(user=user.pk)))
    rows = rows.filter(Exists(undecided)).annotate(left=Subquery(left)).select_related("site")
    return [_to_review(row) for row in rows.order_by(F("issued_at"), "number")[:most]]


def _to_review(row: Any) -> dict[str, str]:
    return {
        "href": address("inspections:codes", row.pk),
        "title": shown.title(row),
        "site": row.site.name,
        "since": words.day(words.london(row.issued_at).date()),
        "left": f"{words.many(row.left, 'observation')} to review",
    }


def codes_page(inspection: Inspection) -> dict[str, Any]:
    """Every observation of an issued report with its decisions, and how many wait for a review. Four statements."""
    reviews = Review.objects.select_related("by").order_by("at", "pk")
    rows = observations_of(inspection, Prefetch("reviews", reviews))
    several = len({o.unit_id for o in rows}) > 1
    return {
        "title": shown.title(inspection),
        "rows": [code_row(o, with_unit=several) for o in rows],
        "waiting": waiting(inspection),
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


def waiting(inspection: Inspection) -> str:
    """How many observations of the report no qualified person of ours has decided on, in words."""
    left = inspection.observations.filter(reviewed=False, ended="").count()
    return f"{words.many(left, 'observation')} to review" if left else "Every code is reviewed"


def next_undecided(observation: Observation) -> UUID | None:
    """The next observation of its report that nobody has decided on, after the last one the first. One statement."""
    rows = Observation.objects.filter(inspection=observation.inspection_id, reviewed=False, ended="")
    after = ExpressionWrapper(Q(number__gt=observation.number), BooleanField())
    return rows.exclude(pk=observation.pk).order_by(after.desc(), "number").values_list("pk", flat=True).first()


def code_row(observation: Observation, *, with_unit: bool = True, **form: Any) -> dict[str, Any]:
    """One observation on the codes page, with what was typed (`form`) where it is shown again."""
    history = [
        f"{words.when(r.at)}, {r.by.name} {r.get_decision_display()}{f': {r.code}' if r.decision == 'recode' else ''}"
        f"{f' – {r.reason}' if r.reason else ''}"
        for r in observation.reviews.all()
    ]
    decided = observation.ended in ("", "no-code")
    choose = {"decision": "", "code": "", "reason": "", "error": ""} | form
    return {
        "id": str(observation.pk),
        "number": str(observation.number),
        "item": observation.item,
        "where": shown.where(observation, with_unit=with_unit),
        "text": observation.text,
        "written": observation.code_written or "none",
        "mark": shown.mark(observation),
        "history": history,
        "reviewed": observation.reviewed,
        "version": str(observation.version),
        "open": decided,
        "undecided": not observation.ended and not observation.reviewed,
        "ended": observation.get_ended_display() if observation.ended else "",
        "coded": bool(observation.code),
        "href": address("desk:observation", observation.pk),
        **choose,
    }


def the_observation(inspection: Inspection, key: Any) -> Observation | None:
    """One observation of the report, ready for `code_row`."""
    reviews = Prefetch("reviews", Review.objects.select_related("by").order_by("at", "pk"))
    rows = inspection.observations.filter(pk=key).select_related("site", "unit", "board", "circuit")
    return rows.prefetch_related(reviews).first()
