"""What was done to a draft after a page of it was shown: nobody freezes by the issue what they never saw."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from inspections.models import Inspection, Observation
from jobsite import words
from jobsite.refused import Refused


@dataclass(frozen=True)
class Shown:
    """A draft as somebody saw it: its version, the version of each observation by its number, its limitations."""

    version: int
    observations: dict[int, int]
    limitations: frozenset[UUID]


def must_be_as_shown(draft: Inspection, observations: Iterable[Observation], shown: Shown | None) -> None:
    """Raises Refused, saying what changed, where the locked draft is not as it was `shown`. None: nobody looked at a page."""
    if shown is None:
        return
    now = {row.number: row.version for row in observations}
    limits = set(draft.limitations.values_list("pk", flat=True))
    both = now.keys() & shown.observations.keys()
    told = [
        _observations(now.keys() - shown.observations.keys(), "added"),
        _observations([number for number in both if now[number] != shown.observations[number]], "changed"),
        _observations(shown.observations.keys() - now.keys(), "dropped"),
        _limitations(limits - shown.limitations, "added"),
        _limitations(shown.limitations - limits, "taken off"),
        "" if draft.version == shown.version else "the particulars changed",
    ]
    if any(told):
        raise Refused(f"Since you looked: {words.joined(*told)}. Look again at the draft as it is now, then issue it.")


def _observations(numbers: Iterable[int], done: str) -> str:
    listed = sorted(numbers)
    return f"{words.many(len(listed), 'observation')} {done} ({', '.join(map(str, listed))})" if listed else ""


def _limitations(keys: set[UUID] | frozenset[UUID], done: str) -> str:
    return f"{words.many(len(keys), 'limitation')} {done}" if keys else ""
