"""Who is told of an answer: the customer by a receipt, the quote's owner by a note, danger first."""

from collections.abc import Iterable
from datetime import datetime

from django.conf import settings
from django.urls import reverse

from jobsite.firm.queries import the_firm
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.words import money, when
from remedials.quotes.choices import Says
from remedials.quotes.models import Answer, LineAnswer, Offer
from remedials.quotes.operations.answer_effects import worst_refused
from remedials.quotes.operations.link_messages import address_of
from remedials.quotes.queries.answering import LineNow, to_pay
from remedials.quotes.queries.customer_page import HEADS
from remedials.quotes.queries.told import told_of
from remedials.quotes.states import State
from remedials.works.models import Remedial

Given = Iterable[tuple[LineNow, LineAnswer]]


def tell_of_answer(
    offer: Offer,
    answer: Answer,
    said: list[tuple[LineNow, LineAnswer]],
    lines: list[LineNow],
    *,
    declined: list[Remedial],
    now: datetime,
) -> None:
    """Write the receipt, where the party has an address, and the note to the quote's owner (see `told_of`)."""
    site = offer.quote.at_sites.order_by("site").values_list("site", flat=True).first()
    common = {"site": site, "written_at": now, "next_try_at": now}
    rows = []
    if address := address_of(answer.party, answer.link):
        rows.append(
            Message(
                occasion=f"answer {answer.pk} receipt",
                to_kind=Message.To.CUSTOMER,
                to_id=answer.party_id,
                address=address,
                subject=f"What you answered to quote {offer.quote.number}",
                body=receipt_words(offer, answer, said, lines),
                why="Whoever answers a quote gets a receipt.",
                **common,
            )
        )
    code = worst_refused(said, declined)
    rows += [
        Message(
            occasion=f"answer {answer.pk} owner {person.pk}",
            to_kind=Message.To.STAFF,
            to_id=person.pk,
            address=person.email,
            subject=_owner_subject(offer, said, code),
            body=_owner_words(offer, answer, said, declined, code),
            danger=bool(code),
            why="Who has a quote hears at once how it was answered.",
            **common,
        )
        for person in told_of(offer.quote)
    ]
    write_messages(rows)


def answered_lines(offer: Offer, said: Given) -> dict[str, list[str]]:
    """The lines by what was said, each in words with what is to pay."""
    found: dict[str, list[str]] = {}
    for line, given in said:
        pay = money(to_pay(line.line, reverse_charge=offer.reverse_charge))
        price = f": {pay}" if given.says == Says.YES else ""
        found.setdefault(given.says, []).append(f"{line.line.words}{price}")
    return found


def _by_heads(offer: Offer, said: Given) -> list[str]:
    """The lines under a heading each, as paragraphs."""
    found = answered_lines(offer, said)
    return [
        f"{head}\n" + "\n".join(f"- {text}" for text in found[says]) for says, head in HEADS.items() if says in found
    ]


def receipt_words(
    offer: Offer, answer: Answer, said: list[tuple[LineNow, LineAnswer]], lines: Iterable[LineNow]
) -> str:
    """The receipt as a plain e-mail: what was answered, when, by whom, the sums, the rights, the fingerprint."""
    firm = the_firm()
    parts = [
        f"Dear {answer.party.name},",
        f"{answer.name} answered {offer} on {when(answer.given_at)} ({answer.get_how_display()}).",
        *_by_heads(offer, said),
    ]
    if any(given.says == Says.YES for _, given in said):
        parts.append(sums_words(offer, answer))
    parts += [f"Your order number: {answer.order_number}"] if answer.order_number else []
    parts += [f"Your note: {answer.note}"] if answer.note else []
    still = [line.line.words for line in lines if line.answerable]
    if still and offer.state == State.SENT:
        parts.append("Not answered yet\n" + "\n".join(f"- {words}" for words in still))
    parts += rights_words(answer)
    parts.append(f"The version that was answered has the fingerprint {answer.fingerprint}")
    ring = f" or ring {firm.phone}" if firm.phone else ""
    parts.append(f"If any of this is wrong, please reply{ring} at once.")
    parts.append(firm.name)
    return "\n\n".join(parts) + "\n"


def sums_words(offer: Offer, answer: Answer) -> str:
    """What the accepted lines come to: with VAT first for a consumer, net first for a business."""
    if offer.reverse_charge:
        words = offer.said.get("reverse_charge_words") or "Reverse charge: you account for the VAT."
        return f"Accepted together: {money(answer.net)} without VAT. {words}"
    if offer.consumer:
        return f"Accepted together: {money(answer.to_pay)}, of which VAT {money(answer.vat)}."
    return f"Accepted together: {money(answer.net)} and VAT {money(answer.vat)}, {money(answer.to_pay)} with VAT."


def rights_words(answer: Answer) -> list[str]:
    """A consumer's right as it was shown, and whether they asked for the work to begin at once."""
    if not answer.rights_shown:
        return []
    parts = [answer.rights_shown]
    if answer.begin_at_once:
        parts.append(f"You asked expressly: {answer.begin_words}")
    elif answer.begin_at_once is False:
        parts.append("You did not ask for the work to begin before that period is over.")
    parts.append("The form to cancel stands in the PDF of the quote and on its page.")
    return parts


def _owner_subject(offer: Offer, said: Given, code: str) -> str:
    which = f"quote {offer.quote.number}, {offer.quote.party.name}"
    if code:
        return f"{code} refused: {which}"
    yes = any(given.says == Says.YES for _, given in said)
    return f"{'Accepted' if yes else 'Refused'}: {which}"


def _owner_words(
    offer: Offer, answer: Answer, said: list[tuple[LineNow, LineAnswer]], declined: list[Remedial], code: str
) -> str:
    parts = []
    if code:
        parts.append(
            f"Work on a {code} was refused. The danger stays: see that a danger notice is given where none was, "
            "and that it is made safe where it is not."
        )
    if any(line.line.code == "FI" and given.says == Says.NO for line, given in said):
        parts.append("A further investigation was refused: whether there is a danger stays unknown.")
    parts.append(f"{answer.name} answered version {offer.number}, {answer.get_how_display()}, {when(answer.given_at)}.")
    parts += _by_heads(offer, said)
    why = [
        f"- {line.line.words}: {given.get_why_not_display()} {given.words}"
        for line, given in said
        if given.why_not or given.words
    ]
    parts += ["Why not\n" + "\n".join(why)] if why else []
    if declined:
        parts.append("Declined, to be offered again: remedial " + ", ".join(str(r.number) for r in declined))
    parts += [f"Their note: {answer.note}"] if answer.note else []
    parts.append(f"{settings.SITE_ADDRESS}{reverse('quotes:quote', args=[offer.quote_id])}")
    return "\n\n".join(parts) + "\n"
