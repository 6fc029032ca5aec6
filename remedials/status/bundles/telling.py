"""What an archive tells in words: sections of rows, each with the entries it rests on. The PDF and the text say the same."""

from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import Any

from jobsite import clock
from jobsite.words import day, many, when
from remedials.status.bundles.competence import Held, concerned, without_competence
from remedials.status.bundles.naming import Names
from remedials.status.bundles.rules import Job, Seen, State, Told
from remedials.status.record.history import facts_in_words, verbs
from remedials.works.states import WORDS, Stage

ENDED = {
    "remedied": "put right", "no-code": "found to need no code", "finding": "investigated: what was found is an item of its own",
    "others": "put right by others", "continued": "goes on as a later item", "gone": "found not to be there any more",
    "withdrawn": "withdrawn",
}  # fmt: skip
HELD = {"locked": "isolated and locked", "covered": "covered", "disconnected": "disconnected"}
WORST = {"C1": 0, "C2": 1, "FI": 2, "": 3, "C3": 4}
MEANS = {
    "C1": "danger present", "C2": "potentially dangerous", "FI": "further investigation required without delay",
    "C3": "improvement recommended", "": "no competent person had coded it",
}  # fmt: skip
LEFT_OUT = "(words that are not given here)"


@dataclass
class Row:
    """One thing told: a head with a code beside it where it has one, lines below, and the entries it rests on."""

    head: str
    lines: list[str] = field(default_factory=list)
    refs: list[str] = field(default_factory=list)
    code: str = ""
    pictures: list[tuple[str, str]] = field(default_factory=list)
    """Photographs to be shown: the hash of the file, and what it shows in words."""


@dataclass
class Section:
    """Rows under a heading; `none` is what is said where there are none."""

    title: str
    none: str
    rows: list[Row] = field(default_factory=list)
    note: str = ""

    def plain(self) -> dict[str, Any]:
        """As text, lists and dicts."""
        return asdict(self)


def known(state: State, names: Names) -> list[Section]:
    """What was on record of the installation: items open and closed, reports, what they did not cover, readings."""
    seen = state.on_record()
    still = sorted((one for one in seen if not one.ended), key=lambda one: (WORST.get(one.code, 3), one.number))
    gone = [one for one in seen if one.ended]
    return [
        Section("Known: open items", "No item was recorded open.", [_item(one, state, names) for one in still]),
        Section("Known: items no longer open", "None.", [_item(one, state, names) for one in gone]),
        Section("Known: reports", "No report was on record.", _reports(state, names)),
        Section("Known: what inspections did not cover", "Nothing was noted.", _limitations(state, names)),
        Section(
            "Known: readings", "None was on record.", [_reading(told, names) for told in state.of("reading.taken")]
        ),
    ]


def lead(state: State, instant: datetime) -> list[str]:
    """The first sentences: how many items were open, how dangerous, what was made safe. Never more than is known."""
    still = [one for one in state.on_record() if not one.ended]
    at = f"By {when(instant)}"
    if not still:
        first = f"{at}, no item was recorded open."
    else:
        counts = [(code or "not coded", sum(one.code == code for one in still)) for code in WORST]
        listed = ", ".join(f"{count} {code}" for code, count in counts if count)
        first = f"{at}, {many(len(still), 'item')} {'were' if len(still) > 1 else 'was'} recorded open: {listed}."
    safe = sum(bool(one.held) for one in still)
    second = [f"{safe} of them {'were' if safe > 1 else 'was'} made safe for the time being."] if safe else []
    return [first, *second, "This tells what had been recorded. It does not say that anything is or was safe."]


def _item(one: Seen, state: State, names: Names) -> Row:
    source = one.told[0]
    place = [names.of(source.facts.get(name), name) for name in ("unit", "board", "circuit") if source.facts.get(name)]
    place = [name for name in place if name != names.site]
    place += [source.words["place"]] if source.words.get("place") else []
    lines = [one.text or LEFT_OUT]
    lines += [f"Where: {', '.join(dict.fromkeys(place))}"] if place else []
    lines.append(f"Code then: {one.code or 'none'}, {MEANS.get(one.code, '')}. First in this record {when(source.at)}.")
    if one.held and one.held_at:
        lines.append(
            f"Made safe {when(one.held_at)}: {HELD.get(one.held_how, one.held_how)}. The defect itself stayed open."
        )
    if one.ended and one.ended_at:
        lines.append(f"{ENDED[one.ended].capitalize()}, {when(one.ended_at)}.{f' {one.reason}' if one.reason else ''}")
    jobs = [job for job in state.jobs.values() if one.key in job.observations]
    lines += [_job(job) for job in sorted(jobs, key=lambda job: job.number)]
    if not jobs and not one.ended:
        lines.append("No remedial was on record for it.")
    head = names.of(one.key, "observation").capitalize()
    return Row(head, lines, _refs(one.told, names), one.code, _pictures(one, jobs, head))


def _pictures(one: Seen, jobs: Iterable[Job], head: str) -> list[tuple[str, str]]:
    """The photographs of an item as found, and of what was done about it, by the hash of their files."""
    found = [(told.facts["file"], f"{head}, as found") for told in one.told if told.verb == "observation.photographed"]
    for job in jobs:
        gone = {told.facts["photo"] for told in job.told if told.verb == "remedial.photo-removed"}
        added = [told for told in job.told if told.verb == "remedial.photo-added" and told.facts["photo"] not in gone]
        mine = [told for told in added if told.facts.get("observation") in (None, one.key)]
        found += [(told.facts["file"], f"{head}, after the work") for told in mine]
    return list({key: (key, words) for key, words in reversed(found)}.values())[::-1]


def _job(job: Job) -> str:
    """Where the work stood; what was told of it last."""
    last = job.told[-1]
    return (
        f"Remedial {job.number}: {job.work or LEFT_OUT}. Stage then: {WORDS[Stage(job.stage)]}, since {when(last.at)}."
    )


def _refs(told: Iterable[Told], names: Names) -> list[str]:
    return [names.ref(one) for one in told]


def _reports(state: State, names: Names) -> list[Row]:
    begun = {told.subject: told for told in state.of("inspection.started", "inspection.reissue-begun")}
    replaced = {told.subject: told for told in state.of("inspection.replaced")}
    rows = []
    for told in state.of("inspection.issued"):
        start = begun.get(told.subject)
        lines = [f"Issued {when(told.at)} by {names.who(told)}. Outcome: {told.facts.get('outcome') or 'not stated'}."]
        if written := told.facts.get("outcome_written"):
            lines.append(f"What the report itself says: {written}.")
        if codes := told.facts.get("codes"):
            lines.append(f"Codes in it: {', '.join(code.replace(':', ' × ') for code in codes)}.")
        if start and start.facts.get("inspected_on"):
            who = [
                start.words[name]
                for name in ("inspector_name", "qualified_person_name", "firm_name")
                if start.words.get(name)
            ]
            by = f" by {', '.join(who)}" if who else ""
            lines.append(f"Inspected {_day(start.facts['inspected_on'])}{by}.")
            lines += [f"Extent: {start.words['extent']}"] if start.words.get("extent") else []
        over = replaced.get(told.subject)
        lines += [f"Replaced by {names.of(over.facts['replaced_by'], 'inspection')}, {when(over.at)}."] if over else []
        rows.append(
            Row(
                names.of(told.subject, "inspection").capitalize(),
                lines,
                _refs(filter(None, (start, told, over)), names),
            )
        )
    return rows


def _limitations(state: State, names: Names) -> list[Row]:
    issued = {told.subject for told in state.of("inspection.issued")}
    over = {told.subject: told for told in state.of("limitation.covered", "limitation.removed")}
    rows = []
    for told in state.of("limitation.added"):
        end = over.get(told.subject)
        if told.facts.get("inspection") not in issued or (end and end.verb == "limitation.removed"):
            continue
        lines = [f"Why: {told.words['why']}"] if told.words.get("why") else []
        lines += [f"Covered since, {when(end.at)}."] if end else ["Nobody had covered it by then."]
        rows.append(Row(told.words.get("what", LEFT_OUT), lines, _refs(filter(None, (told, end)), names)))
    return rows


def _reading(told: Told, names: Names) -> Row:
    facts = told.facts
    limits = [
        f"{word} {facts[name]}"
        for name, word in (("limit_least", "at least"), ("limit_most", "at most"))
        if facts.get(name)
    ]
    judged = f" ({', '.join(limits)})" if limits else ""
    lines = [f"{facts.get('value', '')}: {facts.get('verdict', '')}{judged}"]
    check = "in its check" if facts.get("instrument_in_check") else "not in its check"
    by = f", instrument {names.of(facts['instrument'], 'instrument')}, {check}" if facts.get("instrument") else ""
    lines.append(f"Recorded {when(told.at)} by {names.who(told)}{by}.")
    what = str(facts.get("quantity", "")).replace("-", " ")
    return Row(f"{names.of(facts.get('at'), 'place')}: {what}", lines, _refs([told], names))


def competent(
    state: State, held: dict[str, list[Held]], names: Names, instant: datetime, *, day_by_day: bool = False
) -> Section:
    """Who inspected, decided, worked, and whether the record held them competent: at `instant`, and when they decided.

    `day_by_day`: instead on the day of each thing they did, for a few jobs.
    """
    today = clock.local_day(instant)
    rows = []
    for person, acts in concerned(state).items():
        mine = held.get(person, [])
        lines = [_held(one, None if day_by_day else today) for one in mine] or ["No competence was on record."]
        lines += _on_their_days(acts, mine, names) if day_by_day else []
        lines += [
            f"{_verb(told)} on {day(clock.local_day(told.at))} [{names.ref(told)}]: not on record as qualified then."
            for told in without_competence(acts, mine, day_of=clock.local_day)
        ]
        did = sorted({_verb(told) for told in acts})
        lines.append(f"What they did here: {', '.join(did)}.")
        refs = [names.ref(told) for one in mine for told in one.told]
        rows.append(Row(names.person(person), lines, refs))
    note = "By what the firm had recorded by then. Whether it was right to hold somebody competent is for whoever reads this to judge."
    return Section("Who was competent", "Nobody's competence mattered to what is on record.", rows, note)


def _on_their_days(acts: Iterable[Told], held: Iterable[Held], names: Names) -> list[str]:
    """What each did on which day, and what was on record for that day by then."""
    found = []
    for told in acts:
        on = clock.local_day(told.at)
        covers = [one.what for one in held if one.told[0].at <= told.at and one.on(on)]
        known = ", ".join(covers) or "no competence"
        found.append(f"{day(on)}: {_verb(told)} [{names.ref(told)}]. On record for that day: {known}.")
    return found


def _held(one: Held, today: date | None) -> str:
    until = f" until {day(one.until)}" if one.until else ", without an end"
    state = f": {'held then' if one.on(today) else 'did not hold then'}" if today else ""
    return f"{one.what.capitalize()} from {day(one.since)}{until}{state}. On what: {one.evidence or LEFT_OUT}. Recorded {when(one.told[0].at)}."


def instruments(state: State, entries: Iterable[Told], names: Names) -> Section:
    """The checks of the instruments that readings here came from."""
    rows: dict[str, Row] = {}
    used = {told.facts.get("instrument") for told in state.of("reading.taken")} - {None}
    for told in entries:
        if told.subject in used and told.kind == "instrument":
            row = rows.setdefault(told.subject, Row(names.of(told.subject, "instrument")))
            row.lines.append(
                f"{when(told.at)}: {_verb(told)}. {facts_in_words(_spoken(told.facts))}".rstrip(" .") + "."
            )
            row.refs.append(names.ref(told))
    return Section("Instruments that readings came from", "No reading came from an instrument.", list(rows.values()))


def _spoken(facts: Any) -> dict[str, Any]:
    return {name: value for name, value in facts.items() if name not in ("check", "file")}


def _verb(told: Told) -> str:
    return verbs().get(told.verb, told.verb)


def _day(iso: str) -> str:
    return day(date.fromisoformat(iso))


def in_order(entries: Iterable[Told], names: Names, told_in_full: Callable[[str], bool]) -> Iterable[str]:
    """Every entry as a line of text, in the order of the ledger."""
    for told in entries:
        if not told_in_full(told.verb):
            yield f"[{names.ref(told)}] {when(told.at)}  (sealed)"
            continue
        yield f"[{names.ref(told)}] {when(told.at)}  {names.who(told)}: {_verb(told)} ({names.of(told.subject, told.kind)})"
        if said := facts_in_words(told.facts):
            yield f"    {said}"
        for name, text in sorted(told.words.items()):
            yield f"    {name.replace('_', ' ')}: {' '.join(text.split())}"
