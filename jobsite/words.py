"""Facts in words, the same everywhere: dates, ages, times, money. Pure: the day and the clock are passed in."""

from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

LONDON = ZoneInfo("Europe/London")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
THIN = "\u202f"  # the narrow space that keeps a number and its unit on one line


def day(on: date | None) -> str:
    """A date: "24 Nov 2026"; "" for none. Of a datetime, its own date: make it London's first (`when`)."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}" if on else ""


def near_day(on: date | None, today: date) -> str:
    """A date in a list: "today", "tomorrow", "yesterday", "Thu 26 Nov" within six days, else "24 Nov 2026"."""
    if on is None:
        return ""
    apart = (on - today).days
    if abs(apart) <= 1:
        return ("yesterday", "today", "tomorrow")[apart + 1]
    return weekday(on) if abs(apart) <= 6 else day(on)


def weekday(on: date) -> str:
    """A date by its day of the week: "Thu 26 Nov"."""
    return f"{WEEKDAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def london(instant: datetime) -> datetime:
    """`instant` as the clock in London shows it."""
    return instant.astimezone(LONDON)


def when(instant: datetime | None) -> str:
    """An instant in London's time: "24 Nov 2026, 09:30"; "" for none."""
    return f"{day(here)}, {here:%H:%M}" if instant and (here := london(instant)) else ""


def span(start: datetime, end: datetime) -> str:
    """From `start` to `end` in London's time: "24 Nov 2026, 09:00\u201310:30"; both days where they differ."""
    if london(start).date() == london(end).date():
        return f"{when(start)}\u2013{london(end):%H:%M}"
    return f"{when(start)} \u2013 {when(end)}"


def many(count: int, one: str, more: str = "") -> str:
    """A count with its noun: "1 board", "7 boards"; `more` where the plural is not made with s."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"


def months_between(first: date, last: date) -> int:
    """Whole calendar months from `first` to `last`; the 31st counts from a month's last day."""
    months = (last.year - first.year) * 12 + last.month - first.month
    return months - (1 if last.day < first.day and not _ends_month(last) else 0)


def _ends_month(on: date) -> bool:
    return on == date.max or date.fromordinal(on.toordinal() + 1).day == 1


def since(first: date, today: date) -> str:
    """The time from `first` to `today`: "4 years 9 months", "3 months", "12 days", "today". Not yet: "today"."""
    days = (today - first).days
    if days <= 0:
        return "today"
    months = months_between(first, today)
    if months < 1:
        return many(days, "day")
    parts = [many(n, noun) for n, noun in ((months // 12, "year"), (months % 12, "month")) if n]
    return " ".join(parts)


def days_late(due: date | None, today: date) -> str:
    """How late it is in days, however many: "1 day late", "1,203 days late"; "" where it is not or has no date."""
    days = (today - due).days if due else 0
    return f"{many(days, 'day')} late" if days > 0 else ""


def late(due: date | None, today: date) -> str:
    """How late it is: "4 days late", after sixty days "4 years 8 months late"; "" where it is not or has no date."""
    days = (today - due).days if due else 0
    if due is None or days <= 0:
        return ""
    return f"{many(days, 'day') if days <= 60 else since(due, today)} late"


def money(pounds: Decimal) -> str:
    """A sum in pounds: "£1,234.50", "\u2212£20.00". Only for sums already rounded to the penny."""
    sign = "\u2212" if pounds < 0 else ""
    return f"{sign}£{abs(pounds):,.2f}"


def measure(value: Decimal | int | None, unit: str) -> str:
    """A value with its unit: "0.64 Ω", "30 mA" with a thin space; "" for none."""
    return "" if value is None else f"{value}{THIN}{unit}"


def joined(*parts: str | None, by: str = ", ") -> str:
    """The parts that say something, with `by` between them."""
    return by.join(part for part in parts if part)


def plain(value: object) -> str:
    """Any single value in words: dates as dates, yes and no, "nothing" for none and for empty text."""
    if value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return when(value)
    return day(value) if isinstance(value, date) else str(value)


def dialled(phone: str) -> str:
    """A telephone number as a tel: address takes it (RFC 3966): digits, with a plus in front where it has one."""
    return ("+" if phone.strip().startswith("+") else "") + "".join(c for c in phone if c.isascii() and c.isdigit())
