"""What the page of getting in shows of a site, and what of it an engineer needs at a visit."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.words import WEEKDAYS, day, joined, late, when
from remedials.visits.models import (
    AccessTime,
    AlarmCode,
    Attempt,
    Attendance,
    ClosedDays,
    KeyMove,
    OccupierNote,
    SeeTo,
    SiteKey,
    TimesOffer,
    Visit,
)
from remedials.visits.rules.letters import ORDER
from remedials.works.models import Remedial

BEFORE, AFTER = timedelta(days=2), timedelta(days=1)  # a note about people is read while it is needed, and no longer


def site_page(site: Site, user: User, *, now: datetime) -> dict[str, Any]:
    """All that is known of getting in to `site`, as far as `user` may see it. Ten statements at most."""
    today = clock.local_day(now)
    own = not user.subcontractor
    return {
        "times": [_time(row) for row in AccessTime.objects.filter(site=site).select_related("unit").order_by("start", "pk")],
        "closed": [_closed(row) for row in ClosedDays.objects.filter(site=site, last__gte=today).select_related("unit").order_by("first", "pk")],
        "occupiers": occupiers(site, user, now=now),
        "attempts": attempts(site) if own else [],
        "keys": [key_row(row, today) for row in SiteKey.objects.filter(site=site, given_back_at=None).select_related("out_to", "site").order_by("tag")],
        "codes": [_code(row) for row in AlarmCode.objects.filter(site=site, retired_at=None).order_by("place", "pk")],
        "see_to": see_to_rows(SeeTo.objects.filter(site=site), today),
        "offers": [_offer(row) for row in TimesOffer.objects.filter(site=site).prefetch_related("times").select_related("unit").order_by("-made_at")[:12]] if own and user.may(Right.BOOK) else [],
    }  # fmt: skip


def of_unit(unit: Any) -> str:
    """The name of a unit where one is said."""
    return "" if unit is None or unit.whole_site else str(unit.name)


def _time(row: AccessTime) -> dict[str, str]:
    days = ", ".join(WEEKDAYS[number] for number in sorted(row.weekdays))
    words = joined(f"{days} {row.start:%H:%M} to {row.end:%H:%M}", row.note)
    return {"words": words, "unit": of_unit(row.unit), "remove": address("visits:access_time_remove", row.pk)}


def _closed(row: ClosedDays) -> dict[str, str]:
    span = day(row.first) if row.first == row.last else f"{day(row.first)} to {day(row.last)}"
    return {
        "words": f"{span}: {row.why}",
        "unit": of_unit(row.unit),
        "remove": address("visits:closed_days_remove", row.pk),
    }


# --- people -----------------------------------------------------------------------------------------------------------


def may_see_people(user: User, site: UUID, *, now: datetime) -> bool:
    """The office; and engineers booked there, from two days before until a day after their visit. One statement."""
    booked = sites_whose_people(user, now=now)
    return booked is None or booked.filter(visit__site=site).exists()


def sites_whose_people(user: User, *, now: datetime) -> Any:
    """Keys of the sites about whose people `user` may read, for a subquery; None: of all. No statement of its own."""
    if user.may(Right.BOOK) and not user.subcontractor:
        return None
    mine = Attendance.objects.filter(engineer=user, cancelled=False, visit__state=Visit.State.BOOKED)
    return mine.filter(start__lte=now + BEFORE, end__gte=now - AFTER).values("visit__site")


def occupiers(site: Site, user: User, *, now: datetime) -> list[dict[str, Any]]:
    """Whom to ask at each unit and what to mind there; nothing for whoever need not know. Two statements."""
    if not may_see_people(user, site.pk, now=now):
        return []
    notes = {note.unit_id: note for note in OccupierNote.objects.filter(site=site)}
    return [_occupier(unit, notes.get(unit.pk)) for unit in site.units.current().order_by("sort", "pk")]


def _occupier(unit: Any, note: OccupierNote | None) -> dict[str, Any]:
    shown = {
        "unit": of_unit(unit) or "The whole site",
        "edit": address("visits:occupier", unit.pk),
        "known": bool(note),
    }
    if note is None:
        return shown
    return shown | {
        "contact": joined(note.contact, note.phone, note.email),
        "name": note.contact or shown["unit"],
        "phone": note.phone,
        "tel": "".join(c for c in note.phone if c.isascii() and (c.isdigit() or c == "+")),
        "best": note.best_times,
        "mind": note.mind,
        "power": note.loses_power_badly,
    }


# --- attempts ---------------------------------------------------------------------------------------------------------


def attempts(site: Site, *, most: int = 200) -> list[dict[str, Any]]:
    """The attempts at a site, the latest first. One statement."""
    rows = Attempt.objects.filter(site=site).select_related("unit", "by", "visit")
    return [attempt_row(row) for row in rows.order_by("-at", "-pk")[:most]]


def attempt_row(row: Attempt) -> dict[str, Any]:
    """One attempt in words."""
    return {
        "at": when(row.at),
        "how": row.get_how_display(),
        "whom": row.whom,
        "by": str(row.by),
        "unit": of_unit(row.unit),
        "said": row.said,
        "came": "We got in." if row.got_in else "We did not get in." if row.how == "visit" else "",
        "reply": f"{day(row.replied_on)}: {row.reply}" if row.reply else "",
        "next": day(row.next_on) if row.next_on else "",
        "visit": {"number": row.visit.number, "address": address("visits:visit", row.visit_id)} if row.visit else None,
        "answer": "" if row.reply else address("visits:attempt_reply", row.pk),
        "photo": address("visits:attempt_photo", row.pk) if row.photo_id else "",
        "letter": address("visits:attempt_letter", row.pk) if row.letter_id else "",
        "hash": row.letter_id or "",
    }


# --- keys and codes ---------------------------------------------------------------------------------------------------


def key_row(key: SiteKey, today: Any) -> dict[str, Any]:
    """A key and where it is now."""
    where = f"hangs at {key.place}" if key.place else "with us"
    if key.out_to:
        where = f"out to {key.out_to}" + (f", back by {day(key.back_by)}" if key.back_by else "")
    if key.given_back_at:
        where = f"given back for good, {when(key.given_back_at)}"
    return {
        "tag": key.tag,
        "what": key.what,
        "held_for": key.held_for,
        "site": key.site.name,
        "where": where,
        "late": late(key.back_by, today) if key.out_to else "",
        "address": address("visits:key", key.pk),
        "out": bool(key.out_to),
        "gone": bool(key.given_back_at),
    }


def keys_out(user: User, *, now: datetime) -> list[dict[str, Any]]:
    """Every key that is out, the longest overdue first. One statement."""
    rows = SiteKey.objects.visible_to(user).filter(out_to__isnull=False).select_related("out_to", "site")
    return [key_row(row, clock.local_day(now)) for row in rows.order_by("back_by", "tag")]


def key_history(key: SiteKey) -> list[dict[str, str]]:
    """Where a key went and came, the latest first. One statement."""
    rows = KeyMove.objects.filter(key=key).select_related("who", "recorded_by").order_by("-at", "-pk")
    return [
        {"at": when(row.at), "what": f"{row.get_way_display()}{f' to {row.who}' if row.who else ''}", "note": row.note,
         "by": str(row.recorded_by)}
        for row in rows
    ]  # fmt: skip


def _code(row: AlarmCode) -> dict[str, str]:
    return {
        "place": row.place,
        "look": address("visits:code", row.pk),
        "retire": address("visits:code_retire", row.pk),
    }


# --- to see to --------------------------------------------------------------------------------------------------------


def see_to_rows(rows: Any, today: Any) -> list[dict[str, Any]]:
    """What must be seen to, what is still open first. One statement."""
    found = rows.filter(withdrawn_at=None).select_related("owner", "unit", "remedial", "site").order_by("by", "pk")
    return sorted((_see_to(row, today) for row in found), key=lambda row: not row["open"])


def before_work(remedial: Remedial, today: Any) -> list[dict[str, Any]]:
    """What must be seen to before `remedial`: it alone, or all work of its unit or its site. One statement."""
    of_all = Q(remedial=None, site=remedial.site_id) & (Q(unit=None) | Q(unit=remedial.unit_id))
    return see_to_rows(SeeTo.objects.filter(Q(remedial=remedial) | of_all), today)


def _see_to(row: SeeTo, today: Any) -> dict[str, Any]:
    over = row.holds_until is not None and row.holds_until < today
    still = row.met_on is None or over
    met = f"{day(row.met_on)}: {row.met_how}" if row.met_on else ""
    return {
        "kind": row.get_kind_display(),
        "what": row.what,
        "site": row.site.name,
        "site_address": address("visits:getting_in", row.site_id),
        "about": joined(of_unit(row.unit), f"remedial {row.remedial.number}" if row.remedial else ""),
        "owner": str(row.owner),
        "by": day(row.by),
        "late": late(row.by, today) if row.met_on is None else "",
        "met": met,
        "until": f"{'It held' if over else 'It holds'} until {day(row.holds_until)}." if row.holds_until else "",
        "open": still,
        "meet": address("visits:see_to_met", row.pk),
        "drop": address("visits:see_to_drop", row.pk),
    }


def _offer(row: TimesOffer) -> dict[str, str]:
    return {
        "address": address("visits:times_offer", row.pk),
        "words": f"{len(row.times.all())} times offered {day(clock.local_day(row.made_at))}",
        "state": row.get_state_display(),
    }


def next_letter(site: Site) -> str:
    """The letter that follows the last one to the site; after the last of all, that again. One statement."""
    last = Attempt.objects.filter(site=site, letter__isnull=False).order_by("at").values_list("how", flat=True).last()
    return ORDER[min(ORDER.index(last) + 1, len(ORDER) - 1)] if last in ORDER else ORDER[0]
