"""The proof beside what was asked for: accept it or send it back."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse

from inspections.choices import Code
from jobsite.addresses import address
from jobsite.pages import bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.works import operations, policy
from remedials.works.forms import ReviewForm
from remedials.works.models import Proof, Remedial
from remedials.works.queries import pages
from remedials.works.queries.closing import proof_standing, reading_name, required_readings, shown_observations
from remedials.works.queries.lists import next_to_review
from remedials.works.queries.steps import power_steps, stints_of
from remedials.works.states import Stage
from remedials.works.views.common import home_of, the_remedial


@needs(Right.REVIEW_PROOF)
def review(request: Request, pk: UUID) -> HttpResponse:
    """The proof that stands, item by item before and after, and the decision on it."""
    remedial = the_remedial(request, pk)
    proof = proof_standing(remedial)
    if proof is None or remedial.stage != Stage.DONE:
        return page(request, "works/review.html", {"remedial": remedial, "home": home_of(remedial)})
    shown = _shown(remedial, proof)
    why_not = policy.why_not_review(request.user, proof, now=request.now)
    if why_not and request.method != "POST":
        return page(request, "works/review.html", shown | {"why_not": why_not})
    investigations = [item for item in shown["items"] if item["code"] == Code.FI and not item["ended"]]
    form = bound(request, ReviewForm, investigations=investigations, initial={"version": remedial.version})
    return form_page(
        request,
        "works/review.html",
        form,
        shown,
        do=lambda: operations.review_proof(
            proof,
            decision=form.cleaned_data["decision"],
            reason=form.cleaned_data["reason"],
            findings=form.findings(),
            version=form.cleaned_data["version"],
            by=request.user,
            now=request.now,
        ),
        then=lambda _: next_to_review(request.user, besides=remedial),
        said=lambda made: f"Proof {made.get_decision_display()}. That was remedial {remedial.number}.",
    )


def _shown(remedial: Remedial, proof: Proof) -> dict[str, Any]:
    """Each item with its pictures before and after, then the readings against what was asked. Eleven statements."""
    observations = list(shown_observations(remedial))
    shown = pages.proof_shown(proof, observations)
    before = pages.before_photos(observations)
    items = pages.items_of(observations)
    for item in items:
        item["before"] = before.get(item["id"], [])
        item["after"] = [photo for photo in shown["photos"] if photo["of"] == item["id"]]
    return {
        "remedial": remedial,
        "home": home_of(remedial),
        "items": items,
        "whole": [photo for photo in shown["photos"] if not photo["of"]],
        "proof": shown,
        "beside": pages.filed_beside(remedial, observations),
        "asked": [reading_name(need) for need in required_readings(remedial)],
        "earlier": pages.earlier_reviews(remedial),
        "stints": stints_of(remedial),
        "steps": power_steps(remedial)["rows"],
        "reopen": address("works:reopen", remedial.pk),
    }
