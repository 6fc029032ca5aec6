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
    faults = InstrumentFault.objects.filter(instrument=OuterRef("instrument"), last_good_on__lte=OuterRef("day"))
    unchecked = Q(instrument__checked_on__isnull=True) | Q(instrument__checked_on__lte=F("found_on"))
    faults = faults.annotate(in_check=ExpressionWrapper(OuterRef("instrument_in_check"), BooleanField()))
    # Of its checks only the last is at hand: where that came after the reading, one in its check had one before too.
    until = Q(instrument__checked_on__gt=OuterRef("day")) & (
        Q(in_check=False) | Q(recorded_at__gt=OuterRef("taken_at"))
    )
    faults = faults.filter(Q(found_on__gte=OuterRef("day")) | unchecked | until)
    known = faults.filter(recorded_at__lte=OuterRef("taken_at"))
    dated = rows.annotate(day=TruncDate("taken_at", tzinfo=LONDON))
    return dated.annotate(doubted=Exists(faults), known_wrong=Exists(known))


def doubted_by(fault: InstrumentFault) -> QuerySet[Reading]:
    """The readings that one finding makes doubtful, by the same measure. No statement of its own beyond its instrument."""
    checked = fault.instrument.checked_on
    rows = Reading.objects.annotate(day=TruncDate("taken_at", tzinfo=LONDON))
    rows = rows.filter(instrument=fault.instrument_id, day__gte=fault.last_good_on)
    if checked is None or checked <= fault.found_on:
        return rows
    unproved = Q(instrument_in_check=False) | Q(taken_at__lt=fault.recorded_at)
    return rows.filter(Q(day__lte=fault.found_on) | (Q(day__lt=checked) & unproved))
