"""Readings of an instrument that was later found to measure wrongly."""

from typing import Any

from django.db.models import Exists, OuterRef, QuerySet
from django.db.models.functions import TruncDate

from inspections.models import Reading
from jobsite.people.models import InstrumentFault
from jobsite.words import LONDON


def with_doubt(rows: QuerySet[Reading]) -> QuerySet[Any]:
    """`rows` with `doubted`: whether the instrument was found wrong for the day on which each was taken.

    The day on which it was last known to be right counts too: nobody knows at what hour. No statement of its own.
    """
    faults = InstrumentFault.objects.filter(
        instrument=OuterRef("instrument"), last_good_on__lte=OuterRef("day"), found_on__gte=OuterRef("day")
    )
    return rows.annotate(day=TruncDate("taken_at", tzinfo=LONDON)).annotate(doubted=Exists(faults))


def doubted_by(fault: InstrumentFault) -> QuerySet[Reading]:
    """The readings that one finding makes doubtful. No statement of its own."""
    rows = Reading.objects.annotate(day=TruncDate("taken_at", tzinfo=LONDON))
    return rows.filter(instrument=fault.instrument_id, day__gte=fault.last_good_on, day__lte=fault.found_on)
