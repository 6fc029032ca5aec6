"""What is done to visits, as the record names it."""

from django.db.models import TextChoices


class Verb(TextChoices):
    BOOKED = "visit.booked", "visit booked"
    CANCELLED = "visit.cancelled", "visit cancelled"
    MOVED = "visit.moved", "visit moved"
    LINE_SETTLED = "visit.settled", "done at a visit"
    ASKED = "visit.asked", "asked whether the visit suits"
    ANSWERED = "visit.answered", "answer to whether the visit suits"
    NO_ACCESS = "visit.no-access", "nobody let us in"
    # Getting in
    ACCESS_TIME_ADDED = "access.time-added", "time of access noted"
    ACCESS_TIME_REMOVED = "access.time-removed", "time of access taken off"
    CLOSED_DAYS_ADDED = "access.closed-added", "closed days noted"
    CLOSED_DAYS_REMOVED = "access.closed-removed", "closed days taken off"
    OCCUPIER_NOTED = "access.occupier", "whom to ask noted"
    ATTEMPTED = "access.attempt", "attempt to get in"
    REPLIED = "access.reply", "reply to an attempt to get in"
    KEY_TAKEN = "key.taken", "key taken in"
    KEY_MOVED = "key.moved", "key moved"
    CODE_KEPT = "code.kept", "alarm code kept"
    CODE_RETIRED = "code.retired", "alarm code retired"
    CODE_SEEN = "code.seen", "alarm code looked at"
    TO_SEE_TO = "see-to.noted", "to be seen to first"
    SEEN_TO = "see-to.met", "seen to"
    NEED_NOT = "see-to.withdrawn", "need not be seen to"
    CHECKED_IN = "check-in.in", "checked in"
    STAYS = "check-in.stays", "stays longer"
    CHECKED_OUT = "check-in.out", "checked out"
    OVERTAKEN = "check-in.overtaken", "said earlier than what stood by then, and kept for the record"
    FOUND_SAFE = "check-in.found-safe", "found safe"
    TIMES_OFFERED = "times.offered", "times offered"
    TIME_CHOSEN = "times.chosen", "one of the times chosen"
    NONE_SUITS = "times.none-suits", "none of the times suits"
    TIMES_WITHDRAWN = "times.withdrawn", "times withdrawn"

    # the planner
    PLAN_ASKED = "plan.asked", "plan asked for"
    PLAN_READY = "plan.ready", "plan worked out"
    PLAN_FAILED = "plan.failed", "plan could not be worked out"
    PROPOSAL_ACCEPTED = "proposal.accepted", "proposed visit accepted"
    PROPOSAL_REFUSED = "proposal.refused", "proposed visit refused"
    PROPOSAL_GONE = "proposal.gone", "proposed visit no longer possible"
    DRIVING_TIMES = "driving-times.replaced", "table of driving times taken in"
    DRIVING_TIMES_DROPPED = "driving-times.dropped", "table of driving times taken away"

    # Calendar addresses
    FEED_MADE = "feed.made", "calendar address made"
    FEED_WITHDRAWN = "feed.withdrawn", "calendar address withdrawn"

    # The terms of the diary
    TERMS_SET = "diary.terms", "terms of the diary set"
