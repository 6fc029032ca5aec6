"""The list of remedials and the queue of proofs to review, as dicts of ready strings."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Case, IntegerField, OuterRef, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Coalesce

from inspections.choices import Code
from inspections.models import Observation
from jobsite.addresses import address
from jobsite.ids import keys_in
from jobsite.marks import code_mark
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.words import late, near_day, when
from remedials.works.models import NO_DATE, Proof, Remedial, Remedies
from remedials.works.states import WORDS, Stage

ORDER = ("step", "number")
QUEUE = ("danger", "step", "number")
HEADS = ("Number", "Stage", "Codes", "Site", "Work", "Owner", "Next step by", "Observations")
WORST_FIRST = {Code.C1: 0, Code.C2: 1, Code.FI: 2, "": 3, Code.C3: 4}
MOST_WORDS = 8


def narrowed(user: User, *, stage: str = "", owner: str = "", words: str = "") -> "QuerySet[Remedial, Any]":
    """The remedials that `user` sees, narrowed.

    `stage`: a stage, "open" for all whose next step is to come, "" for all. `owner`: a person's key, or "nobody".
    `words`: all must be found in the work, the site's name or the number.
    """
    rows = Remedial.objects.visible_to(user).select_related("site", "owner")
    if stage == "open":
        rows = rows.carrying()
    elif stage:
        rows = rows.filter(stage=stage)
    if owner == "nobody":
        rows = rows.filter(owner=None)
    elif owner:
        rows = rows.filter(owner__in=keys_in([owner]))
    for word in words.split()[:MOST_WORDS]:
        found = Q(work__icontains=word) | Q(site__name__icontains=word)
        rows = rows.filter(found | Q(number=int(word)) if _is_number(word) else found)
    return rows.annotate(step=Coalesce("step_by", Value(NO_DATE)))


def _is_number(word: str) -> bool:
    return word.isascii() and word.isdigit() and len(word) < 12


def page_of(rows: "QuerySet[Remedial, Any]", *, today: date, after: str = "", size: int = 50) -> Slice:
    """One page of `rows`, the earliest step first, as dicts for the list. Two statements."""
    found = keyset(rows, ORDER, after=after, size=size)
    items = observations_by_remedial(found.rows)
    return Slice([_row(r, items.get(r.pk, []), today) for r in found.rows], found.next)


def observations_by_remedial(remedials: Iterable[Remedial]) -> dict[UUID, list[Observation]]:
    """The observations of each remedial, the most dangerous first, what is open and not made safe before its like. One
    statement.
    """
    links = Remedies.objects.filter(remedial__in=[r.pk for r in remedials]).select_related("observation")
    found: dict[UUID, list[Observation]] = {}
    for link in links:
        found.setdefault(link.remedial_id, []).append(link.observation)
    for items in found.values():
        items.sort(key=lambda o: (WORST_FIRST.get(o.code, 3), o.ended != "", o.made_safe, o.number))
    return found


def _row(remedial: Remedial, items: list[Observation], today: date) -> dict[str, Any]:
    worst = items[0] if items else None
    done = remedial.stage in {Stage.REVIEWED, Stage.BY_OTHERS}
    to_come = remedial.step_to_come
    return {
        "id": str(remedial.pk),
        "number": str(remedial.number),
        "address": address("desk:remedial", remedial.pk),
        "mark": _mark(worst, done) if worst else "",
        "more": f"+{len(items) - 1}" if len(items) > 1 else "",
        "work": remedial.work,
        "site": remedial.site.name,
        "stage": WORDS[Stage(remedial.stage)],
        "owner": str(remedial.owner or "") or ("nobody" if to_come else ""),
        "by": near_day(remedial.step_by, today) if remedial.step_by else "",
        "late": late(remedial.step_by, today) if to_come else "",
    }


def _mark(worst: Observation, done: bool) -> str:
    return code_mark(worst.code, worst.made_safe and not worst.ended, done, worst.needs_code)


def cells(rows: "QuerySet[Remedial, Any]") -> Iterator[tuple[Any, ...]]:
    """All of `rows` as cells for a file, in the order of the list. Two statements."""
    remedials = list(rows.order_by(*ORDER))
    items = observations_by_remedial(remedials)
    for r in remedials:
        found = items.get(r.pk, [])
        codes = " ".join(o.code or "not coded" for o in found)
        numbers = " ".join(str(o.number) for o in found)
        stage = WORDS[Stage(r.stage)]
        yield r.number, stage, codes, r.site.name, r.work, str(r.owner or ""), r.step_by, numbers


def _queue(user: User) -> "QuerySet[Remedial, Any]":
    """The remedials whose proof waits for a review, with `danger`: by their worst observation, as in WORST_FIRST."""
    ranks = [When(code=code, then=Value(rank)) for code, rank in WORST_FIRST.items()]
    items = Observation.objects.filter(remedies__remedial=OuterRef("pk"))
    items = items.annotate(rank=Case(*ranks, default=Value(3), output_field=IntegerField())).order_by("rank")
    rows = narrowed(user).filter(pk__in=Remedial.objects.awaiting_review().values("pk"))
    return rows.annotate(danger=Coalesce(Subquery(items.values("rank")[:1]), Value(4)))


def to_review(user: User, *, today: date, after: str = "") -> Slice:
    """The proofs that a qualified person must look at, the most dangerous first, then the earliest. Three statements."""
    found = keyset(_queue(user).prefetch_related("proofs__done_by"), QUEUE, after=after)
    items = observations_by_remedial(found.rows)
    return Slice([_row(r, items.get(r.pk, []), today) | _closed(r) for r in found.rows], found.next)


def next_to_review(user: User, *, besides: Remedial) -> str:
    """The address of the first proof in the queue that somebody else closed; the queue's where none is left. One statement."""
    own = Proof.objects.filter(state=Proof.State.STANDS, done_by=user).values("remedial")
    first = (
        _queue(user).exclude(pk=besides.pk).exclude(pk__in=own).order_by(*QUEUE).values_list("pk", flat=True).first()
    )
    return address("works:review", first) if first else address("works:reviews")


def _closed(remedial: Remedial) -> dict[str, str]:
    standing = [proof for proof in remedial.proofs.all() if proof.state == "stands"]
    proof = standing[0] if standing else None
    return {
        "done_by": str(proof.done_by) if proof else "",
        "done_at": when(proof.done_at) if proof else "",
        "exception": proof.exception_reason if proof else "",
        "review": address("works:review", remedial.pk),
    }
