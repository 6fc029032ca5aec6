"""Readings of an instrument that was later found to measure wrongly."""

from typing import Any

from django.db.models import BooleanField, Exists, ExpressionWrapper, F, OuterRef, Q, QuerySet
from django.db.models.functions import TruncDate

from inspections.models import Reading
from jobsite.people.models import InstrumentFault
from jobsite.words import LONDON


def with_doubt(rows: QuerySet[Reading]) -> QuerySet[Any]:
    """`rows` with `doubted`: whether the instrument counts as wrong on the day on which each was taken, and
    `known_wrong`: whether that was on record by then.

    It counts as wrong from the day on which it was last known to be right (nobody knows at what hour) until a check
    after the day on which it was found wrong. No statement of its own.
    """
    faults = doubts(InstrumentFault.objects.filter(instrument=OuterRef("instrument")))
    known = faults.filter(recorded_at__lte=OuterRef("taken_at"))
    return _dated(rows).annotate(doubted=Exists(faults), known_wrong=Exists(known))


def doubted_by(fault: InstrumentFault) -> QuerySet[Any]:
    """The readings that one finding makes doubtful, by the same measure. No statement of its own."""
    rows = _dated(Reading.objects.filter(instrument=fault.instrument_id))
    return rows.filter(Exists(doubts(InstrumentFault.objects.filter(pk=fault.pk))))


def doubted_around() -> QuerySet[Any]:
    """For a subquery of InstrumentFault: the readings that the finding around them makes doubtful."""
    rows = _dated(Reading.objects.filter(instrument=OuterRef("instrument")))
    return rows.filter(Exists(doubts(InstrumentFault.objects.filter(pk=OuterRef(OuterRef("pk"))))))


def doubts(faults: Any) -> QuerySet[InstrumentFault, Any]:
    """Those of `faults` that make the reading around them (by `_dated`) doubtful. No statement of its own."""
    in_check = ExpressionWrapper(OuterRef("instrument_in_check"), BooleanField())
    faults = faults.filter(last_good_on__lte=OuterRef("day")).until(OuterRef("day")).annotate(in_check=in_check)
    # Before checks were kept as rows only the last was at hand: a reading in its check, taken when the finding was on
    # record already, had a check before it too.
    had_one = Q(in_check=True, recorded_at__lte=OuterRef("taken_at"), instrument__checked_on__gt=F("found_on"))
    found: QuerySet[InstrumentFault, Any] = faults.filter(
        Q(found_on__gte=OuterRef("day")) | (Q(answered=False) & ~had_one)
    )
    return found


def _dated(rows: QuerySet[Reading]) -> QuerySet[Any]:
    return rows.annotate(day=TruncDate("taken_at", tzinfo=LONDON))
