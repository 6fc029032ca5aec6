"""Where a message's link leads: to the very step, to the one that has taken its place, or to what became of it."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.urls import reverse

from inspections.models import Inspection, Observation, Paper
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import Instrument, InstrumentFault, User
from jobsite.people.rights import Right
from jobsite.premises.models import Unit
from jobsite.words import late, near_day
from remedials.due.models import DueRow, Leaving
from remedials.due.queries.rows import NO_DATE, ORDER, in_hand_words, owner_words, rows_due, rows_seen, step_address
from remedials.quotes.models import Quote
from remedials.visits.models import Attempt, CheckIn, SeeTo, SiteKey, TimesOffer, Visit
from remedials.works.models import Remedial, Waiting


@dataclass(frozen=True)
class Subject:
    """What rows of a kind are about: found in `model` by `ref` (or `or_ref`); `page` tells of it, under the key `key`.

    `steps`: the column by which its later steps stand in the list; "" where there are none.
    """

    model: Any
    page: str
    key: str = "pk"
    ref: str = "pk"
    or_ref: str = ""
    steps: str = ""
    needs: Right = Right.SEE_WORK


OF_OBSERVATION = Subject(Observation, "desk:observation", steps="observation")
OF_REMEDIAL = Subject(Remedial, "desk:remedial", steps="remedial")
OF_VISIT = Subject(Visit, "visits:visit", steps="visit")
OF_QUOTE = Subject(Quote, "quotes:quote", steps="quote", needs=Right.PRICE)
OF_REPORT = Subject(Inspection, "inspections:inspection")
OF_PAPER = Subject(Paper, "inspections:paper", needs=Right.KEEP_CUSTOMERS)
SUBJECTS = {
    **dict.fromkeys(("uncoded", "decide", "offer-again", "notice"), OF_OBSERVATION),
    **dict.fromkeys(("price", "answer", "book", "visit", "review", "nothing-left"), OF_REMEDIAL),
    **dict.fromkeys(("confirm", "unclosed"), OF_VISIT),
    **dict.fromkeys(("draft", "codes"), OF_REPORT),
    **dict.fromkeys(("paper", "notification"), OF_PAPER),
    "look-again": Subject(Observation, "desk:observation", ref="made_safes", steps="observation"),
    "chase": Subject(Waiting, "desk:site", key="site_id"),
    "inspection": Subject(Unit, "desk:site", key="site_id"),
    "quote": OF_QUOTE,
    "question": Subject(Quote, "quotes:quote", ref="questions", steps="quote", needs=Right.PRICE),
    "access": Subject(Attempt, "visits:getting_in", key="site_id"),
    "see-to": Subject(SeeTo, "visits:getting_in", key="site_id"),
    "key": Subject(SiteKey, "visits:getting_in", key="site_id"),
    "times": Subject(TimesOffer, "visits:getting_in", key="site_id"),
    "check-out": Subject(CheckIn, "visits:visit", key="visit_id"),
    "letter": Subject(Leaving, "due:closing", needs=Right.KEEP_CUSTOMERS),
    "instrument": Subject(Instrument, "works:instrument"),
    "competence": Subject(User, "people:person", ref="competences", or_ref="skills", needs=Right.KEEP_PEOPLE),
    "insurance": Subject(User, "people:person", needs=Right.KEEP_PEOPLE),
    "recall": Subject(InstrumentFault, "works:recall"),
}


def row_for(user: User, kind: str, ref: UUID) -> DueRow | None:
    """The row (kind, ref), whatever its day, where `user` may see it. One statement."""
    rows = rows_seen(user).select_related("site", "owner", "unit")
    return rows.filter(kind=kind, ref=ref).first()


def step_now(user: User, kind: str, ref: UUID, *, today: date) -> str:
    """Where `user` takes the step (kind, ref), or the one that took its place; "" where none stands.

    Where `user` may not open the step's page: the page on which they say that they have it. One statement; three where it
    stands no more.
    """
    if row := row_for(user, kind, ref):
        return step_address(row, user) or reverse("due:have_it", args=[kind, ref])
    subject = SUBJECTS.get(kind)
    key = _key(subject, user, ref, "pk") if subject and subject.steps else None
    if subject is None or key is None:
        return ""
    later = rows_due(user, today=today).filter(**{subject.steps: key}).select_related("site", "owner")
    row = later.order_by(*ORDER).first()
    return step_address(row, user) if row else ""


def page_of(user: User, kind: str, ref: UUID) -> str | None:
    """The page that tells what became of what the row (kind, ref) was about; None where `user` may not see that."""
    subject = SUBJECTS.get(kind)
    key = _key(subject, user, ref, subject.key) if subject else None
    return address(subject.page, key) if subject and key else None


def _key(subject: Subject, user: User, ref: UUID, column: str) -> UUID | None:
    if not user.may(subject.needs):
        return None
    named = Q(**{subject.ref: ref}) | (Q(**{subject.or_ref: ref}) if subject.or_ref else Q())
    rows = subject.model.objects.filter(named)
    rows = rows.visible_to(user) if hasattr(rows, "visible_to") else rows
    return rows.values_list(column, flat=True).first()


def to_answer(row: DueRow, user: User, *, today: date) -> dict[str, Any]:
    """What the page shows on which `user` says that they have `row` in hand."""
    return {
        "what": row.next_step,
        "subject": row.subject,
        "site": row.site_name,
        "mark": code_mark(row.code, row.made_safe) if row.code else "",
        "rule": row.rule,
        "by": "no date" if row.due == NO_DATE else near_day(row.due, today),
        "late": late(row.due, today),
        "who": owner_words(row.owner),
        "href": step_address(row, user),
        "held": in_hand_words(row, today),
        "give_back": reverse("due:give_back", args=[row.kind, row.ref]),
        "danger": row.code == "C1" and not row.made_safe,
        "overdue": bool(row.remedy_by and row.remedy_by < today),
        "remedy_by": near_day(row.remedy_by, today) if row.remedy_by else "",
    }
