"""What an engineer's time at a remedial came to, besides its proof: how long, what was used; and leaving it unfinished."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Proof, Remedial, Stint, Used
from remedials.works.operations.ground import (
    change,
    locked_with_observations,
    moved,
    needed,
    note,
    person,
    same_form,
    step_date,
)
from remedials.works.operations.taking import one_line, plain_number
from remedials.works.states import Move, Stage
from remedials.works.verbs import Verb

MOST_MINUTES, MOST_USED, MOST_QUANTITY, LINE = 10_000, 300, Decimal(100_000), 200
NOT_YOURS = "Only an engineer who sees this site may say so."
# Where it lies with the office already, or was closed by somebody else meanwhile, what is said is kept and moves nothing.
ONLY_KEPT = frozenset({Stage.APPROVED, Stage.DONE, Stage.REVIEWED})
VERBS = {Stint.Came.PART_DONE: Verb.PART_DONE, Stint.Came.COULD_NOT: Verb.COULD_NOT}


class Material(NamedTuple):
    """What was used: how much of it, in which unit ("m", "" for pieces)."""

    what: str
    quantity: Decimal = Decimal(1)
    unit: str = ""


@operation
def leave_remedial(
    remedial: Remedial,
    *,
    id: UUID,
    because: str,
    by: Actor,
    now: datetime,
    came: str = Stint.Came.PART_DONE.value,
    minutes: int | None = None,
    used: Sequence[Material] = (),
    made_at: datetime | None = None,
) -> Stint:
    """The engineer leaves it part done, or could not do it: `because` says why and what is left; the rest is booked again.

    `made_at`: when they left (None: `now`). The same `id` again answers the same. Where the office has it back already, or
    somebody closed it meanwhile, the stint is kept and nothing moves. Raises NotAllowed, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if made := Stint.objects.filter(pk=id).first():
        return same_form(made, made.remedial_id == remedial.pk)
    if not policy.may_close(by, remedial):
        raise NotAllowed(NOT_YOURS)
    if came not in VERBS:
        raise Refused("Say whether it is part done or could not be done.", field="came")
    because = needed(because, "Say why, and what is left to do.", field="because")
    if remedial.stage not in ONLY_KEPT:
        stage = moved(remedial, Move.PART_DONE)
        owner = remedial.made_by if remedial.made_by.is_active else person(by)
        change(remedial, stage=stage, owner=owner, step_by=step_date(observations, now=now))
    stint = add_stint(remedial, id=id, came=came, because=because, minutes=minutes, used=used, by=by, at=made_at or now)
    note(
        VERBS[Stint.Came(came)],
        remedial,
        by=by,
        now=now,
        facts=stint_facts(stint, used),
        words=stint_words(stint, used),
    )
    return stint


def add_stint(
    remedial: Remedial, *, id: UUID, came: str, minutes: int | None, used: Sequence[Material], by: Actor, at: datetime,
    because: str = "", proof: Proof | None = None,
) -> Stint:  # fmt: skip
    """Within an operation on the locked remedial: keep a stint with what was used. Raises Refused for what can't be.

    The field of a material is named "used-<row>-<field>".
    """
    if minutes is not None and not 1 <= minutes <= MOST_MINUTES:
        raise Refused("Write the minutes as a whole number from 1 to 10,000.", field="minutes")
    if len(used) > MOST_USED:
        raise Refused(f"At most {MOST_USED} kinds of material at a time.")
    for row, material in enumerate(used):
        if wrong := _why_not(material):
            raise Refused(wrong[1], field=f"used-{row}-{wrong[0]}")
    stint = Stint.objects.create(
        id=id, remedial=remedial, proof=proof, came=came, because=because, minutes=minutes, by=person(by), at=at
    )
    Used.objects.bulk_create(
        Used(stint=stint, position=row, what=one_line(m.what), quantity=m.quantity, unit=one_line(m.unit))
        for row, m in enumerate(used)
    )
    return stint


def _why_not(material: Material) -> tuple[str, str] | None:
    what, quantity, unit = one_line(material.what), material.quantity, one_line(material.unit)
    for name, wrong, sentence in (
        ("what", not what, "Say what was used."),
        ("what", len(what) > LINE, f"This is longer than {LINE} characters."),
        ("unit", len(unit) > LINE, f"This is longer than {LINE} characters."),
        ("quantity", not 0 < quantity <= MOST_QUANTITY, "Write a quantity above 0, at most 100,000."),
        ("quantity", quantity != round(quantity, 3), "Write at most 3 digits after the point."),
    ):
        if wrong:
            return name, sentence
    return None


def stint_facts(stint: Stint, used: Sequence[Material]) -> dict[str, object]:
    """A stint as the ledger keeps it; nothing where it says neither minutes nor materials."""
    facts: dict[str, object] = {"stint": str(stint.pk)}
    facts |= {"minutes": stint.minutes} if stint.minutes is not None else {}
    return facts | ({"used": [plain_number(m.quantity) for m in used]} if used else {})


def stint_words(stint: Stint, used: Sequence[Material]) -> dict[str, str]:
    """Its words: why it was left, what was used."""
    return {"left": stint.because, "used": "; ".join(one_line(m.what) for m in used)}
