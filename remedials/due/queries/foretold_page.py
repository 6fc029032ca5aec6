"""What figures would send, as the page of reminding shows it: by day, by person, opened to lines."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import Any
from uuid import UUID

from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.words import day as in_words
from jobsite.words import many, weekday
from remedials.due.models import DueRow
from remedials.due.queries.foretelling import SPAN, Foretold, Plan, counted, foretell, keys_said, really_sent
from remedials.due.queries.foretelling_letters import Sent, letters_foretold
from remedials.due.queries.rows import _read as ready_to_show
from remedials.due.queries.rows import as_dicts

MOST_LINES = 100
CUSTOMERS = "customers"


@dataclass(frozen=True)
class Sending:
    """All that is told of figures: by them, and what really went out."""

    plan: Plan
    told: Foretold
    letters: dict[date, list[Sent]]
    sent: dict[date, Counter[str]]


def sending(plan: Plan) -> Sending:
    """What `plan` would send and what went out. At most ten statements."""
    return Sending(plan, foretell(plan), letters_foretold(plan), really_sent(plan))


def told_page(found: Sending) -> dict[str, Any]:
    """The two spans, day by day, and the sums of each person."""
    past, ahead = found.plan.days[:SPAN], found.plan.days[SPAN:]
    return {
        "spans": [
            {"heading": f"The last {SPAN} days", "past": True, **_span(found, past[::-1])},
            {"heading": f"The next {SPAN} days", "past": False, **_span(found, ahead)},
        ],
        "people": _people(found, past, ahead),
    }


def _span(found: Sending, days: Sequence[date]) -> dict[str, Any]:
    rows = [_day(found, day) for day in days]
    rows = [row for row in rows if any(row[name] for name in ("lines", "dangers", "letters", "sent_all"))]
    names = ("digests", "lines", "dangers", "letters", "sent_digests", "sent_dangers", "sent_letters", "sent_others")
    return {"days": rows, "sums": {name: f"{sum(row[name] for row in rows):,}" for name in names}}


def _day(found: Sending, day: date) -> dict[str, Any]:
    lines, dangers = found.told.lines.get(day, Counter()), found.told.dangers.get(day, Counter())
    sent, letters = found.sent.get(day, Counter()), found.letters.get(day, [])
    people = [key for key in found.told.names if lines[key] or dangers[key]]
    return {
        "on": weekday(day) + (", today" if day == found.plan.today else ""),
        "digests": len(lines),
        "lines": sum(lines.values()),
        "dangers": sum(dangers.values()),
        "letters": len(letters),
        "people": [
            {
                "name": found.told.names[key],
                "lines": many(lines[key], "line") if lines[key] else "",
                "dangers": many(dangers[key], "message") + " about danger" if dangers[key] else "",
                "open": f"{day} {key}",
                "on": weekday(day),
            }
            for key in people
        ],
        "open_letters": f"{day} {CUSTOMERS}" if letters else "",
        "sent_digests": sent["digests"],
        "sent_dangers": sent["dangers"],
        "sent_letters": sent["letters"],
        "sent_others": sent["others"],
        "sent_all": sum(sent.values()),
    }


def _people(found: Sending, past: Sequence[date], ahead: Sequence[date]) -> list[dict[str, Any]]:
    sums = {
        "past_lines": counted(found.told.lines, past),
        "past_dangers": counted(found.told.dangers, past),
        "next_lines": counted(found.told.lines, ahead),
        "next_dangers": counted(found.told.dangers, ahead),
    }
    return [
        {"name": name, **{what: f"{counts[key]:,}" for what, counts in sums.items()}}
        for key, name in found.told.names.items()
        if any(counts[key] for counts in sums.values())
    ]


def opened(plan: Plan, asked: str) -> dict[str, Any] | None:
    """The lines of one digest, or the letters of one day: `asked` is the day, then a person's key or "customers".

    None where that says nothing. At most five statements; it stops at 100 lines.
    """
    day_text, _, whom = asked.partition(" ")
    try:
        day = date.fromisoformat(day_text)
        person = None if whom == CUSTOMERS else UUID(whom)
    except ValueError:
        return None
    if day not in plan.days:
        return None
    return _letters_of(plan, day) if person is None else _lines_of(plan, day, person)


def _lines_of(plan: Plan, day: date, person: UUID) -> dict[str, Any] | None:
    who = User.objects.filter(pk=person).values_list("name", flat=True).first()
    if who is None:
        return None
    keys = list(islice(keys_said(plan, day, person), MOST_LINES + 1))
    place = {key: number for number, key in enumerate(keys[:MOST_LINES])}
    found = ready_to_show(DueRow.objects.filter(ref__in=[ref for _, ref in place]))
    rows = sorted((row for row in found if (row.kind, row.ref) in place), key=lambda row: place[row.kind, row.ref])
    return {
        "of": in_words(day),
        "who": who,
        "lines": [_line(row) for row in as_dicts(rows, today=day)],
        "more": len(keys) > MOST_LINES,
    }


def _line(row: dict[str, Any]) -> dict[str, Any]:
    names = ("code", "next_step", "subject", "site", "site_href", "href", "who", "by", "mark")
    return {name: row[name] for name in names}


def _letters_of(plan: Plan, day: date) -> dict[str, Any]:
    letters = letters_foretold(plan).get(day, [])
    return {
        "of": in_words(day),
        "who": "",
        "letters": [
            {
                "customer": letter.customer,
                "place": letter.place,
                "href": address("desk:site", letter.site),
                "due": in_words(letter.due),
                "by_law": letter.by_law,
            }
            for letter in letters[:MOST_LINES]
        ],
        "more": len(letters) > MOST_LINES,
    }
