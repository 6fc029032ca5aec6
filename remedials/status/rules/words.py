"""The words of a customer's page: dates, codes, works and how an item ended. Pure: values in, sentences out."""

import re
from bisect import bisect_right
from collections.abc import Sequence
from datetime import date
from itertools import accumulate

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

# What the codes of BS 7671's condition report (Appendix 6) mean, in our words for somebody who has never seen one.
CODE_WORDS = {
    "C1": "Danger present: somebody could be hurt now.",
    "C2": "Potentially dangerous: it can become a danger, for example when something else fails.",
    "FI": "Further investigation is needed without delay: until then nobody can say whether it is dangerous.",
    "C3": "Improvement recommended: it would make the installation safer.",
    "": "Reported, but no competent person has looked at it yet.",
}
SHORT = {
    "C1": "danger present",
    "C2": "potentially dangerous",
    "FI": "further investigation needed",
    "C3": "improvement recommended",
}
ORDER = ("C1", "", "C2", "FI", "C3")  # nobody knows yet how bad an uncoded one is

# What is said of a remedial on the way; the others are said with their dates by `work_words`.
STAGE_WORDS = {
    "to-price": "being priced",
    "quoted": "a quote is with you; we are waiting for the answer",
    "approved": "agreed; the date is still to be fixed",
    "booked": "booked",
    "reviewed": "this part is done, and a qualified person has reviewed the proof",
    "by-others": "this part was done by others, by the papers we were given",
}
MOST_NAMED = 3


def long_day(on: date) -> str:
    """A date for a customer: "3 February 2026"."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def listed(names: Sequence[str]) -> str:
    """ "the loft", "the loft and the garage", "the loft, the garage, the cellar and 2 more"."""
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def meaning(code: str, *, safe: bool = False, closed: bool = False) -> str:
    """What a code says of an item, in words that stay true once it is made safe or closed."""
    if closed:
        return f"Recorded as {code}, {SHORT[code]}." if code else "It has no code."
    if code and safe:
        return f"{SHORT[code].capitalize()}, but made safe for now."
    return CODE_WORDS[code]


def work_words(
    stage: str, *, code: str, booked: str = "", over: bool = False, done_on: date | None = None,
    said_no_on: date | None = None, ask_again_on: date | None = None,
) -> str:  # fmt: skip
    """Where one remedial stands, for the customer; "" for one that was cancelled.

    `booked` is its visit in words, `over` where that is past and nobody has said yet what came of it.
    """
    if stage == "booked" and booked:
        return f"was booked for {booked}; what came of it is not recorded yet" if over else f"booked for {booked}"
    if stage == "declined":
        no = f"offered, and declined on {long_day(said_no_on)}" if said_no_on else "offered, and declined"
        left = "; the investigation is unresolved: whether it is dangerous stays unknown" if code == "FI" else ""
        return f"{no}{left}{f'; we shall ask again on {long_day(ask_again_on)}' if ask_again_on else ''}"
    if stage == "done":
        when = f"done on {long_day(done_on)}" if done_on else "done"
        return (
            f"{when}; more is to come" if code == "C3" else f"{when}; a qualified person has still to review the proof"
        )
    return STAGE_WORDS.get(stage, "")


def undecided_words(code: str) -> str:
    """What is said of an open item that no remedial carries."""
    if code == "":
        return "A competent person has still to look at it."
    return "Nothing is planned for it yet." if code == "C3" else "What it needs is being decided."


def ended_words(ended: str, on: date, *, reviewed: bool, followed: bool, looked: bool = False) -> str:
    """How an item stopped being open. `reviewed`: a qualified person accepted the proof; `followed`: another item continues it;
    `looked`: a qualified person of ours inspected what others did.

    Else it never says that anybody inspected again: a review of proof is a look at papers and pictures.
    """
    day = long_day(on)
    if ended == "remedied":
        return f"Put right on {day}.{' A qualified person has reviewed the proof.' if reviewed else ''}"
    if ended == "others" and looked:
        return f"Put right by others on {day}, by the papers we were given. A qualified person of ours has looked at it since."
    if ended == "others":
        return f"Put right by others on {day}, by the papers we were given. We have not inspected it."
    if ended == "finding":
        rest = "What was found is an item of its own." if followed else "No defect was recorded from it."
        return f"Investigated, {day}. {rest}"
    if ended == "gone":
        return f"Looked for again, {day}: a qualified person found that it is not there any more."
    return f"Looked at again, {day}: a qualified person found that it needs no code."


def completion_words(done: int, of: int, whose: str = "") -> str:
    """How many of a report's C1, C2 and FI are complete: it stands beside the report's outcome and never changes it.

    `whose`: the unit whose items alone are counted, where the report may cover others too.
    """
    whose = f" for {whose}" if whose else ""
    if not of:
        return f"It lists no item of code C1, C2 or FI{whose}."
    coded = f"of code C1, C2 or FI in it{whose}"
    if of == 1:
        return f"The one item {coded} is {'' if done else 'not '}recorded as complete."
    if done == of:
        return f"All {of} items {coded} are recorded as complete."
    return f"{done or 'None'} of the {of} items {coded} {'are' if done > 1 else 'is'} recorded as complete."


def confirmation_words(what: str, to: str, where: str, *, done_on: date | None, due_on: date) -> str:
    """A written confirmation that the law asks for: to whom, and the day on which it was given, or by which it is due."""
    whom = f"to {to}" if to else what
    said = f"{whom[:1].upper()}{whom[1:]}{f' ({where})' if where else ''}"
    if done_on:
        return f"{said}: recorded as done on {long_day(done_on)}."
    return f"{said}: not recorded as done yet; due by {long_day(due_on)}."


def basis_words(basis: str, report: str = "") -> str:
    """Why an item is to be put right by its day, without the number of an earlier record that the page doesn't show.

    `report`: whose report it is counted from, where that is not ours: else its lateness reads as all our own.
    """
    own = re.sub(r"^As observation \d+, which this continues\. ?", "", basis)
    return f"{own} {report}".strip()


def promised_words(on: date | None, late: str) -> str:
    """ ", promised for 1 March 2026, 2 days late": what others promised us, and how late that is."""
    return f", promised for {long_day(on)}{late and f', {late}'}" if on else ""


def how_many(letters: Sequence[int], room: int) -> int:
    """How many items of so many letters each fit on a page that has room for `room`; at least one, where there is one."""
    total = list(accumulate(letters))
    return max(bisect_right(total, room), min(1, len(total)))
