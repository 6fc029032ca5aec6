"""What is taken out: each kind of row by the workbook and the sheet in which people find it, and what is left out, with the reason.

A model of ours that stands in neither table stops the test run (`tests/remedials/test_bulk_kinds.py`) and the taking out itself.
"""

from collections.abc import Container, Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.models import Model

BOOKS: dict[str, dict[str, str]] = {
    "Firm and people": {
        "firm.Firm": "Firm",
        "firm.Policy": "Limits",
        "firm.Sequence": "Numbers given so far",
        "firm.Progress": "Long work",
        "people.User": "People",
        "account.EmailAddress": "Addresses to sign in",
        "people.Competence": "Competences",
        "people.Skill": "Skills",
        "people.WorkingWeek": "Working weeks",
        "people.Shift": "Shifts",
        "people.Leave": "Away",
        "people.Instrument": "Instruments",
        "people.InstrumentCheck": "Checks of instruments",
        "people.InstrumentFault": "Instruments found wrong",
        "people.PrivateLink": "Private links",
        "people.AccessToken": "Tokens of programs",
        "people.SignIn": "Sign-ins",
    },
    "Premises": {
        "premises.Party": "Customers and others",
        "premises.Site": "Sites",
        "premises.FormerCustomer": "Former customers",
        "premises.SiteAccess": "Sites subcontractors see",
        "premises.Unit": "Units",
        "premises.PartyAtUnit": "Who answers for units",
        "premises.Supply": "Supplies",
        "premises.Board": "Boards",
        "premises.Board_units": "Units that boards serve",
        "premises.Circuit": "Circuits",
        "premises.Feed": "Feeds",
        "premises.CircuitLink": "Circuits that belong together",
        "premises.SecondSource": "Second sources",
        "premises.BoardDocument": "Charts and labels",
        "premises.SwitchingTest": "Switching tests",
        "premises.BoardSeen": "Boards seen in those tests",
        "premises.Verification": "Labels verified",
    },
    "Inspections": {
        "inspections.Inspection": "Inspections",
        "inspections.Inspection_units": "Units inspected",
        "inspections.Inspection_boards": "Boards inspected",
        "inspections.Limitation": "Limitations",
        "inspections.InspectionDue": "Inspections due",
        "inspections.Observation": "Observations",
        "inspections.ObservationPhoto": "Photographs",
        "inspections.Review": "Reviews of codes",
        "inspections.MadeSafe": "Made safe",
        "inspections.DangerNotice": "Notices of danger",
        "inspections.DangerNotice_observations": "Observations in notices",
        "inspections.NotSeenAgain": "Not seen again",
        "inspections.FactCorrection": "Published facts put right",
        "inspections.Intake": "Lists and reports taken in",
        "inspections.MeterComparison": "Meters compared",
        "inspections.MeterFigure": "Figures of meters",
        "inspections.OccupancyChange": "Changes of occupier",
        "inspections.PaperRequest": "Papers asked for",
        "inspections.Paper": "Papers",
        "inspections.PaperDocument": "Documents of papers",
        "inspections.PaperSupply": "Papers handed over",
        "inspections.Reading": "Readings",
    },
    "Remedials": {
        "works.Remedial": "Remedials",
        "works.Remedies": "What each remedies",
        "works.Item": "Items",
        "works.RequiredReading": "Readings wanted",
        "works.Approval": "Approvals",
        "works.Proof": "Proofs",
        "works.Proof_readings": "Readings in proofs",
        "works.PowerStep": "Power off and on",
        "works.Stint": "Time on site",
        "works.Used": "Material used",
        "works.ProofPhoto": "Photographs of proofs",
        "works.ProofReview": "Reviews of proofs",
        "works.RecallDecision": "Recalls decided",
        "works.WayOut": "Other ways out",
        "works.Waiting": "Waiting on others",
    },
    "Quotes": {
        "quotes.Quote": "Quotes",
        "quotes.QuoteSite": "Sites of quotes",
        "quotes.Offer": "Versions of quotes",
        "quotes.Line": "Lines",
        "quotes.LineRemedial": "Remedials in lines",
        "quotes.Answer": "Answers",
        "quotes.LineAnswer": "Answers to lines",
        "quotes.Question": "Questions",
        "quotes.Remark": "What was said",
        "quotes.Terms": "Terms",
        "quotes.Rate": "Rates",
        "quotes.StandardJob": "Standard jobs",
        "quotes.StandardItem": "Items of standard jobs",
        "quotes.Costing": "Costings",
    },
    "Visits": {
        "visits.Visit": "Visits",
        "visits.Attendance": "Who attends",
        "visits.VisitLine": "What is done on visits",
        "visits.VisitMove": "Visits moved",
        "visits.Confirmation": "Confirmations",
        "visits.AccessTime": "Times of access",
        "visits.ClosedDays": "Closed days",
        "visits.OccupierNote": "Notes on occupiers",
        "visits.Attempt": "Attempts to get in",
        "visits.SiteKey": "Keys",
        "visits.KeyMove": "Keys given out and back",
        "visits.AlarmCode": "Alarm codes",
        "visits.SeeTo": "To see to first",
        "visits.CheckIn": "Working alone",
        "visits.Feed": "Calendar addresses",
        "visits.Plan": "Plans of weeks",
        "visits.Proposal": "Proposals",
        "visits.Proposal_engineers": "Engineers proposed",
        "visits.Proposal_remedials": "Remedials proposed",
        "visits.Unplanned": "What found no place",
        "visits.DrivingTime": "Driving times",
        "visits.DiaryTerms": "Terms of the diary",
        "visits.TimesOffer": "Times offered",
        "visits.TimesOffer_remedials": "Remedials in those offers",
        "visits.TimesOffer_engineers": "Engineers in those offers",
        "visits.OfferedTime": "Each time offered",
    },
    "Due and messages": {
        "due.Undertaking": "Taken on",
        "due.Reminding": "Reminding",
        "due.ReminderRule": "Rules of reminding",
        "due.NoReminders": "No reminders",
        "due.Leaving": "Leaving customers",
        "post.Message": "Messages",
    },
    "Record": {
        "ledger.Chain": "Chains",
        "ledger.Entry": "Ledger",
        "ledger.Words": "Words beside the ledger",
        "ledger.StoredFile": "Files",
        "ledger.Document": "Documents handed out",
        "ledger.Hold": "Holds",
        "status.Retention": "How long data are kept",
        "status.Erasure": "Erasures",
        "status.Bundle": "Archives of the record",
        "status.ReportCopy": "Copies of reports",
    },
}

SECRET_ROWS = {
    "mfa.Authenticator": "second factors of sign-in: whoever holds their seeds can sign in",
    "ledger.DoneOnce": "answers that programs were given, which may hold a token",
}
"""Rows that are taken out by the command on the server alone, and only when asked."""
SECRET_COLUMNS = {
    "people.User": {"password": "unusable"},
    "people.PrivateLink": {"token_hash": "random"},
    "people.AccessToken": {"token_hash": "random"},
    "visits.Feed": {"token_hash": "random"},
    "visits.AlarmCode": {"sealed": "random"},
}
"""Columns of the same kind, and what stands there instead where they were not taken out: nothing that opens anything."""

EXCUSED = {
    "auth.Permission": "of the framework: made by the program itself",
    "auth.Group": "of the framework: rights stand in the program, by role",
    "auth.Group_permissions": "of the framework: rights stand in the program, by role",
    "contenttypes.ContentType": "of the framework: made by the program itself",
    "sessions.Session": "who is signed in here now; everybody signs in anew",
    "usersessions.UserSession": "who is signed in here now; everybody signs in anew",
    "account.EmailConfirmation": "addresses are confirmed by being invited; nothing writes these",
    "firm.Heartbeat": "when the parts of this very service last ran",
    "running.SlowStatement": "what was slow on this very server",
    "due.DueRow": "a view, worked out of the other rows",
    "due.Trouble": "what the last sweep here stumbled at; the next one finds it again",
    "desk.TakeOut": "what was taken out of here: those files stay behind, and the ledger tells of them",
}
"""Models whose rows are not taken out at all, each with the reason."""


@dataclass(frozen=True)
class Kind:
    """A kind of row: its model, and how people call it."""

    model: type[Model]
    book: str  # "" for what no workbook shows
    sheet: str
    fields: tuple[Any, ...]  # model fields

    @property
    def label(self) -> str:
        return label_of(self.model)

    @property
    def table(self) -> str:
        return str(self.model._meta.db_table)


def label_of(model: type[Model]) -> str:
    """A model as the tables above name it."""
    return str(model._meta.label)


def all_models() -> list[type[Model]]:
    """Every model of the program, those of many-to-many tables too."""
    return list(apps.get_models(include_auto_created=True))


def unknown() -> list[str]:
    """Models that nobody has said anything of."""
    said = {label for book in BOOKS.values() for label in book} | set(EXCUSED) | set(SECRET_ROWS)
    return sorted(label_of(model) for model in all_models() if label_of(model) not in said)


def kinds(*, secrets: bool) -> Iterator[Kind]:
    """Every kind that is taken out, in the order of the tables; `secrets`: with what only the server's command gives."""
    for book, sheets in BOOKS.items():
        for label, sheet in sheets.items():
            without = {} if secrets else SECRET_COLUMNS.get(label, {})
            yield Kind(model := apps.get_model(label), book, sheet, _fields(model, without))
    for label, what in SECRET_ROWS.items() if secrets else ():
        yield Kind(model := apps.get_model(label), "", what, _fields(model, ()))


def _fields(model: type[Model], without: Container[str]) -> tuple[Any, ...]:
    """The columns that hold something of their own: what the database works out is worked out again."""
    own = (field for field in model._meta.concrete_fields if not getattr(field, "generated", False))
    return tuple(field for field in own if field.name not in without)
