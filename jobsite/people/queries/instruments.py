"""What is shown of the firm's instruments: their checks, and whether what they show counts."""

from datetime import date
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery
from django.urls import reverse

from jobsite.addresses import address
from jobsite.people.models import Instrument, InstrumentCheck, InstrumentFault
from jobsite.words import day, when


def with_wrong(rows: QuerySet[Instrument]) -> QuerySet[Any]:
    """`rows` with `wrong_on`: the day on which each was found wrong, None once a check after it is recorded.

    No statement of its own.
    """
    faults = InstrumentFault.objects.filter(instrument=OuterRef("pk")).unanswered(date.max)
    return rows.annotate(wrong_on=Subquery(faults.order_by("-found_on").values("found_on")[:1]))


def instruments_in_use() -> QuerySet[Any]:
    """The instruments to choose from, by name, with `wrong_on`. No statement of its own."""
    return with_wrong(Instrument.objects.filter(archived_at__isnull=True)).order_by("name", "serial_number")


def instrument_choice(row: Any) -> str:
    """An instrument of `with_wrong` as it stands in a choice: "Loop tester, T-9 (found wrong on 3 Feb 2026)"."""
    return f"{row} (found wrong on {day(row.wrong_on)})" if row.wrong_on else str(row)


def wrong_words(row: Any) -> str:
    """What stands beside a verdict on what an instrument of `with_wrong` showed; "" where nothing was found wrong."""
    wrong_on = getattr(row, "wrong_on", None)
    return f"Instrument found wrong on {day(wrong_on)}: this proves nothing." if wrong_on else ""


def instruments(*, today: date) -> list[dict[str, Any]]:
    """All instruments by name, those out of use at the end. One statement."""
    rows = with_wrong(Instrument.objects.all()).order_by("archived_at", "name", "serial_number")
    ordered = sorted(rows, key=lambda row: row.archived_at is not None)
    return [_instrument(row, today) for row in ordered]


def _instrument(row: Any, today: date) -> dict[str, Any]:
    in_check = row.in_check_on(today) and not row.wrong_on
    state = "in check" if in_check else "out of its check"
    if row.wrong_on:
        state = f"found wrong on {day(row.wrong_on)}, not checked since"
    if row.archived_at:
        state = "out of use"
    return {
        "name": row.name,
        "serial_number": row.serial_number,
        "checked_on": day(row.checked_on) or "never",
        "check_due": day(row.check_due),
        "state": state,
        "late": not row.archived_at and not in_check,
        "css": "gone" if row.archived_at else "",
        "page": address("works:instrument", row.pk),
        "check": "" if row.archived_at else reverse("people:instrument_check", args=[row.pk]),
    }


def one_instrument(instrument: Instrument, *, today: date, on_record: bool) -> dict[str, Any]:
    """An instrument for its own page. `on_record`: whether any check of it is kept as a row. One statement."""
    row = with_wrong(Instrument.objects.filter(pk=instrument.pk)).get()
    before = bool(row.checked_on) and not on_record
    return _instrument(row, today) | {
        "before": f"Checked on {day(row.checked_on)}: recorded before checks were kept one by one." if before else "",
        "archived": row.archived_at is not None,
        "compare": f"{reverse('people:instrument_check', args=[row.pk])}?kind=comparison",
        "found_wrong": address("works:found_wrong", row.pk),
        "archive": reverse("people:instrument_archive", args=[row.pk]),
    }


def checks_of(instrument: Instrument) -> list[dict[str, Any]]:
    """Its accuracy checks, the latest first. One statement."""
    rows = instrument.checks.select_related("recorded_by").order_by("-checked_on", "-recorded_at")
    return [_check(row) for row in rows]


def _check(row: InstrumentCheck) -> dict[str, Any]:
    return {
        "on": day(row.checked_on),
        "kind": row.get_kind_display(),
        "result": row.get_result_display(),
        "failed": row.result == InstrumentCheck.Result.FAILED,
        "due": day(row.due),
        "by_whom": row.by_whom,
        "certificate": row.certificate,
        "file": address("people:check_file", row.pk) if row.file_id else "",
        "note": row.note,
        "recorded": f"{row.recorded_by}, {when(row.recorded_at)}",
    }


def last_good(instrument: Instrument) -> date | None:
    """The last day on which a check on record found it right; its own where that was recorded before checks were kept.

    Two statements at most: where it was found wrong, the last one before that.
    """
    wrong = instrument.faults.unanswered(date.max).order_by("found_on").values_list("found_on", flat=True).first()
    good = instrument.checks.exclude(result=InstrumentCheck.Result.FAILED)
    if wrong:
        good = good.filter(checked_on__lt=wrong)
    found = good.order_by("-checked_on").values_list("checked_on", flat=True).first()
    days = [one for one in (found, instrument.checked_on) if one]
    return max(days, default=None)


def last_good_words(instrument: Instrument) -> str:
    """When it was last found right, for whoever must say since when it may be wrong."""
    found = last_good(instrument)
    return f"Last found right by a check on record: {day(found)}." if found else "No check that it passed is on record."
