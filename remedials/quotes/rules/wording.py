"""Texts of a quote that the law asks for or that rights hang on: the firm's own, else a default that says it is one.

Every default is from memory of the rules, or follows a page that was read, as its `confidence` says. None is advice:
the firm settles its wording with its adviser and enters it among its terms.
"""

from dataclasses import dataclass
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.consumers import CANCEL_DAYS
from inspections.standards.facts import SHIPPED, Facts

DEFAULT_MARK = "This is the program's default wording: settle the firm's own with its adviser."


class Text(StrEnum):
    CANCELLATION = "cancellation"
    BEGIN = "begin"
    REVERSE_CHARGE = "reverse-charge"
    CANCELLATION_FORM = "cancellation-form"


@dataclass(frozen=True, slots=True)
class Wording:
    """A text as it is used. `default`: nobody of the firm settled it; `source` and `confidence` are the default's."""

    words: str
    default: bool
    source: str
    confidence: Confidence

    @property
    def note(self) -> str:
        """What the office must see beside it; "" for the firm's own."""
        return f"{DEFAULT_MARK} {self.source} ({self.confidence.value})." if self.default else ""


# {days}: from the facts; {firm}: name and address to write to.
_CANCELLATION = """Right to cancel
You may have the right to cancel this contract within {days} days without giving a reason. It hangs on how and where \
the contract was made. Where you have it, the period ends {days} days after the day of the contract.
To cancel, tell us so clearly, by letter, e-mail or telephone: {firm}. You may use the form that stands with this \
quote, but need not. It is enough that you send your word before the period has ended.
If you cancel, we pay back what you paid us, without delay and within {days} days. If you asked us to begin within \
the period, you pay for what was done until you told us, in proportion to the whole. Once the work is fully done at \
your request, the right is lost."""

_BEGIN = """I ask you expressly to begin the work before the {days} days to cancel have ended. I understand that if I \
then cancel, I pay for what was done until then, and that I lose the right to cancel once the work is fully done."""

_REVERSE_CHARGE = """Reverse charge: VAT Act 1994 Section 55A applies. The customer accounts to HMRC for the VAT \
shown; it is not part of the sum to pay."""

_FORM = """Cancellation form: send it back only if you want to cancel the contract.
To {firm}:
I/We hereby give notice that I/we cancel my/our contract for the supply of the following service:
Ordered on:
Name of consumer(s):
Address of consumer(s):
Signature of consumer(s) (only if this form is sent on paper):
Date:"""

_REGULATION_36 = "After SI 2013/3134, regulation 36, as trading standards sent its text"
_DEFAULTS: dict[Text, tuple[str, str, Confidence]] = {
    Text.CANCELLATION: (_CANCELLATION, "After SI 2013/3134, Schedule 3, and regulations 29 to 36", Confidence.MEMORY),
    Text.BEGIN: (_BEGIN, _REGULATION_36, Confidence.SECONDARY),
    Text.REVERSE_CHARGE: (_REVERSE_CHARGE, "HMRC's manual VATREVCON37200 (gov.uk)", Confidence.READ),
    Text.CANCELLATION_FORM: (_FORM, "After SI 2013/3134, Schedule 3 Part B", Confidence.MEMORY),
}


def worded(text: Text, own: str = "", *, firm: str = "", facts: Facts = SHIPPED) -> Wording:
    """The firm's own text where it has one, else the default. `firm`: name and address as the customer writes to it.

    The firm's own may say {days} and {firm} too; every other brace in it stands as it is.
    """
    words, source, confidence = _DEFAULTS[text]
    if own.strip():
        return Wording(_filled(own.strip(), firm, facts), False, "the firm's own wording", Confidence.GIVEN)
    return Wording(_filled(words, firm, facts), True, source, confidence)


def _filled(words: str, firm: str, facts: Facts) -> str:
    days = str(facts.of(CANCEL_DAYS).value)
    return words.replace("{days}", days).replace("{firm}", firm.strip() or "the firm named on this quote")


def shows_rights(*, consumer: bool) -> bool:
    """Whether an offer shows the right to cancel and asks about beginning at once: to consumers, whatever the sum.

    Who needs no such right (small sums, urgent repairs asked for) is a legal question that the program leaves open.
    """
    return consumer


_HEADING = "Right to cancel"  # the default text's own: whoever shows the text has a heading for it


def paragraphs(words: str) -> list[str]:
    """The lines of a text as paragraphs, without the heading of the right to cancel."""
    return [line for line in words.splitlines() if line.strip() and line.strip() != _HEADING]


def place_words(name: str, where: str) -> str:
    """A site's name and address; the name once where the address begins with it."""
    if where.casefold().startswith(name.casefold()):
        return where
    return f"{name}, {where}" if where else name
