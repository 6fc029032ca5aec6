"""The words that rows of visits are stored with."""

from django.db.models import TextChoices


class LineKind(TextChoices):
    REMEDIAL = "remedial", "remedial"
    INSPECTION = "inspection", "inspection"
    LOOK_AGAIN = "look-again", "look again at what was made safe"
    CALL_OUT = "call-out", "call-out"


class Answered(TextChoices):
    """How a customer stands to the time of a visit."""

    NOT_ASKED = "not-asked", "not asked yet"
    ASKED = "asked", "asked, no answer yet"
    CONFIRMED = "confirmed", "confirmed"
    CANNOT = "cannot", "the customer cannot then"


class AskedHow(TextChoices):
    LINK = "link", "by private link"
    PHONE = "phone", "by telephone"
    EMAIL = "email", "by e-mail"
    LETTER = "letter", "by letter"
    SPOKEN = "spoken", "in person"


class AttemptHow(TextChoices):
    """How somebody tried to get in, or to agree when."""

    VISIT = "visit", "went there"
    FIRST_LETTER = "first-letter", "first letter"
    SECOND_LETTER = "second-letter", "second letter"
    FINAL_LETTER = "final-letter", "final letter"
    PHONE = "phone", "telephone"
    EMAIL = "email", "e-mail"
    TEXT = "text", "text message"
    SPOKEN = "spoken", "in person"


class SeeToKind(TextChoices):
    """What must be seen to before work begins."""

    ASBESTOS = "asbestos", "asbestos register"
    HEIGHT = "height", "work at height"
    PERMIT = "permit", "permit to work"
    PLAN = "plan", "plan of the work"
    TERM = "term", "term dates"
    OTHER = "other", "something else"


class Effort(TextChoices):
    """How long the planner searches."""

    QUICK = "quick", "quick"
    NORMAL = "normal", "normal"
    THOROUGH = "thorough", "thorough"


class PlanState(TextChoices):
    WAITING = "waiting", "waiting"
    RUNNING = "running", "being worked out"
    READY = "ready", "ready"
    FAILED = "failed", "failed"


class ProposalState(TextChoices):
    OPEN = "open", "open"
    ACCEPTED = "accepted", "accepted"
    REFUSED = "refused", "refused"
    GONE = "gone", "no longer possible"
