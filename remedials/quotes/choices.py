"""What a row of a quote may be, in the trade's words."""

from django.db.models import TextChoices


class LineKind(TextChoices):
    """A call-out is never answered by itself: it is charged once with whatever is accepted."""

    WORK = "work", "work"
    CALL_OUT = "call-out", "call-out"


class Certainty(TextChoices):
    FIXED = "fixed", "fixed price"
    PROVISIONAL = "provisional", "provisional: charged by what it takes"
    CAPPED = "capped", "charged by what it takes, not more than this"


class Treatment(TextChoices):
    """How VAT falls on a line. The domestic reverse charge is a matter of the whole offer, not of a line."""

    STANDARD = "standard", "standard rate"
    REDUCED = "reduced", "reduced rate"
    ENERGY = "energy-saving", "energy-saving materials"


class SentHow(TextChoices):
    EMAIL = "email", "by e-mail"
    PRINTED = "printed", "printed and handed over or posted"


class AnsweredHow(TextChoices):
    LINK = "link", "on the private link"
    PHONE = "phone", "by telephone"
    EMAIL = "email", "by e-mail"
    PAPER = "paper", "on paper"
    SPOKEN = "spoken", "spoken, with both present"


class Says(TextChoices):
    YES = "yes", "yes"
    NO = "no", "no"
    NOT_CHOSEN = "not-chosen", "not chosen, another was"


class WhyNot(TextChoices):
    """Why a line was refused, for the firm's figures."""

    PRICE = "price", "the price"
    OTHERS = "others", "somebody else does it"
    LATER = "later", "not now"
    NOT_NEEDED = "not-needed", "not thought necessary"
    MEANS = "means", "no money for it"
    OTHER = "other", "another reason"
