"""What a booking is looked at for, how strictly, and what is said where it does not fit."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """What a finding does to a booking."""

    REFUSE = "refuse"  # it is not booked
    WARN = "warn"  # it is booked when a person says so with a reason
    SILENT = "silent"  # nobody is told


class Check(StrEnum):
    """What is looked at."""

    HOURS = "hours"  # outside the engineer's hours
    LEAVE = "leave"
    BANK_HOLIDAY = "bank-holiday"  # of the site's nation or the firm's
    ACCESS = "access"  # outside the customer's access times, or a closed day
    SKILL = "skill"  # nobody who goes has it on that day
    CREW = "crew"  # fewer go than the work takes at once
    ALONE = "alone"  # an apprentice without somebody who is none
    INSURANCE = "insurance"  # a subcontractor's has expired by then
    PARTS = "parts"  # its parts are not there yet
    SEE_TO = "see-to"  # something must be seen to first
    REMEDY_BY = "remedy-by"  # the visit is after the day by which it must be remedied
    TOO_SHORT = "too-short"  # the work takes longer than the visit
    LOCK_OFF = "lock-off"  # live tests below somebody's lock-off
    LOCKS = "locks"  # live tests where something is locked off and nobody recorded on which board
    OUTAGE = "outage"  # it needs power while another visit there has it off, or the other way round
    CANCELLATION = "cancellation"  # in a consumer's days to cancel, not asked to begin at once
    DRIVING = "driving"  # too little time to get there from the visit before, or on to the next


# Never less than a refusal, whatever the firm sets: somebody can be hurt.
FIXED = frozenset({Check.ALONE, Check.LOCK_OFF})

# Never less than a warning, whatever the firm sets: whoever books must have read it, since somebody can be hurt.
NEVER_SILENT = frozenset({Check.OUTAGE, Check.SEE_TO, Check.SKILL, Check.LOCKS})

# Common practice, for the firm to set (`DiaryTerms.severities`).
DEFAULTS: Mapping[Check, Severity] = {
    Check.HOURS: Severity.WARN,
    Check.LEAVE: Severity.REFUSE,
    Check.BANK_HOLIDAY: Severity.WARN,
    Check.ACCESS: Severity.WARN,
    Check.SKILL: Severity.REFUSE,
    Check.CREW: Severity.WARN,
    Check.ALONE: Severity.REFUSE,
    Check.INSURANCE: Severity.REFUSE,
    Check.PARTS: Severity.REFUSE,
    Check.SEE_TO: Severity.WARN,
    Check.REMEDY_BY: Severity.WARN,
    Check.TOO_SHORT: Severity.WARN,
    Check.LOCK_OFF: Severity.REFUSE,
    Check.LOCKS: Severity.WARN,
    Check.OUTAGE: Severity.WARN,
    Check.CANCELLATION: Severity.WARN,
    Check.DRIVING: Severity.WARN,
}


@dataclass(frozen=True)
class Finding:
    """One thing that does not fit: a sentence that says what clashes with what, and the form's field it is about."""

    check: Check
    severity: Severity
    sentence: str
    field: str = ""


def severity_of(check: Check, set_by_firm: Mapping[str, str]) -> Severity:
    """How strictly `check` is taken where the firm set `set_by_firm` (severities by check, as stored).

    What is never silent is warned of where silence is stored.
    """
    if check in FIXED:
        return Severity.REFUSE
    found = Severity(set_by_firm.get(check.value, DEFAULTS[check]))
    return Severity.WARN if found is Severity.SILENT and check in NEVER_SILENT else found
