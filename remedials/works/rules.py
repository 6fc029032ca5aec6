"""What closing asks for, when the proof must be reviewed, and by when the next step is due. Values only."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from inspections.standards.quantities import Quantity

# C1, C2 and FI; and what nobody competent has coded yet, which may be any of them.
TO_BE_REVIEWED = frozenset({"C1", "C2", "FI", ""})
# These must have been told of the danger in writing before a "no" is recorded. Common practice.
NOTICE_BEFORE_NO = frozenset({"C1", "C2"})


@dataclass(frozen=True, slots=True)
class Read:
    """How a reading came out: whether it passed, and whether its instrument was in its check."""

    passed: bool
    in_check: bool

    @property
    def doubtful(self) -> bool:
        """Whether a qualified person must accept it by name: it fails, or its instrument was out of its check."""
        return not (self.passed and self.in_check)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a remedial must show before it closes.

    `unseen`: what no photo shows yet; `readings`: the required readings by name ("loop impedance reading of way 1"),
    None where none was taken; `certificate_kind`: "" where it needs none.
    """

    unseen: tuple[str, ...] = ()
    readings: tuple[tuple[str, Read | None], ...] = ()
    certificate_kind: str = ""


# What is usually read again, by the kind of work. Common practice: the standard and the work itself decide.
RETESTS: dict[str, tuple[str, tuple[Quantity, ...]]] = {
    "joint": (
        "a joint or an accessory was remade",
        (Quantity.R1_R2, Quantity.INSULATION, Quantity.POLARITY, Quantity.LOOP),
    ),
    "cable": (
        "a cable was renewed or added",
        (Quantity.R1_R2, Quantity.INSULATION, Quantity.POLARITY, Quantity.LOOP, Quantity.RCD_TIME, Quantity.FUNCTIONAL),
    ),
    "device": (
        "a protective device was replaced",
        (Quantity.POLARITY, Quantity.LOOP, Quantity.RCD_TIME, Quantity.FUNCTIONAL),
    ),
    "rcd": ("an RCD was fitted or replaced", (Quantity.LOOP, Quantity.RCD_TIME, Quantity.FUNCTIONAL)),
}


@dataclass(frozen=True, slots=True)
class Given:
    """What the engineer gives besides photos and readings."""

    certificate: bool = False
    no_photo_reason: str = ""
    exception_reason: str = ""


def still_missing(asked: Asked, given: Given) -> list[str]:
    """What stands between a remedial and its closing, a sentence each; empty when it may close.

    A photo may be left out for a reason; a required reading never, but a failing one, or one from an instrument out
    of its check, may be put up with a reason that the qualified person's review then accepts or sends back.
    """
    missing = [] if given.no_photo_reason.strip() else [f"A photo after the work: {what}." for what in asked.unseen]
    missing += [f"The {name}." for name, read in asked.readings if read is None]
    if not given.exception_reason.strip():
        missing += [_doubt(name, read) for name, read in asked.readings if read and read.doubtful]
    if asked.certificate_kind and not given.certificate:
        missing.append(f"The number or the file of the {asked.certificate_kind}.")
    return missing


def _doubt(name: str, read: Read) -> str:
    if not read.passed:
        return f"The {name} fails: put the circuit right and read again, or say why it is put up."
    return f"The {name} is from an instrument out of its check: read again, or say why it is put up."


def needs_review(codes: Iterable[str], *, exception: bool) -> bool:
    """Whether a qualified person must look at the proof: for C1, C2, FI and uncoded items, and for any exception."""
    return exception or any(code in TO_BE_REVIEWED for code in codes)


def says_enough(reason: str) -> bool:
    """Whether `reason` tells somebody who was not there anything: at least three words and 15 characters."""
    return len(reason.split()) >= 3 and len(reason.strip()) >= 15


def next_step_by(today: date, *, days: int, remedy_by: date | None) -> date:
    """The date of the next step: `days` from today, no later than the remedy-by date, and never before today."""
    step = today + timedelta(days=days)
    return max(today, min(step, remedy_by) if remedy_by else step)


def why_not_review(*, qualified: bool, own_work: bool, others: int, closed_on: date, today: date) -> str:
    """Why this person may not review the proof; "" where they may.

    `others`: how many other people of the firm are qualified. Where there is none, the engineer's own look on a later
    day is accepted and recorded as a self-review. Common practice; the firm's scheme may ask for more.
    """
    if not qualified:
        return "Only a person whom the firm records as qualified may review proof."
    if own_work and others:
        return "This is your own work: another qualified person must review it."
    if own_work and today <= closed_on:
        return (
            "You are the firm's only qualified person: look at your own work again on a later day than you closed it."
        )
    return ""


def why_not_keep(*, qualified: bool, own: bool, others: int, read_on: date, today: date) -> str:
    """Why this person may not decide that a reading of an instrument found wrong is kept; "" where they may.

    As with proof: another than who took it, or the firm's only qualified person on a later day. Common practice.
    """
    if not qualified:
        return "Only a person whom the firm records as qualified may keep such a reading. It can be read again."
    if own and others:
        return "You took this reading: another qualified person must decide that it is kept."
    if own and today <= read_on:
        return "You took this reading today: decide on a later day that it is kept, or read again."
    return ""
