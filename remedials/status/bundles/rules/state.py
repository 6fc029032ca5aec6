"""What the entries are, and what they amount to: observations and remedials as they were on record. Pure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from remedials.works.states import Stage


@dataclass(frozen=True, slots=True)
class Told:
    """One entry of the ledger, keys as text. `words` are those kept beside it, as far as they may be told."""

    chain: str
    number: int
    operation: str
    at: datetime
    actor_kind: str
    actor: str
    verb: str
    kind: str
    subject: str
    facts: Mapping[str, Any]
    words: Mapping[str, str] = field(default_factory=dict)

    @property
    def place(self) -> tuple[str, int]:
        """Where it stands: its chain, and its number in it."""
        return self.chain, self.number


@dataclass(slots=True)
class Seen:
    """An observation as it was on record. `held`: the key of what made it safe, "" while nothing does."""

    key: str
    code: str = ""
    at_issue: str = ""
    number: int = 0
    text: str = ""
    draft: bool = False
    report: str = ""
    continues: str = ""
    ended: str = ""
    ended_at: datetime | None = None
    reason: str = ""
    held: str = ""
    held_how: str = ""
    held_at: datetime | None = None
    before_copy: str = ""
    gone_with: tuple[str, str] = ("", "")
    told: list[Told] = field(default_factory=list)


@dataclass(slots=True)
class Job:
    """A remedial as it was on record."""

    key: str
    number: int
    stage: Stage = Stage.TO_PRICE
    work: str = ""
    observations: set[str] = field(default_factory=set)
    told: list[Told] = field(default_factory=list)


@dataclass(slots=True)
class State:
    """What was on record: observations and remedials by their keys, and every entry by what it is about."""

    seen: dict[str, Seen] = field(default_factory=dict)
    jobs: dict[str, Job] = field(default_factory=dict)
    by_verb: dict[str, list[Told]] = field(default_factory=dict)

    def on_record(self) -> list[Seen]:
        """The observations that counted then: not those of a report that nobody had issued."""
        return sorted((one for one in self.seen.values() if not one.draft), key=lambda one: (one.number, one.key))

    def of(self, *verbs: str) -> list[Told]:
        """The entries of `verbs`, in the order of the ledger."""
        return sorted(
            (told for verb in verbs for told in self.by_verb.get(verb, ())), key=lambda told: (told.at, told.number)
        )


def up_to(entries: Sequence[Told], instant: datetime) -> tuple[Sequence[Told], int]:
    """The beginning of one chain that was written by `instant`, and how many after it bear an earlier time all the same.

    It ends before the first entry that is later: a chain can be checked only from its start without a gap. What stands
    behind that with an earlier time (two people at the same moment, a clock put right) is left out, and said to be.
    """
    for place, told in enumerate(entries):
        if told.at > instant:
            return entries[:place], sum(later.at <= instant for later in entries[place:])
    return entries, 0
