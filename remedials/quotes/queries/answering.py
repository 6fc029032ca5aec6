"""What of an offer is answered, what can still be, and why a line cannot be any more."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from uuid import UUID

from remedials.quotes.choices import LineKind, Says
from remedials.quotes.models import Line, LineAnswer, LineRemedial, Offer
from remedials.quotes.rules.totals import Sum, Totals, of_line, totals
from remedials.quotes.states import State
from remedials.works.models import Remedial
from remedials.works.states import WORDS, Stage

# Work in one of these stages is past asking about: a line that offers it is not answered any more.
PAST = frozenset({Stage.DONE, Stage.REVIEWED, Stage.DECLINED, Stage.CANCELLED, Stage.BY_OTHERS})
# Work that was agreed apart from the quote, by telephone for instance: to refuse it here would say no to nobody.
AGREED = frozenset({Stage.APPROVED, Stage.BOOKED})


@dataclass
class LineNow:
    """A line with what became of it: its standing answer, its remedials, and why it takes no answer now ("")."""

    line: Line
    remedials: list[Remedial] = field(default_factory=list)
    answer: LineAnswer | None = None
    accepted_here: frozenset[UUID] = frozenset()

    @property
    def agreed(self) -> list[Remedial]:
        """Those of its remedials that were agreed apart from this offer."""
        return [r for r in self.remedials if r.stage in AGREED and r.pk not in self.accepted_here]

    @property
    def over(self) -> str:
        """Why nobody can answer it any more though nobody has, as a sentence; "" where they can or did."""
        if not self.answer and self.remedials and len(self.agreed) == len(self.remedials):
            return "This work was agreed with us otherwise already: there is nothing to answer here. Ring us to change that."
        past = [r for r in self.remedials if r.stage in PAST]
        if self.answer or not past:
            return ""
        stages = " and ".join(sorted({WORDS[Stage(r.stage)] for r in past}))
        which = "This work" if len(past) == len(self.remedials) else "Part of this work"
        return f"{which} was settled meanwhile ({stages}): there is nothing to answer here. Ring us if you want it otherwise."

    @property
    def answerable(self) -> bool:
        """Whether a yes or a no can still be said to it. A call-out is never answered by itself."""
        return self.line.kind == LineKind.WORK and self.answer is None and not self.over

    @property
    def accepted(self) -> bool:
        return self.answer is not None and self.answer.says == Says.YES


def lines_now(offer: Offer) -> list[LineNow]:
    """The lines of `offer` in their order, as they stand. Three statements."""
    found = {line.pk: LineNow(line) for line in offer.lines.order_by("position")}
    for link in LineRemedial.objects.filter(line__in=found).select_related("remedial").order_by("remedial__number"):
        found[link.line_id].remedials.append(link.remedial)
    for answer in LineAnswer.objects.filter(line__in=found, stands=True).select_related("answer"):
        found[answer.line_id].answer = answer
    taken = frozenset(remedial.pk for now in found.values() if now.accepted for remedial in now.remedials)
    for now in found.values():
        now.accepted_here = taken
    return list(found.values())


def sums_of(lines: Iterable[LineNow]) -> list[Sum]:
    """The sums of `lines`, for the rules."""
    return [of_line(now.line) for now in lines]


def total_of(lines: Iterable[LineNow], *, reverse_charge: bool) -> Totals:
    """What `lines` come to together."""
    return totals(sums_of(lines), reverse_charge=reverse_charge)


def to_pay(line: Line, *, reverse_charge: bool) -> Decimal:
    """What is to pay for a line: with its VAT, without under the reverse charge."""
    return of_line(line).to_pay(reverse_charge=reverse_charge)


def lapsed(offer: Offer, day: date) -> bool:
    """Whether `day`, London's, lies after the last on which the offer holds."""
    return offer.valid_until is not None and day > offer.valid_until


def carried_elsewhere(remedials: Iterable[UUID], offer: Offer, day: date) -> set[UUID]:
    """Those of `remedials` that another offer still asks about: sent, not lapsed, the line not answered. One statement."""
    asked = LineRemedial.objects.filter(
        remedial__in=list(remedials), line__offer__state=State.SENT, line__offer__valid_until__gte=day
    )
    asked = asked.exclude(line__offer=offer).exclude(line__answers__stands=True)
    return set(asked.values_list("remedial", flat=True))


def accepted_keys(quote: UUID) -> set[UUID]:
    """The keys of the lines that were accepted, in whatever version of the quote. One statement."""
    yes = LineAnswer.objects.filter(line__offer__quote=quote, stands=True, says=Says.YES)
    return set(yes.values_list("line__key", flat=True))
