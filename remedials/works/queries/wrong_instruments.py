"""What an instrument that was found wrong has shown since it was last right, and the closed work that rests on it."""

from typing import Any

from django.db.models import Prefetch

from inspections.queries.doubted import doubted_by
from inspections.queries.readings import in_words, reading_row
from jobsite.addresses import address
from jobsite.people.models import Instrument, InstrumentFault, User
from jobsite.words import day, many, when
from remedials.works.models import Proof
from remedials.works.states import Stage

REOPENABLE = (Stage.DONE, Stage.REVIEWED)


def faults_of(instrument: Instrument, user: User) -> list[dict[str, Any]]:
    """What was found wrong with an instrument, the latest first, with its doubtful readings at sites that `user` sees.

    Two statements for each finding, and one.
    """
    rows = InstrumentFault.objects.filter(instrument=instrument).select_related("recorded_by", "instrument")
    return [_fault(fault, user) for fault in rows.order_by("-found_on", "-recorded_at")]


def _fault(fault: InstrumentFault, user: User) -> dict[str, Any]:
    proofs = Proof.objects.filter(state__in=[Proof.State.STANDS, Proof.State.BESIDE]).select_related("remedial")
    seen = in_words(doubted_by(fault).visible_to(user)).select_related("site")  # type: ignore[attr-defined]
    readings = seen.prefetch_related(Prefetch("proofs", proofs, to_attr="proving")).order_by("-taken_at", "-pk")
    found = [_reading(reading) for reading in readings]
    return {
        "head": f"Found wrong on {day(fault.found_on)}, last known to be right on {day(fault.last_good_on)}",
        "what": fault.what,
        "by": f"{fault.recorded_by.name}, {when(fault.recorded_at)}",
        "readings": found,
        "count": many(len(found), "reading"),
        "closed": len({one["href"] for row in found for one in row["closed"]}),
    }


def _reading(reading: Any) -> dict[str, Any]:
    remedials = {proof.remedial_id: proof.remedial for proof in reading.proving}
    return reading_row(reading) | {
        "site": reading.site.name,
        "closed": [_closed(remedial) for remedial in remedials.values()],
    }


def _closed(remedial: Any) -> dict[str, str]:
    return {
        "name": f"{remedial.number}: {remedial.work}",
        "stage": remedial.get_stage_display(),
        "href": address("desk:remedial", remedial.pk),
        "reopen": address("works:reopen", remedial.pk) if Stage(remedial.stage) in REOPENABLE else "",
    }
