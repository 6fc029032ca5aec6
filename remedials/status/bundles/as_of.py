"""All that goes into the archive of a site as of an instant."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from inspections.models import Paper
from jobsite.firm.queries import the_firm
from jobsite.ledger.models import Document, Entry
from jobsite.messages.models import Message
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.words import many, when
from remedials.status.bundles import telling, telling_said
from remedials.status.bundles.competence import concerned, held_by
from remedials.status.bundles.extract import Extract, as_told, extract_of, of_the_firm, words_to_give
from remedials.status.bundles.files import files_of
from remedials.status.bundles.naming import Names, learn, letters_of
from remedials.status.bundles.packing import READ_ME, ledger_lines, packed, words_lines
from remedials.status.bundles.record import Record, for_the_pdf, heads_of
from remedials.status.bundles.rules import State, Told, state_of
from remedials.status.bundles.sealing import may_be_told
from remedials.status.models import Bundle

WHAT = "what the firm had on record of this place by that time: what was known, said, delivered and refused, and who was competent."
LEFT_OUT = (
    "{count} bear an earlier time but were written after an entry of a later one: they are left out, since a chain is only "
    "checked without a gap."
)


def archive(bundle: Bundle) -> tuple[bytes, str]:
    """The archive, and the SHA-256 of its manifest. The same record makes the same bytes.

    A fixed number of statements besides the reading of the files. Raises Refused where it grows beyond all measure.
    """
    site = bundle.site
    if site is None:
        raise TypeError("as of a date a bundle is of a site")
    found = extract_of(site, bundle.as_of)
    told = found.told()
    state = state_of(told)
    used = {one.facts["instrument"] for one in state.of("reading.taken") if one.facts.get("instrument")}
    firms = of_the_firm(concerned(state), used, bundle.as_of)
    firm_words = words_to_give(firms)
    firm_told = [as_told(entry, firm_words.get(entry.pk, ())) for entry in firms]
    names = learn(Names(people_named(told, firm_told), letters_of(found.chains)), [*told, *firm_told])
    names.things |= papers_named(told)
    messages = _messages(found)
    record = _record(bundle, site, found, state, firm_told, names, messages)
    files, index = files_of([one for one in told if may_be_told(one.verb)], names, {})
    entries = [entry for chain in found.chains.values() for entry in chain]
    ends = {key: (chain[-1].number, bytes(chain[-1].hash).hex()) for key, chain in found.chains.items()}
    record.pictures = for_the_pdf(record, files)
    content = {
        **record.files(now=bundle.asked_at, in_order=telling.in_order(told, names, may_be_told)),
        **files,
        "files.txt": index,
        "messages.txt": messages_text(messages, bundle.as_of),
        **ledger_files(entries, firms, {**found.words, **firm_words}),
        "READ-ME.txt": READ_ME.format(title=record.title, under="\n".join(record.under), what=WHAT).encode(),
    }
    return packed(content, ends, kind=bundle.kind, title=record.title, as_of=_iso(bundle.as_of), firm=record.firm)


def ledger_files(chains: Iterable[Entry], single: Iterable[Entry], words: dict[UUID, list[Any]]) -> dict[str, bytes]:
    """The three files of the ledger: whole chains, single entries, words."""
    chains, single = list(chains), list(single)
    given = [entry.pk for entry in [*chains, *single] if may_be_told(entry.verb)]
    pairs = [(entry, row) for entry in [*chains, *single] for row in words.get(entry.pk, ())]
    return {
        "ledger.jsonl": ledger_lines(chains, told=given),
        "single-entries.jsonl": ledger_lines(single, told=given),
        "words.jsonl": words_lines(pairs),
    }


def people_named(*lists: Iterable[Told]) -> dict[str, str]:
    """The people of the firm that entries name, by key. One statement."""
    keys = set[str]()
    for told in (one for rows in lists for one in rows):
        keys |= {told.actor} if told.actor_kind == "person" else set()
        keys |= {told.facts[name] for name in ("done_by", "looked_by", "person") if told.facts.get(name)}
    return {str(pk): name for pk, name in User.objects.filter(pk__in=keys).values_list("pk", "name")}


def papers_named(told: Iterable[Told]) -> dict[str, str]:
    """What the papers that entries are about are called: their own words of the day they were asked for. One statement."""
    keys = {one.subject for one in told if one.kind == "paper"}
    return {str(pk): what for pk, what in Paper.objects.filter(pk__in=keys).values_list("pk", "what")}


def _messages(found: Extract) -> list[Message]:
    """What was written to customers about the site by then. One statement."""
    rows = Message.objects.filter(site__in=found.chains or [found.site.pk], to_kind=Message.To.CUSTOMER)
    return list(rows.filter(written_at__lte=found.instant).order_by("written_at", "pk"))


def messages_text(messages: Iterable[Message], instant: datetime) -> bytes:
    """The words of messages, without the addresses they went to."""
    parts = [
        f"Message {one.number}, {when(one.written_at)}, {telling_said.outcome(one, instant)}\n{one.subject}\n\n{one.body}\n"
        for one in messages
    ]
    return ("\n----\n\n".join(parts) or "No message to a customer was on record.\n").encode()


def _record(
    bundle: Bundle, site: Site, found: Extract, state: State, firms: list[Told], names: Names, messages: list[Message]
) -> Record:
    titles = {str(pk): title for pk, title in _titles(state)}
    sections = [
        *telling.known(state, names),
        telling_said.said(state, names, messages, bundle.as_of),
        telling_said.delivered(state, names, titles),
        telling_said.refused(state, names),
        telling_said.waiting(state, names),
        telling.competent(state, held_by(firms), names, bundle.as_of),
        telling.instruments(state, firms, names),
    ]
    lead = telling.lead(state, bundle.as_of)
    if found.left_out:
        lead.append(LEFT_OUT.format(count=many(found.left_out, "entry", "entries").capitalize()))
    ends = {key: (chain[-1].number, bytes(chain[-1].hash).hex()) for key, chain in found.chains.items()}
    return Record(
        title=f"Record of {site.name}, as of {when(bundle.as_of)}",
        about=f"{site.name}, site {site.number}",
        firm=the_firm().name,
        under=[site.one_line, f"Site {site.number}. Drawn {when(bundle.asked_at)}. Times are those of London."],
        lead=lead,
        sections=sections,
        heads=heads_of(ends),
        legend=[f"{letter or 'No letter'}: chain {chain}" for chain, letter in names.letters.items()]
        + ["F: the firm's own chain"],
        state=state_as_plain(state),
    )


def _titles(state: State) -> list[tuple[UUID, str]]:
    keys = [told.subject for told in state.of("document.made")]
    return list(Document.objects.filter(pk__in=keys).values_list("pk", "title"))


def state_as_plain(state: State) -> dict[str, Any]:
    """Items and works as they stood, for a program."""
    items = [
        {
            "number": one.number, "key": one.key, "code": one.code, "open": not one.ended, "ended": one.ended,
            "made_safe": bool(one.held), "text": one.text,
            "works": sorted(job.number for job in state.jobs.values() if one.key in job.observations),
        }
        for one in state.on_record()
    ]  # fmt: skip
    jobs = [
        {"number": job.number, "key": job.key, "stage": str(job.stage), "work": job.work} for job in state.jobs.values()
    ]
    return {"items": items, "remedials": sorted(jobs, key=lambda job: int(str(job["number"])))}


def _iso(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat(timespec="seconds")
