"""Papers and steps that the law asks of those who let homes: the rows.

A duty holds under the rules of `law_rows` that it names, so from the same days. Counting goes by the words of
each rule (`counting`).
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.counting import day_words, last_day_of, last_day_starting_with, years_after
from inspections.standards.deadlines import Deadline

LANDLORD, FIRM = "landlord", "firm"


class Trigger(StrEnum):
    """What starts the clock of a duty."""

    INSPECTION = "inspection"
    COMPLETION = "completion"
    AUTHORITY_ASKS = "authority-asks"
    PROSPECTIVE_TENANT_ASKS = "prospective-tenant-asks"
    NEW_OCCUPATION = "new-occupation"
    NEXT_INSPECTION = "next-inspection"
    EQUIPMENT_CHECK = "equipment-check"
    NOTIFIABLE_WORK = "notifiable-work"
    CONNECTION = "connection"

    @property
    def words(self) -> str:
        return _TRIGGERS[self]


_TRIGGERS = {
    Trigger.INSPECTION: "the inspection",
    Trigger.COMPLETION: "completion of the work",
    Trigger.AUTHORITY_ASKS: "the authority's written request",
    Trigger.PROSPECTIVE_TENANT_ASKS: "the prospective tenant's written request",
    Trigger.NEW_OCCUPATION: "the start of the occupation",
    Trigger.NEXT_INSPECTION: "the next inspection",
    Trigger.EQUIPMENT_CHECK: "the last check",
    Trigger.NOTIFIABLE_WORK: "completion of the notifiable work",
    Trigger.CONNECTION: "the connection (taken as the day of the work)",
}


class Count(StrEnum):
    """How a number of days is counted, by the words of the rule."""

    OF = "of"
    STARTING_WITH = "starting with"
    BEFORE = "before"
    AT = "at"
    YEARS_AFTER = "years after"


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """What is owed, to whom, and by when. `number` is days, or years for `YEARS_AFTER`; None: before or at the event.

    `rules` are the keys of the law's rows under which it holds; `rule_name` is filled by `duties_in_force`.
    """

    key: str
    rules: tuple[str, ...]
    what: str
    to: str
    trigger: Trigger
    count: Count
    number: int | None = None
    confidence: Confidence
    source: str
    remark: str = ""
    owed_by: str = LANDLORD
    rule_name: str = ""

    def last_day(self, event: date) -> date:
        """The last day for it after (or with) an event. Before or at an event it is the event's own day."""
        if self.number is None:
            return event
        if self.count is Count.YEARS_AFTER:
            return years_after(event, self.number)
        return (last_day_of if self.count is Count.OF else last_day_starting_with)(event, self.number)

    def basis(self, event: date) -> str:
        """One sentence that names the rule, what is owed, and how it is counted."""
        when = f"{self.trigger.words} on {day_words(event)}"
        if self.number is None:
            limit = f"{self.count} {when}"
        elif self.count is Count.YEARS_AFTER:
            limit = f"at most {self.number} years after {when}"
        else:
            limit = f"within {self.number} days {self.count} {when}"
        remark = f" {self.remark}" if self.remark else ""
        to = f" to {self.to}" if self.to else ""
        return f"{self.rule_name}: {self.what}{to}, {limit}; owed by the {self.owed_by}.{remark}"

    def deadline(self, event: date) -> Deadline:
        """The last day with its basis; its caution asks to check the current law."""
        return Deadline(self.last_day(event), self.basis(event), legal=True, confidence=self.confidence)


_ENGLAND = ("england.private.2020", "england.private.2025", "england.social.2025")
_ENGLAND_SOURCE = "SI 2020/312 regulation 3 in reproductions, and several councils' policies that agree"
_NI = ("northern-ireland.private.2025",)
_NI_SOURCE = "legislation.gov.uk/nisr/2024/201 and its explanatory note"
_NI_COUNT = "Counted from the day itself: the words of the counting were not read."
_WALES = ("wales.2022",)
_WALES_SOURCE = "legislation.gov.uk/wsi/2022/6/regulation/6"
_SCOTLAND = ("scotland.private.2015", "scotland.private.2024")

_COPY = "a copy of the report"
_CONFIRMED = "written confirmation that the work is done, or that more is needed, with the report that asked for it"


def _england(
    key: str, what: str, to: str, trigger: Trigger, count: Count, number: int | None = None, remark: str = ""
) -> Duty:
    return Duty(
        key=f"england.{key}",
        rules=_ENGLAND,
        what=what,
        to=to,
        trigger=trigger,
        count=count,
        number=number,
        remark=remark,
        confidence=Confidence.SECONDARY,
        source=_ENGLAND_SOURCE,
    )


def _ni(
    key: str, what: str, to: str, trigger: Trigger, count: Count, number: int | None = None, remark: str = ""
) -> Duty:
    return Duty(
        key=f"northern-ireland.{key}",
        rules=_NI,
        what=what,
        to=to,
        trigger=trigger,
        count=count,
        number=number,
        remark=remark,
        confidence=Confidence.READ,
        source=_NI_SOURCE,
    )


def _wales(key: str, what: str, trigger: Trigger, confidence: Confidence, remark: str) -> Duty:
    return Duty(
        key=f"wales.{key}",
        rules=_WALES,
        what=what,
        to="the contract-holder",
        trigger=trigger,
        count=Count.STARTING_WITH,
        number=14,
        confidence=confidence,
        source=_WALES_SOURCE,
        remark=remark,
    )


_T, _C = Trigger, Count
_AS_MADE = "7 days as the regulation was made; the amended number was not read for this one."
DUTIES = (
    Duty(
        key="england.inspection.new-tenancy",
        rules=_ENGLAND,
        what="an inspection and test by a qualified person, whose report is still valid",
        to="",
        trigger=_T.NEW_OCCUPATION,
        count=_C.BEFORE,
        confidence=Confidence.READ,
        source="gov.uk guidance of 1 Nov 2025",
    ),
    _england("copy.tenants", _COPY, "each existing tenant", _T.INSPECTION, _C.OF, 28),
    _england("copy.authority", _COPY, "the local housing authority", _T.AUTHORITY_ASKS, _C.OF, 7),
    _england("copy.new-tenant", _COPY, "the new tenant", _T.NEW_OCCUPATION, _C.BEFORE),
    _england("copy.prospective-tenant", _COPY, "the prospective tenant", _T.PROSPECTIVE_TENANT_ASKS, _C.OF, 28),
    _england("copy.next-inspector", _COPY, "the next inspector", _T.NEXT_INSPECTION, _C.AT),
    _england(
        "confirmation.obtained",
        "written confirmation from a qualified person obtained",
        "",
        _T.COMPLETION,
        _C.OF,
        28,
        "In time to be supplied within the same days.",
    ),
    _england("confirmation.tenants", _CONFIRMED, "each existing tenant", _T.COMPLETION, _C.OF, 28),
    _england("confirmation.authority", _CONFIRMED, "the local housing authority", _T.COMPLETION, _C.OF, 28),
    Duty(
        key="england.social.equipment",
        rules=("england.social.2025",),
        what="electrical equipment supplied with the tenancy checked, and a record kept",
        to="",
        trigger=_T.EQUIPMENT_CHECK,
        count=_C.YEARS_AFTER,
        number=5,
        confidence=Confidence.READ,
        source="gov.uk guidance of 1 Nov 2025 on social rented homes",
        remark="What is unsafe is repaired or replaced as soon as reasonably practicable and within 28 days.",
    ),
    Duty(
        key="wales.report.occupation",
        rules=_WALES,
        what="a valid electrical condition report, throughout the occupation",
        to="",
        trigger=_T.NEW_OCCUPATION,
        count=_C.AT,
        confidence=Confidence.READ,
        source=_WALES_SOURCE,
    ),
    _wales("copy.occupation", _COPY, _T.NEW_OCCUPATION, Confidence.READ, "7 days as the regulation was made."),
    _wales("copy.inspection", _COPY, _T.INSPECTION, Confidence.VERIFY, _AS_MADE),
    _wales("confirmation", "written confirmation of the work", _T.COMPLETION, Confidence.VERIFY, _AS_MADE),
    Duty(
        key="scotland.inspection.new-tenancy",
        rules=_SCOTLAND,
        what="an electrical safety inspection by a competent person",
        to="",
        trigger=_T.NEW_OCCUPATION,
        count=_C.BEFORE,
        confidence=Confidence.READ,
        source="gov.scot Repairing Standard guidance, Annex D3, D.52 to D.56",
    ),
    Duty(
        key="scotland.copy.new-tenant",
        rules=_SCOTLAND,
        what=_COPY,
        to="the new tenant",
        trigger=_T.NEW_OCCUPATION,
        count=_C.BEFORE,
        confidence=Confidence.MEMORY,
        source="Housing (Scotland) Act 2006 s.19B, not read",
    ),
    _ni("copy.tenant", _COPY, "the tenant", _T.INSPECTION, _C.STARTING_WITH, 28, _NI_COUNT),
    _ni("copy.authority", _COPY, "the council", _T.AUTHORITY_ASKS, _C.STARTING_WITH, 7, _NI_COUNT),
    _ni("copy.new-tenant", _COPY, "the new tenant", _T.NEW_OCCUPATION, _C.BEFORE),
    _ni(
        "copy.prospective-tenant",
        _COPY,
        "the prospective tenant",
        _T.PROSPECTIVE_TENANT_ASKS,
        _C.STARTING_WITH,
        28,
        _NI_COUNT,
    ),
    _ni(
        "confirmation",
        "written confirmation of the work obtained and supplied",
        "the tenant",
        _T.COMPLETION,
        _C.AT,
        remark="No number of days was found.",
    ),
)
