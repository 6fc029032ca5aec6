"""Which buttons stand on a page: what this person may do with this thing as it is now."""

from datetime import datetime
from typing import Any

from inspections.choices import Ended
from inspections.policy import acts_on
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.quotes.policy import may_price
from remedials.works import policy
from remedials.works.models import Proof, Remedial
from remedials.works.states import CARRYING, Move, Stage, after

Act = dict[str, Any]


def _act(label: str, href: str, *, main: bool = False) -> Act:
    return {"label": label, "href": href, "main": main}


def _shown(*acts: tuple[bool, Act]) -> list[Act]:
    return [act for allowed, act in acts if allowed and act["href"]]


def of_home(user: User) -> list[Act]:
    """What begins on the first page."""
    return _shown(
        (user.may(Right.TAKE_IN), _act("Take in a file", address("intake:new"))),
        (user.may(Right.REPORT_DEFECT), _act("Somebody rang", address("inspections:rang"))),
        (user.may(Right.KEEP_CUSTOMERS), _act("New site", address("premises:site_new"))),
        (user.may(Right.PLAN_WORK), _act("Figures", address("figures:ages"))),
    )


def of_sites(user: User) -> list[Act]:
    """What begins at the list of sites."""
    return _shown(
        (user.may(Right.KEEP_CUSTOMERS), _act("New site", address("premises:site_new"), main=True)),
        (user.may(Right.SEE_WORK), _act("Locks and keys out", address("inspections:locks"))),
    )


def of_site(user: User, site: Site, approved: list[str]) -> list[Act]:
    """What may be done at a site; `approved` are the keys of the remedials that a visit could be booked for.

    A visit may be for something else too: an inspection, a look at what was made safe, a call-out.
    """
    current = site.archived_at is None
    return _shown(
        (user.may(Right.SHARE_STATUS), _act("Share status", address("premises:links", site.pk))),
        (user.may(Right.INSPECT) and current, _act("New inspection", address("inspections:new", site.pk))),
        (user.may(Right.TAKE_IN) and current, _act("Take in a file", address("intake:new", site=site.pk))),
        (user.may(Right.REPORT_DEFECT) and current, _act("Somebody rang", address("inspections:rang", site=site.pk))),
        (may_price(user) and current, _act("New quote", address("quotes:new", site=site.pk))),
        (user.may(Right.KEEP_CUSTOMERS), _act("Edit", address("premises:site_edit", site.pk))),
        (
            user.may(Right.BOOK) and current,
            _act(
                "Book a visit",
                address("visits:book", remedial=approved) if approved else address("visits:book", site=site.pk),
                main=bool(approved),
            ),
        ),
    )


def of_observation(user: User, row: Any, *, now: datetime) -> list[Act]:
    """What may be done with an observation (with its `work`, as its page reads it); what it calls for is the main act."""
    may = acts_on(user, row, now=now)
    key, plans = row.pk, policy.may_plan(user) and not row.ended and not row.draft
    first, carried = may["make_safe"] and row.code == "C1", any(work["stage"] in CARRYING for work in row.work)
    to_make = address("works:make", row.site_id, observation=key)
    label = "Review the code" if row.code else "Code it"
    return _shown(
        (first, _act("Make safe", address("inspections:make_safe", key), main=True)),
        (may["review"], _act(label, address("inspections:review", key), main=not row.code)),
        (may["finding"], _act("Record the finding", address("inspections:finding", key))),
        (may["meters"], _act("Compare two meters", address("inspections:meters", key))),
        (may["withdraw_finding"], _act("Withdraw the finding", address("inspections:withdraw_finding", key))),
        (plans and row.code != "", _act("Make a remedial", to_make, main=not carried and not first)),
        (may["make_safe"] and not first, _act("Make safe", address("inspections:make_safe", key))),
        (may["look_again"], _act("Look again", address("inspections:look_again", key))),
        (may["reconnect"], _act("Reconnected", address("inspections:reconnect", key))),
        (may["notice"], _act("Danger notice", address("inspections:notice", key))),
        (may["take_on"], _act("Give it a next step", address("inspections:take_on", key))),
        (plans, _act("Waits on somebody", address("works:wait_observation", key))),
        (may["photo"], _act("Add a photo", address("inspections:photo_add", key))),
        (may["same"], _act("Same as an earlier one", address("inspections:same_as", key))),
        (may["part"] and _parts(row), _act("Another defect than that", address("inspections:part", key))),
        (may["there"], _act("It is there after all", address("inspections:there_after_all", key))),
    )


def _parts(row: Any) -> bool:
    """Whether what it continues is the same defect seen before: a finding is withdrawn instead."""
    return row.continues is not None and row.continues.ended == Ended.CONTINUED


def of_remedial(user: User, row: Any, *, now: datetime) -> list[Act]:
    """What may be done with a remedial at its stage (with `closings` and `quote_rows`, as its page reads it)."""
    stage = Stage(row.stage)
    key, plans = row.pk, policy.may_plan(user)

    def may(move: Move) -> bool:
        return after(stage, move) is not None

    proof = next((proof for proof in row.closings if proof.state == Proof.State.STANDS), None)
    reviews = stage == Stage.DONE and proof is not None and not policy.why_not_review(user, proof, now=now)
    booked = stage == Stage.BOOKED
    accepted = next((one["quote"] for one in row.quote_rows if one["says"] == "yes"), "")
    return _shown(
        (reviews, _act("Review the proof", address("works:review", key), main=True)),
        (
            may(Move.CLOSE) and policy.may_close(user, row),
            _act("Close with proof", address("works:close", key), main=True),
        ),
        (stage in PRICED and may_price(user), _act("Price", address("quotes:price", key))),
        (stage == Stage.TO_PRICE and may_price(user), _act("Quote", address("quotes:new", remedial=key), main=True)),
        (
            stage in AGREED and may_price(user) and bool(accepted),
            _act("Found on site: a variation", address("quotes:variation", accepted)),
        ),
        (
            may(Move.APPROVE) and plans,
            _act("Record the approval", address("works:approve", key), main=not may_price(user)),
        ),
        (
            may(Move.BOOK) and policy.may_book(user),
            _act(
                "Book another visit" if booked else "Book a visit",
                address("visits:book", remedial=key),
                main=not booked,
            ),
        ),
        (stage in EDITED and plans, _act("When its parts are there", address("works:parts_ready", key))),
        (may(Move.OFFER_AGAIN) and plans, _act("Offer again", address("works:offer_again", key), main=True)),
        (stage in EDITED and plans, _act("Edit", address("works:edit", key))),
        (may(Move.DECLINE) and plans, _act("Declined", address("works:decline", key))),
        (may(Move.TAKE_OVER) and plans, _act("Done by others", address("works:by_others", key))),
        (may(Move.CANCEL) and plans, _act("Cancel", address("works:cancel", key))),
        (may(Move.REOPEN) and policy.may_reopen(user, now=now), _act("Reopen", address("works:reopen", key))),
        (row.step_to_come and plans, _act("Waits on somebody", address("works:wait", key))),
        (row.step_to_come and plans, _act("Give it a next step", address("works:take_on", key))),
    )


EDITED = CARRYING - {Stage.DONE}
PRICED = (Stage.TO_PRICE, Stage.QUOTED)
AGREED = frozenset({Stage.APPROVED, Stage.BOOKED, Stage.DONE, Stage.REVIEWED})


def why_not_review(user: User, row: Remedial, *, now: datetime) -> str:
    """Why this person may not review the proof that stands; "" where they may or there is none to review."""
    proof = next((p for p in row.closings if p.state == Proof.State.STANDS), None)  # type: ignore[attr-defined]
    if row.stage != Stage.DONE or proof is None:
        return ""
    return policy.why_not_review(user, proof, now=now)
