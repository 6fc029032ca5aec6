"""What the ledger's entries are about, by name and page: the entries know only a kind and a key."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Case, CharField, F, QuerySet, TextField, UUIDField, Value, When
from django.db.models.functions import Cast, Coalesce, Concat

from inspections.models import (
    DangerNotice,
    FactCorrection,
    Inspection,
    Intake,
    Limitation,
    MeterComparison,
    Observation,
    OccupancyChange,
    Paper,
    PaperRequest,
    Reading,
)
from jobsite.addresses import address
from jobsite.ledger.models import Document, Hold
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import (
    Board,
    BoardDocument,
    Circuit,
    CircuitLink,
    Feed,
    PartyAtUnit,
    SecondSource,
    Site,
    Supply,
    SwitchingTest,
    Unit,
)
from remedials.due.models import Leaving, Reminding, Undertaking
from remedials.quotes.models import Quote, StandardJob, Terms
from remedials.status.models import Bundle
from remedials.visits.models import (
    AccessTime,
    AlarmCode,
    Attempt,
    CheckIn,
    ClosedDays,
    OccupierNote,
    Plan,
    Proposal,
    SeeTo,
    SiteKey,
    TimesOffer,
    Visit,
)
from remedials.works.models import Remedial, Waiting


@dataclass(frozen=True)
class Named:
    """How rows of one kind are spoken of: `label` of columns, `page` and the column of the key that opens it."""

    model: Any  # a model class
    label: tuple[Any, ...]
    page: str = ""
    key: str = "pk"


def _words(text: str) -> Value:
    return Value(text)


# Where a reading was taken: a way of a board, a board, a supply.
READ_AT = Case(
    When(
        circuit__isnull=False,
        then=Concat(
            "circuit__board__designation", Value(", way "), Cast("circuit__way", TextField()), output_field=TextField()
        ),
    ),
    default=Coalesce("board__designation", "supply__name"),
    output_field=TextField(),
)

KINDS: dict[str, Named] = {
    "site": Named(Site, ("name",), "desk:site"),
    "unit": Named(Unit, ("name",), "premises:premises", "site_id"),
    "partyatunit": Named(PartyAtUnit, ("party__name", _words(", "), "role"), "premises:party", "party_id"),
    "supply": Named(Supply, ("name",), "premises:premises", "site_id"),
    "board": Named(Board, ("designation",), "premises:board"),
    "circuit": Named(Circuit, ("board__designation", _words(", way "), "way"), "premises:board", "board_id"),
    "feed": Named(Feed, (_words("feed of "), "board__designation"), "premises:board", "board_id"),
    "circuitlink": Named(
        CircuitLink, ("one__board__designation", _words(" and "), "other__board__designation"),
        "premises:board", "one__board_id",
    ),
    "secondsource": Named(SecondSource, ("name",), "premises:board", "board_id"),
    "switchingtest": Named(
        SwitchingTest, (_words("switching off "), "off_circuit__board__designation", "off_supply__name"),
        "premises:tracing", "site_id",
    ),
    "boarddocument": Named(
        BoardDocument, ("kind", _words(" of "), "board__designation"), "premises:board_documents", "board_id"
    ),
    "inspection": Named(Inspection, (_words("report "), "number"), "inspections:inspection"),
    "limitation": Named(Limitation, ("what",), "inspections:inspection", "inspection_id"),
    "observation": Named(Observation, (_words("observation "), "number", _words(": "), "text"), "desk:observation"),
    "dangernotice": Named(DangerNotice, (_words("danger notice "), "number", _words(" to "), "given_to"), "inspections:notice_document"),
    "metercomparison": Named(
        MeterComparison, (_words("two meters at observation "), "observation__number"), "inspections:meters", "observation_id",
    ),
    "factcorrection": Named(FactCorrection, (_words("fact "), "fact")),
    "reading": Named(
        Reading, (READ_AT, _words(": "), "quantity"), "premises:board", "board_id",
    ),
    "occupancychange": Named(OccupancyChange, (_words("who moves into "), "unit__name"), "inspections:occupancy", "unit_id"),
    "paper": Named(Paper, ("what",), "inspections:paper"),
    "paperrequest": Named(PaperRequest, ("who", _words(" asked for a report")), "inspections:inspection", "inspection_id"),
    "remedial": Named(Remedial, (_words("remedial "), "number", _words(": "), "work"), "desk:remedial"),
    "waiting": Named(Waiting, ("on_whom", _words(": "), "for_what")),
    "quote": Named(Quote, (_words("quote "), "number", _words(": "), "name"), "quotes:quote"),
    "standardjob": Named(StandardJob, (_words("standard job "), "name")),
    "terms": Named(Terms, (_words("rates and terms from "), "holds_from")),
    "visit": Named(Visit, (_words("visit "), "number"), "visits:visit"),
    "accesstime": Named(AccessTime, (_words("time of access"),), "visits:getting_in", "site_id"),
    "closeddays": Named(ClosedDays, (_words("closed: "), "why"), "visits:getting_in", "site_id"),
    "occupiernote": Named(OccupierNote, (_words("whom to ask at "), "unit__name"), "visits:getting_in", "site_id"),
    "attempt": Named(Attempt, (_words("attempt, "), "whom"), "visits:getting_in", "site_id"),
    "sitekey": Named(SiteKey, (_words("key: "), "what"), "visits:getting_in", "site_id"),
    "alarmcode": Named(AlarmCode, (_words("code: "), "place"), "visits:getting_in", "site_id"),
    "seeto": Named(SeeTo, ("what",), "visits:getting_in", "site_id"),
    "checkin": Named(CheckIn, (_words("working alone: "), "user__name"), "visits:visit", "visit_id"),
    "timesoffer": Named(TimesOffer, (_words("times offered"),), "visits:getting_in", "site_id"),
    "leaving": Named(Leaving, (_words("closing letter "), "number"), "due:closing"),
    "plan": Named(Plan, (_words("plan "), "number"), "visits:plan"),
    "proposal": Named(Proposal, (_words("visit proposed to "), "site__name"), "visits:plan", "plan_id"),
    "reminding": Named(Reminding, (_words("how people are reminded"),)),
    "undertaking": Named(Undertaking, (_words("step in hand: "), "reason")),
    "message": Named(Message, ("subject", _words(", to "), "address"), "messages:message"),
    "privatelink": Named(PrivateLink, (_words("link for "), "sent_to")),
    "document": Named(Document, ("title",)),
    "hold": Named(Hold, (_words("hold: "), "reason")),
    "bundle": Named(Bundle, (_words("record drawn out: "), "reason"), "proof:archive"),
    "intake": Named(Intake, ("file_name",), "intake:intake"),
}  # fmt: skip


def named(subjects: Iterable[tuple[str, UUID]]) -> dict[UUID, tuple[str, str]]:
    """Name and page ("" where there is none) of each of `subjects` that is still there. One statement, none for none."""
    by_kind: dict[str, set[UUID]] = {}
    for kind, key in subjects:
        if kind in KINDS:
            by_kind.setdefault(kind, set()).add(key)
    parts = [_rows(kind, keys) for kind, keys in sorted(by_kind.items())]
    if not parts:
        return {}
    rows = parts[0].union(*parts[1:], all=True) if len(parts) > 1 else parts[0]
    return {key: (label, _page(kind, opens)) for kind, key, label, opens in rows}


def _rows(kind: str, keys: set[UUID]) -> QuerySet[Any, Any]:
    how = KINDS[kind]
    parts = [Cast(part, TextField()) if isinstance(part, str) else part for part in how.label]
    label = Concat(*parts, output_field=TextField()) if len(parts) > 1 else parts[0]
    rows = how.model.objects.filter(pk__in=keys).order_by()
    # Names that no model has for a column of its own.
    named = {"subject_kind": Value(kind, output_field=CharField()), "subject_label": label}
    named["subject_opens"] = Cast(F(how.key), UUIDField())
    return rows.annotate(**named).values_list("subject_kind", "pk", "subject_label", "subject_opens")


def _page(kind: str, key: UUID | None) -> str:
    page = KINDS[kind].page
    return address(page, key) if page and key else ""
