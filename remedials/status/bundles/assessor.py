"""The pack for the firm's assessor: what proves remedials that were picked by number, and who was competent then."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Prefetch

from inspections.choices import Code
from inspections.models import Observation, ObservationPhoto, Paper, Reading
from inspections.queries.readings import in_words, instrument_words, limit_shown, where
from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ledger.models import Entry
from jobsite.ledger.queries import heads
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.premises.models import Site
from jobsite.words import day, joined, many, when
from remedials.status.bundles import telling
from remedials.status.bundles.as_of import ledger_files, people_named
from remedials.status.bundles.competence import held_by
from remedials.status.bundles.extract import as_told, of_the_firm, words_to_give
from remedials.status.bundles.files import files_of
from remedials.status.bundles.naming import Names, learn
from remedials.status.bundles.packing import READ_ME, packed
from remedials.status.bundles.record import Record, for_the_pdf
from remedials.status.bundles.rules import State, Told
from remedials.status.bundles.sealing import may_be_told
from remedials.status.bundles.telling import Row, Section
from remedials.status.models import Bundle
from remedials.works.models import Proof, ProofPhoto, ProofReview, Remedial

WHAT = "the proof of works that were picked by number, for an assessment of the firm: readings, certificates, notifications, pictures."
NOTHING = "None is on record."


def archive(bundle: Bundle) -> tuple[bytes, str]:
    """The pack, and the SHA-256 of its manifest. The same record makes the same bytes.

    A fixed number of statements, whatever is in it, besides the reading of the files. Raises Refused where it grows beyond all measure.
    """
    jobs = list(_jobs(bundle))
    papers = _papers(jobs)
    entries = _entries(jobs, papers, bundle.as_of)
    state = _state(entries)
    instruments = {told.facts["instrument"] for told in state.of("reading.taken") if told.facts.get("instrument")}
    people = {str(proof.done_by_id) for job in jobs for proof in job.proofs.all()}
    people |= {told.actor for told in state.of("remedial.reviewed", "reading.taken", "observation.reviewed")}
    firms = of_the_firm(people, instruments, bundle.as_of)
    words = words_to_give([*entries, *firms])
    told, firm_told = ([as_told(row, words.get(row.pk, ())) for row in rows] for rows in (entries, firms))
    state = _state_of(told)
    names = learn(Names(people_named(told, firm_told), {}), [*told, *firm_told])
    names.letters = letters_by_site({one.chain for one in told})
    record = _record(bundle, jobs, papers, state, firm_told, names)
    files, index = files_of([one for one in [*told, *firm_told] if may_be_told(one.verb)], names, _besides(jobs))
    record.pictures = for_the_pdf(record, files)
    content = {
        **record.files(now=bundle.asked_at, in_order=telling.in_order(told, names, may_be_told)),
        **files,
        "files.txt": index,
        **ledger_files([], [*entries, *firms], words),
        "READ-ME.txt": READ_ME.format(title=record.title, under="\n".join(record.under), what=WHAT).encode(),
    }
    return packed(content, {}, kind=bundle.kind, title=record.title, jobs=bundle.jobs, firm=record.firm)


def letters_by_site(chains: Iterable[str]) -> dict[str, str]:
    """How entries of several sites are told apart: by the number of the site. One statement."""
    rows = Site.objects.filter(pk__in=list(chains)).values_list("pk", "number")
    return {str(pk): f"{number}/" for pk, number in rows}


def _jobs(bundle: Bundle) -> Any:
    proofs = Proof.objects.filter(state=Proof.State.STANDS).select_related("done_by", "certificate_file", "review__by")
    proofs = proofs.prefetch_related(Prefetch("readings", in_words(Reading.objects.order_by("taken_at", "pk"))))
    photos = ObservationPhoto.objects.select_related("file").order_by("added_at", "pk")
    items = Observation.objects.order_by("number").prefetch_related(Prefetch("photos", photos))
    after = ProofPhoto.objects.filter(proof__state=Proof.State.STANDS).order_by("added_at", "pk")
    rows = Remedial.objects.filter(number__in=bundle.jobs).select_related("site", "unit").order_by("number")
    return rows.prefetch_related(
        Prefetch("proofs", proofs),
        Prefetch("observations", items),
        Prefetch("photos", after),
        "required_readings__circuit__board",
    )


def _papers(jobs: Iterable[Remedial]) -> dict[UUID, list[Paper]]:
    """What had to be notified of each job. Two statements."""
    found: dict[UUID, list[Paper]] = {}
    rows = Paper.objects.filter(work__in=[job.pk for job in jobs]).order_by("due_on", "pk").prefetch_related("supplies")
    for paper in rows:
        if paper.work:
            found.setdefault(paper.work, []).append(paper)
    return found


def _entries(jobs: Iterable[Remedial], papers: dict[UUID, list[Paper]], instant: datetime) -> list[Entry]:
    """The entries about the jobs and what proves them, in the order in which they were written. One statement."""
    keys = set[UUID]()
    for job in jobs:
        keys |= {job.pk, *(row.pk for row in job.observations.all()), *(paper.pk for paper in papers.get(job.pk, ()))}
        keys |= {reading.pk for proof in job.proofs.all() for reading in proof.readings.all()}
    rows = Entry.objects.filter(subject__in=keys, at__lte=instant).exclude(chain=FIRM_CHAIN)
    return list(rows.order_by("at", "chain", "number"))


def _state(entries: Iterable[Entry]) -> State:
    return _state_of(as_told(entry) for entry in entries)


def _state_of(told: Iterable[Told]) -> State:
    """The entries by what they did: of single entries no state of the whole follows."""
    state = State()
    for one in told:
        state.by_verb.setdefault(one.verb, []).append(one)
    return state


def _besides(jobs: Iterable[Remedial]) -> dict[str, str]:
    """Pictures and certificates by hash with what they are: also those that an entry about something else names."""
    found = dict[str, str]()
    for job in jobs:
        found |= {photo.file_id: f"remedial {job.number}, after the work" for photo in job.photos.all()}
        for seen in job.observations.all():
            found |= {photo.file_id: f"observation {seen.number}, as found" for photo in seen.photos.all()}
        for proof in job.proofs.all():
            if proof.certificate_file_id:
                found[proof.certificate_file_id] = f"remedial {job.number}, certificate {proof.certificate_number}"
    return found


def _record(
    bundle: Bundle, jobs: list[Remedial], papers: dict[UUID, list[Paper]], state: State, firms: list[Told], names: Names
) -> Record:
    sections = [_section(job, papers.get(job.pk, []), names, state) for job in jobs]
    held = held_by(firms)
    return Record(
        title=f"Assessor's pack, {many(len(jobs), 'remedial')}",
        about=f"assessor's pack of {day(clock.local_day(bundle.as_of))}",
        firm=the_firm().name,
        under=[f"Remedials {', '.join(map(str, bundle.jobs))}.", f"Drawn {when(bundle.asked_at)}. Times are those of London."],
        lead=[f"{many(len(jobs), 'remedial')} picked by number: {_counted(jobs)}."],
        sections=[
            *sections, telling.competent(state, held, names, bundle.as_of, day_by_day=True), telling.instruments(state, firms, names),
        ],
        heads=heads({job.site_id for job in jobs}),
        legend=["12/34: entry 34 of the ledger of site 12. F: an entry of the firm's own ledger."],
    )  # fmt: skip


def _counted(jobs: Iterable[Remedial]) -> str:
    """How many are proven and reviewed, proven and not, and not proven: a proof that nobody has accepted counts apart."""
    proofs = [next(iter(job.proofs.all()), None) for job in jobs]
    accepted = sum(1 for proof in proofs if proof and _accepted(proof))
    waiting = sum(1 for proof in proofs if proof and not _accepted(proof))
    bare = sum(1 for proof in proofs if proof is None)
    said = [f"{accepted} closed with proof that was reviewed and accepted"]
    said += [f"{waiting} done with proof that is NOT REVIEWED"] if waiting else []
    said += [f"{bare} without proof"] if bare else []
    return ", ".join(said)


def _accepted(proof: Proof) -> bool:
    review = getattr(proof, "review", None)
    return bool(review and review.decision == ProofReview.Decision.ACCEPTED)


def _section(job: Remedial, papers: list[Paper], names: Names, state: State) -> Section:
    proof = next(iter(job.proofs.all()), None)
    unit = "" if job.unit.whole_site else job.unit.name
    told = state.of("remedial.closed", "remedial.reviewed")
    refs = [names.ref(one) for one in told if one.subject == str(job.pk)]
    rows = [_item(seen) for seen in job.observations.all()]
    rows.append(_done(job, proof, refs))
    rows += [_reading(row) for row in (proof.readings.all() if proof else ())]
    rows += [_needed(job, proof)] if job.required_readings.all() else []
    rows.append(_certificate(job, proof))
    rows += [_paper(paper) for paper in papers] or [Row("Notification", [_no_notice(job)])]
    rows.append(_pictures(job))
    return Section(f"Remedial {job.number}: {job.work}", NOTHING, rows, joined(job.site.name, unit, job.site.one_line))


def _item(seen: Observation) -> Row:
    meaning = Code(seen.code).label if seen.code else "not coded"
    return Row(
        f"Observation {seen.number}: {seen.text}",
        [f"Code in force: {meaning}. {seen.get_ended_display().capitalize()}."],
        code=seen.code,
    )


def _done(job: Remedial, proof: Proof | None, refs: list[str]) -> Row:
    if proof is None:
        return Row(f"Stage: {job.get_stage_display()}", ["It was not closed with proof: nothing of ours shows it."])
    lines = [
        f"Done {when(proof.done_at)} by {proof.done_by.name}{f', supervised by {proof.supervisor_name}' if proof.supervisor_name else ''}."
    ]
    lines += [
        proof.note,
        proof.exception_reason and f"Put up with a doubtful or failing reading, because: {proof.exception_reason}",
    ]
    review = getattr(proof, "review", None)
    if review is None:
        lines.append("No review of the proof is on record.")
    else:
        own = " It was a review of one's own work, on a later day." if review.self_review else ""
        lines.append(
            f"Proof reviewed by {review.by.name}, {when(review.at)}: {review.get_decision_display()}. {review.reason}{own}"
        )
        lines.append(
            "A review of proof is a look at papers and pictures. It does not say that anybody inspected again."
        )
    return Row(f"Stage: {job.get_stage_display()}", lines, refs)


def _reading(row: Reading) -> Row:
    limit = limit_shown(row)
    lines = [f"{row.words}: {row.get_verdict_display()}{f', judged by {limit}' if limit else ''}.", row.basis]
    lines.append(joined(f"Taken {when(row.taken_at)} by {row.taken_by.name}", instrument_words(row)))
    return Row(f"Reading: {where(row)}, {row.what}", lines)


def _needed(job: Remedial, proof: Proof | None) -> Row:
    """Which readings it had to pass, and which of these the proof has none of."""
    have = {(row.circuit_id, row.quantity) for row in (proof.readings.all() if proof else ())}
    lines = [
        f"{need.circuit.board.designation}, way {need.circuit.way_name}: {need.get_quantity_display()}"
        f"{'' if (need.circuit_id, need.quantity) in have else ': NOT AMONG THE PROOF'}"
        for need in job.required_readings.all()
    ]
    return Row("Readings that it had to pass", lines)


def _certificate(job: Remedial, proof: Proof | None) -> Row:
    if not job.certificate_kind:
        return Row("Certificate", ["None was due by the record."])
    number = proof.certificate_number if proof else ""
    kept = "the file goes with this" if proof and proof.certificate_file_id else "no file of it is kept"
    return Row(
        "Certificate", [f"{job.certificate_kind}: {f'number {number}, {kept}' if number else 'NO NUMBER ON RECORD'}."]
    )


def _paper(paper: Paper) -> Row:
    lines = [f"Due {day(paper.due_on)}. {paper.basis}"]
    done = (
        f"{paper.get_answer_display().capitalize()} {day(paper.answered_on)}: {paper.how}"
        if paper.answer
        else "Not answered yet."
    )
    lines += [
        done,
        *(
            f"{row.get_came_display().capitalize()} to {row.to}, {day(row.on)}"
            for row in paper.supplies.all()
            if not row.taken_back_at
        ),
    ]
    return Row(f"Notification: {paper.what}", lines)


def _no_notice(job: Remedial) -> str:
    return (
        "It is notifiable by the record, but no notification is kept of it."
        if job.notifiable
        else "Not notifiable by the record."
    )


def _pictures(job: Remedial) -> Row:
    before = [photo.file_id for seen in job.observations.all() for photo in seen.photos.all()]
    after = [photo.file_id for photo in job.photos.all()]
    shown = [(key, f"Remedial {job.number}, as found") for key in before]
    shown += [(key, f"Remedial {job.number}, after the work") for key in after]
    lines = [f"As found: {many(len(before), 'picture')}", *(f"files/{key}.jpg" for key in before)]
    lines += [f"After the work: {many(len(after), 'picture')}", *(f"files/{key}.jpg" for key in after)]
    return Row("Pictures", lines, pictures=shown)
