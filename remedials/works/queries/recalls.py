"""An instrument found wrong: what it has shown since it was last right, the work that rests on it, what was decided."""

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from django.db.models import (
    Case,
    Count,
    Exists,
    F,
    IntegerField,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    TextField,
    Value,
    When,
)
from django.db.models.functions import Coalesce

from inspections.models import Reading
from inspections.queries.doubted import doubted_around, doubted_by, with_doubt
from inspections.queries.readings import in_words, reading_row, where
from jobsite.addresses import address
from jobsite.paging import Slice, keyset
from jobsite.people.models import Instrument, InstrumentFault, User
from jobsite.words import day, many, when
from remedials.works.models import Proof, RecallDecision
from remedials.works.states import Stage

REOPENABLE = (Stage.DONE, Stage.REVIEWED)
STATES = {"undecided": "to decide", "again": "to read again", "settled": "kept or read again", "": "all"}
ORDER = ("-taken_at", "-pk")
HEADS = (
    "When",
    "By",
    "Site",
    "Where",
    "What",
    "Value",
    "Verdict",
    "Instrument",
    "Work it proved",
    "Decided",
    "Reason",
    "Read again",
)


def faults(user: User, instrument: Instrument | None = None) -> list[dict[str, Any]]:
    """What was found wrong with the firm's instruments (or one), what is left to decide first. One statement.

    Counted are readings at sites that `user` sees.
    """
    seen: Any = doubted_around()
    seen = seen.visible_to(user).annotate(fault=OuterRef("pk"))
    decided = RecallDecision.objects.filter(fault=OuterRef("fault"), reading=OuterRef("pk"), replaced_at=None)
    undecided = seen.exclude(Exists(decided))
    due_again = seen.filter(Exists(decided.filter(decision="again"))).annotate(at=Subquery(decided.values("at")[:1]))
    rows = InstrumentFault.objects.select_related("recorded_by", "instrument").annotate(
        count=_count(seen), undecided=_count(undecided), unread=_count(due_again.exclude(Exists(_later())))
    )
    if instrument is not None:
        rows = rows.filter(instrument=instrument)
    else:
        rows = rows.order_by(Case(When(undecided=0, unread=0, then=1), default=0), "-found_on", "-recorded_at")
    return [_fault(row) for row in (rows.order_by("-found_on", "-recorded_at") if instrument else rows)[:200]]


def _count(rows: Any) -> Any:
    counted = rows.order_by().values("instrument").annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def _later() -> QuerySet[Any]:
    """The readings that answer the one around them: of the same place and kind, after the decision, beyond doubt."""
    same = {name: OuterRef(name) for name in ("quantity", "multiple")}
    place = Q(circuit=OuterRef("circuit")) | Q(circuit=None, board=OuterRef("board")) & Q(board__isnull=False)
    place |= Q(supply=OuterRef("supply"))
    later = with_doubt(Reading.objects.filter(place, taken_at__gt=OuterRef("at"), instrument_in_check=True, **same))
    return later.filter(doubted=False).order_by("taken_at", "pk")


def _fault(row: Any) -> dict[str, Any]:
    counted = {"count": many(row.count, "reading"), "undecided": row.undecided, "unread": row.unread}
    return fault_words(row) | counted


def fault_words(fault: InstrumentFault) -> dict[str, str]:
    """What was found wrong, for the head of a page. `fault` with its instrument and who recorded it."""
    return {
        "instrument": str(fault.instrument),
        "instrument_at": address("works:instrument", fault.instrument_id),
        "head": f"Found wrong on {day(fault.found_on)}, last known to be right on {day(fault.last_good_on)}",
        "what": fault.what,
        "by": f"{fault.recorded_by.name}, {when(fault.recorded_at)}",
        "address": address("works:recall", fault.pk),
    }


def doubtful(fault: InstrumentFault, user: User, *, state: str = "") -> QuerySet[Any]:
    """The readings that `fault` makes doubtful, at sites that `user` sees, with what was decided of each.

    `state` is one of STATES. No statement of its own.
    """
    rows: Any = in_words(doubted_by(fault).visible_to(user)).select_related("site")  # type: ignore[attr-defined]
    stands = RecallDecision.objects.filter(fault=fault, reading=OuterRef("pk"), replaced_at=None)
    rows = rows.annotate(
        decision=Coalesce(Subquery(stands.values("decision")[:1]), Value("", TextField())),
        at=Subquery(stands.values("at")[:1]),
    )
    rows = rows.annotate(read_again=Subquery(_later().values("pk")[:1]))
    narrowed = {
        "undecided": Q(decision=""),
        "again": Q(decision="again", read_again=None),
        "settled": Q(decision="kept") | Q(decision="again", read_again__isnull=False),
    }
    return rows.filter(narrowed[state]) if state in narrowed else rows


def with_work(rows: QuerySet[Any]) -> QuerySet[Any]:
    """`rows` with the proofs that put each up (`proving`) and the decisions on it, the standing one first."""
    proofs = Proof.objects.filter(state__in=[Proof.State.STANDS, Proof.State.BESIDE]).select_related("remedial")
    made = RecallDecision.objects.select_related("by").order_by(F("replaced_at").desc(nulls_first=True))
    return rows.prefetch_related(
        Prefetch("proofs", proofs, to_attr="proving"), Prefetch("recalls", made, to_attr="made")
    )


def page_of(fault: InstrumentFault, user: User, *, state: str, after: str = "") -> Slice:
    """One page of the doubtful readings, the newest first. Four statements."""
    found = keyset(with_work(doubtful(fault, user, state=state)), ORDER, after=after)
    return Slice(recall_rows(found.rows, fault), found.next)


def recall_rows(readings: Iterable[Any], fault: InstrumentFault) -> list[dict[str, Any]]:
    """Rows of `doubtful` and `with_work`, ready for a page. One statement."""
    rows = list(readings)
    later = in_words(Reading.objects.filter(pk__in=[r.read_again for r in rows if r.decision and r.read_again]))
    answers = {reading.pk: reading for reading in later}
    return [_row(reading, fault, answers) for reading in rows]


def _row(reading: Any, fault: InstrumentFault, answers: dict[UUID, Any]) -> dict[str, Any]:
    remedials = {proof.remedial_id: proof.remedial for proof in reading.proving}
    made = [one for one in reading.made if one.fault_id == fault.pk]
    answer = answers.get(reading.read_again)
    return reading_row(reading) | {
        "id": str(reading.pk),
        "site": reading.site.name,
        "proved": [_closed(remedial) for remedial in remedials.values()],
        "decided": [_decided(one) for one in made],
        "open": not reading.decision,
        "waits": reading.decision == "again" and answer is None,
        "again": f"{when(answer.taken_at)}: {answer.words}, {answer.get_verdict_display()}" if answer else "",
        "decide": f"{address('works:recall', fault.pk)}readings/{reading.pk}/",
    }


def _decided(one: RecallDecision) -> dict[str, str]:
    stood = f", no longer since {when(one.replaced_at)}" if one.replaced_at else ""
    said = "To be read again" if one.decision == "again" else "Kept"
    return {"words": f"{said}: {one.by}, {when(one.at)}{stood}", "reason": one.reason}


def _closed(remedial: Any) -> dict[str, Any]:
    return {
        "name": f"{remedial.number}: {remedial.work}",
        "stage": remedial.get_stage_display(),
        "href": address("desk:remedial", remedial.pk),
        "closed": Stage(remedial.stage) in REOPENABLE,
    }


def counts(fault: InstrumentFault, user: User) -> dict[str, int]:
    """How many of its readings are in each state. One statement."""
    rows = doubtful(fault, user)
    found: dict[str, int] = rows.aggregate(
        all=Count("pk"),
        undecided=Count("pk", filter=Q(decision="")),
        again=Count("pk", filter=Q(decision="again", read_again=None)),
    )
    return found


def next_to_decide(fault: InstrumentFault, user: User, *, besides: UUID) -> Any:
    """The newest reading still to decide, other than `besides`; None where nothing is left. One statement."""
    return (
        doubtful(fault, user, state="undecided")
        .exclude(pk=besides)
        .order_by(*ORDER)
        .values_list("pk", flat=True)
        .first()
    )


def cells(fault: InstrumentFault, user: User, *, state: str) -> Iterator[tuple[Any, ...]]:
    """The doubtful readings as cells for a file, in the order of the list. Four statements."""
    readings = list(with_work(doubtful(fault, user, state=state)).order_by(*ORDER))
    for reading, row in zip(readings, recall_rows(readings, fault), strict=True):
        proved = "; ".join(f"{one['name']} ({one['stage']})" for one in row["proved"])
        stands = row["decided"][0] if row["decided"] and not row["open"] else {"words": "", "reason": ""}
        yield (
            reading.taken_at, str(reading.taken_by), reading.site.name, where(reading), reading.what, reading.words,
            reading.get_verdict_display(), str(reading.instrument), proved, stands["words"], stands["reason"], row["again"],
        )  # fmt: skip


def readings_since_check(instrument: Instrument) -> int:
    """How many readings were kept of it since the day of its last calibration on record. One statement."""
    rows: Any = Reading.objects.filter(instrument=instrument)
    return rows.filter(taken_at__date__gte=instrument.checked_on).count() if instrument.checked_on else rows.count()
