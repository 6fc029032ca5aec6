"""What every operation on a remedial stands on: locks in the house's order, moves by the table, the next step."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any, TypeVar
from uuid import UUID

from inspections.models import Observation
from jobsite import clock
from jobsite.firm.queries import policy_on
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import record
from jobsite.ledger.rows import FORM_USED
from jobsite.people.models import User
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.works.models import Remedial
from remedials.works.rules import next_step_by
from remedials.works.states import PASSIVE, WORDS, Move, Stage, after
from remedials.works.verbs import Verb

Row = TypeVar("Row")


def same_form(made: Row, same: bool) -> Row:
    """What the same form made before. Raises Refused where its key was used for something else."""
    if not same:
        raise Refused(FORM_USED)
    return made


def same_again(rows: Any, given: Mapping[str, Any]) -> bool:
    """Whether the last of `rows` (an approval, a way out) says just what is `given`: the same was sent twice.

    Somebody else's particulars are no repetition: their page must not say that they were recorded.
    """
    last = rows.order_by("-recorded_at", "-pk").first()
    return last is not None and all(getattr(last, name) == value for name, value in given.items())


def locked(remedial: Remedial) -> Remedial:
    """The row as it is now, locked until the operation ends."""
    return Remedial.objects.select_for_update(of=("self",)).select_related("site").get(pk=remedial.pk)


def as_seen(remedial: Remedial, version: int | None) -> None:
    """Raises ChangedMeanwhile where `remedial` is newer than the `version` that the person saw (None: not said)."""
    if version is not None and remedial.version != version:
        stage = WORDS[Stage(remedial.stage)]
        raise ChangedMeanwhile(
            f"Somebody changed remedial {remedial.number} meanwhile: its stage is now {stage}. "
            "Look at it as it stands; save again if you still mean it.",
            theirs=remedial,
        )


def locked_with_observations(remedial: Remedial) -> tuple[Remedial, list[Observation]]:
    """The remedial and its observations, observations locked first."""
    items = Observation.objects.filter(remedies__remedial=remedial)
    observations = list(items.select_for_update(of=("self",)).order_by("pk"))
    return locked(remedial), observations


def moved(remedial: Remedial, move: Move) -> Stage:
    """The stage that `move` leads to. Raises Refused with the present stage where the table has no such move."""
    stage = after(Stage(remedial.stage), move)
    if stage is None:
        words = WORDS[Stage(remedial.stage)]
        raise Refused(f"Remedial {remedial.number} cannot {PASSIVE[move]}: its stage is {words}.")
    return stage


def change(remedial: Remedial, **fields: Any) -> Remedial:
    """Set `fields`, count the version on, and write just those."""
    for name, value in fields.items():
        setattr(remedial, name, value)
    remedial.version += 1
    remedial.save(update_fields=[*fields, "version"])
    return remedial


def step_date(observations: Iterable[Observation], *, now: datetime) -> date:
    """When the firm's next step is due by its policy, no later than the first open observation must be remedied."""
    today = clock.local_day(now)
    limits = [o.remedy_by for o in observations if o.remedy_by and not o.ended]
    return next_step_by(today, days=policy_on(today).step_days, remedy_by=min(limits, default=None))


def person(by: Actor) -> User:
    """`by` as a person. What people answer for isn't done by the clock or by a link: TypeError, a mistake of ours."""
    if not isinstance(by, User):
        raise TypeError(f"a person does this, not the {by.actor_kind}")
    return by


def note(
    verb: Verb,
    remedial: Remedial,
    *,
    by: Actor,
    now: datetime,
    facts: dict[str, Any] | None = None,
    words: dict[str, str] | None = None,
) -> None:
    """Write the entry of `verb` about `remedial` into its site's ledger."""
    record(verb, site=remedial.site_id, subject=remedial, by=by, now=now, facts=facts, words=words)


def iso(day: date | None) -> str | None:
    """A date as the ledger keeps it."""
    return day.isoformat() if day else None


def key(row: User | None) -> str | None:
    """The key of a person as the ledger keeps it."""
    return str(row.pk) if row else None


def keys(ids: Iterable[UUID]) -> list[str]:
    """Keys as the ledger keeps them, in one order."""
    return sorted(str(pk) for pk in ids)


def must_be_active(owner: User | None, *, field: str = "owner") -> None:
    """Raises Refused where the step would fall to somebody who has left the firm."""
    if owner is not None and not owner.is_active:
        raise Refused(f"{owner} has left the firm: give the step to somebody else.", field=field)


def needed(text: str, sentence: str, *, field: str) -> str:
    """`text` without blanks around it. Raises Refused with `sentence` where nothing is left."""
    if not (text := text.strip()):
        raise Refused(sentence, field=field)
    return text


def not_in_the_past(day: date, *, now: datetime, field: str) -> date:
    """`day`. Raises Refused where it lies before today."""
    if day < clock.local_day(now):
        raise Refused("This day is past: choose today or a later day.", field=field)
    return day


def not_in_the_future(day: date, *, now: datetime, field: str) -> date:
    """`day`. Raises Refused where it lies after today."""
    if day > clock.local_day(now):
        raise Refused("This day has not come yet.", field=field)
    return day
