"""A strict reader of iCalendar, written from the grammar of RFC 5545 (3.1 content lines, 3.3 values, 3.8 properties).

It shares nothing with the library that writes calendars, and refuses what the grammar does not allow instead of guessing.
"""

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone

NAME = r"[A-Za-z0-9-]+"
QSAFE, SAFE = r'[^"\x00-\x08\x0a-\x1f\x7f]', r'[^";:,\x00-\x08\x0a-\x1f\x7f]'
PARAMETER = re.compile(rf';({NAME})=("{QSAFE}*"|{SAFE}*)')
LINE = re.compile(rf"({NAME})((?:;{NAME}=(?:\"{QSAFE}*\"|{SAFE}*))*):(.*)", re.DOTALL)
TEXT = re.compile(r"(?:[^\\;,\x00-\x08\x0a-\x1f\x7f]|\\[\\;,Nn])*")
DATE_TIME = re.compile(r"(\d{4})(\d\d)(\d\d)T(\d\d)(\d\d)(\d\d)(Z?)")
# What must stand once, and what may stand at most once, in an event (3.6.1).
EVENT_ONCE = {"DTSTAMP", "UID", "DTSTART"}
EVENT_AT_MOST_ONCE = {
    *EVENT_ONCE, "DTEND", "DESCRIPTION", "GEO", "LAST-MODIFIED", "LOCATION", "SEQUENCE", "STATUS", "SUMMARY", "URL",
}  # fmt: skip
STATUS = {"TENTATIVE", "CONFIRMED", "CANCELLED"}


class NotByTheGrammar(ValueError):
    """The text is no iCalendar object."""


@dataclass
class Part:
    name: str
    lines: list[tuple[str, dict[str, str], str]] = field(default_factory=list)
    parts: list["Part"] = field(default_factory=list)

    def raw(self, name: str) -> str:
        """The value of the one line `name` as it is written."""
        (found,) = [value for one, _, value in self.lines if one == name]
        return found

    def text(self, name: str) -> str:
        """The value of the one line `name` of type TEXT (3.3.11)."""
        return unescaped(self.raw(name))

    def has(self, name: str) -> bool:
        return any(one == name for one, _, _ in self.lines)

    def moment(self, name: str, zones: dict[str, "Part"]) -> datetime:
        """The instant of the one line `name` (3.3.5), by the zone that the calendar itself brings along."""
        ((given, value),) = [(given, value) for one, given, value in self.lines if one == name]
        found = DATE_TIME.fullmatch(value)
        if not found:
            raise NotByTheGrammar(f"no DATE-TIME: {value}")
        local = datetime(*(int(part) for part in found.groups()[:6]))  # noqa: DTZ001
        if found[7]:
            return local.replace(tzinfo=UTC)
        return local.replace(tzinfo=timezone(offset_at(zones[given["TZID"]], local))).astimezone(UTC)


def unfolded(data: bytes) -> list[str]:
    """The content lines (3.1): each ends in CR LF and is folded at 75 octets, between characters."""
    if not data.endswith(b"\r\n") or b"\n" in data.replace(b"\r\n", b"") or b"\r" in data.replace(b"\r\n", b""):
        raise NotByTheGrammar("lines end in CR LF")
    physical = data[:-2].split(b"\r\n")
    for line in physical:
        if len(line) > 75:
            raise NotByTheGrammar(f"{len(line)} octets in a line")
        line.decode()  # a fold inside a character breaks this
    return data[:-2].replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode().split("\r\n")


def unescaped(value: str) -> str:
    if not TEXT.fullmatch(value):
        raise NotByTheGrammar(f"no TEXT: {value}")
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def read(data: bytes) -> Part:
    """The VCALENDAR in `data`. Raises NotByTheGrammar."""
    top = Part("")
    open_parts = [top]
    for line in unfolded(data):
        found = LINE.fullmatch(line)
        if not found:
            raise NotByTheGrammar(f"no content line: {line}")
        name, value = found[1].upper(), found[3]
        given = {key.upper(): text.strip('"') for key, text in PARAMETER.findall(found[2])}
        if name == "BEGIN":
            part = Part(value.upper())
            open_parts[-1].parts.append(part)
            open_parts.append(part)
        elif name == "END":
            if open_parts.pop().name != value.upper():
                raise NotByTheGrammar(f"END:{value} ends nothing")
        else:
            open_parts[-1].lines.append((name, given, value))
    if open_parts != [top] or [part.name for part in top.parts] != ["VCALENDAR"] or top.lines:
        raise NotByTheGrammar("not one VCALENDAR")
    _check(top.parts[0])
    return top.parts[0]


def _check(calendar: Part) -> None:
    if calendar.raw("VERSION") != "2.0" or not calendar.text("PRODID"):
        raise NotByTheGrammar("PRODID and VERSION stand once")
    uids = []
    for event in events(calendar):
        names = [name for name, _, _ in event.lines]
        if not set(names) >= EVENT_ONCE or any(names.count(name) > 1 for name in EVENT_AT_MOST_ONCE):
            raise NotByTheGrammar(f"of an event: {names}")
        if event.raw("STATUS") not in STATUS or not event.raw("SEQUENCE").isdigit():
            raise NotByTheGrammar("STATUS, SEQUENCE")
        uids.append(event.text("UID"))
        for _, given, _ in event.lines:
            if "TZID" in given and given["TZID"] not in zones_of(calendar):
                raise NotByTheGrammar("a TZID without its VTIMEZONE (3.2.19)")
    if len(uids) != len(set(uids)):
        raise NotByTheGrammar("a UID twice")


def events(calendar: Part) -> list[Part]:
    return [part for part in calendar.parts if part.name == "VEVENT"]


def zones_of(calendar: Part) -> dict[str, Part]:
    return {part.text("TZID"): part for part in calendar.parts if part.name == "VTIMEZONE"}


def offset_at(zone: Part, local: datetime) -> timedelta:
    """The offset in force at `local` (3.6.5): of the latest onset that is not after it.

    A local time that happens twice means its first occurrence, one that doesn't happen is read with the offset before
    the gap (3.3.5).
    """
    onsets = sorted(_onset(part, year) for part in zone.parts for year in (local.year - 1, local.year))
    in_force = [offset for at, before, offset in onsets if local >= at + max(timedelta(), offset - before)]
    return in_force[-1]


def _onset(part: Part, year: int) -> tuple[datetime, timedelta, timedelta]:
    rule = dict(one.split("=") for one in part.raw("RRULE").split(";"))
    if rule["FREQ"] != "YEARLY" or rule["BYDAY"] != "-1SU":
        raise NotByTheGrammar("this reader knows the last Sunday of a month only")
    start = DATE_TIME.fullmatch(part.raw("DTSTART"))
    if not start:
        raise NotByTheGrammar("no onset")
    day = datetime(year, int(rule["BYMONTH"]) + 1, 1) - timedelta(days=1)  # noqa: DTZ001
    day -= timedelta(days=(day.weekday() - 6) % 7)
    before, after = _offset(part.raw("TZOFFSETFROM")), _offset(part.raw("TZOFFSETTO"))
    return day + timedelta(hours=int(start[4]), minutes=int(start[5])), before, after


def _offset(text: str) -> timedelta:
    found = re.fullmatch(r"([+-])(\d\d)(\d\d)", text)
    if not found:
        raise NotByTheGrammar(f"no UTC-OFFSET: {text}")
    return (1 if found[1] == "+" else -1) * timedelta(hours=int(found[2]), minutes=int(found[3]))
