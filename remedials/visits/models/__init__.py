"""Visits and what belongs to them: who goes where and when, getting in, calendar feeds, the planner's proposals."""

from remedials.visits.models.access import (
    AccessTime,
    AlarmCode,
    Attempt,
    CheckIn,
    ClosedDays,
    KeyMove,
    OccupierNote,
    SeeTo,
    SiteKey,
)
from remedials.visits.models.feeds import Feed
from remedials.visits.models.planning import DrivingTime, Plan, Proposal, Unplanned
from remedials.visits.models.terms import DiaryTerms
from remedials.visits.models.times import OfferedTime, TimesOffer
from remedials.visits.models.visits import Attendance, Confirmation, Visit, VisitLine, VisitMove

__all__ = [
    "AccessTime",
    "AlarmCode",
    "Attempt",
    "Attendance",
    "CheckIn",
    "ClosedDays",
    "Confirmation",
    "DiaryTerms",
    "DrivingTime",
    "Feed",
    "KeyMove",
    "OccupierNote",
    "OfferedTime",
    "Plan",
    "Proposal",
    "SeeTo",
    "SiteKey",
    "TimesOffer",
    "Unplanned",
    "Visit",
    "VisitLine",
    "VisitMove",
]
