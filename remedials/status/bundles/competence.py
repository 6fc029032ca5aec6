"""Who was held competent, by what had been recorded by then. Pure."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from remedials.status.bundles.rules import State, Told

# What only a person with competence decides; and what else somebody's hands or eyes did.
DECIDES = (
    "inspection.issued", "observation.reviewed", "observation.finding", "observation.finding-withdrawn", "remedial.reviewed",
    "remedial.sent-back",
)  # fmt: skip
DOES = (
    "observation.seen", "observation.missed", "made-safe.done", "made-safe.looked-again", "made-safe.reconnected",
    "notice.given", "reading.taken", "remedial.closed", "remedial.filed-beside", "remedial.part-done", "remedial.could-not",
    "remedial.power-off", "remedial.power-on",
)  # fmt: skip


@dataclass(slots=True)
class Held:
    """That a person was recorded as competent for something, and from when until when."""

    person: str
    what: str
    since: date
    until: date | None
    evidence: str
    told: list[Told]

    def on(self, day: date) -> bool:
        """Whether it covered `day`."""
        return self.since <= day and (self.until is None or day <= self.until)


def held_by(entries: Iterable[Told]) -> dict[str, list[Held]]:
    """What each person was recorded as competent for, after `entries` of the firm's chain in their order."""
    rows: dict[str, Held] = {}
    for told in entries:
        if told.verb in ("competence.recorded", "skill.recorded"):
            what = told.words.get("skill", "a skill") if told.kind == "skill" else "qualified person"
            since, until = date.fromisoformat(told.facts["since"]), told.facts.get("until")
            until = date.fromisoformat(until) if until else None
            evidence = told.words.get("evidence", "")
            rows[told.subject] = Held(told.facts["person"], what, since, until, evidence, [told])
        elif told.verb in ("competence.ended", "skill.ended") and (row := rows.get(told.subject)):
            row.until = date.fromisoformat(told.facts["until"])
            row.told.append(told)
    found: dict[str, list[Held]] = {}
    for row in rows.values():
        found.setdefault(row.person, []).append(row)
    return found


def concerned(state: State) -> dict[str, list[Told]]:
    """The people whose competence matters here, each with what they did, in the order of the first."""
    found: dict[str, list[Told]] = {}
    theirs = {told.subject for told in state.of("inspection.started") if told.facts.get("other_firm")}
    for told in state.of(*DECIDES, *DOES):
        if told.verb == "inspection.issued" and told.subject in theirs:
            continue  # another firm's report was taken in: whoever did that judged nothing
        doer = told.facts.get("done_by") or (told.actor if told.actor_kind == "person" else "")
        if doer:
            found.setdefault(doer, []).append(told)
        if looker := told.facts.get("looked_by"):
            found.setdefault(looker, []).append(told)
    return found


def without_competence(acts: Iterable[Told], held: Iterable[Held], *, day_of: Callable[[datetime], date]) -> list[Told]:
    """Decisions among `acts` on whose day nothing that was recorded by then held the person to be qualified."""
    rows = [row for row in held if row.what == "qualified person"]
    found = []
    for told in acts:
        on = day_of(told.at)
        known = [row for row in rows if row.told[0].at <= told.at]
        if told.verb in DECIDES and not any(row.on(on) for row in known):
            found.append(told)
    return found
