"""What governors or a board are told of all their units, on one page: read, and as a document."""

from datetime import datetime, timedelta
from pathlib import Path
from textwrap import shorten
from typing import Any

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ledger.actor import Actor
from jobsite.ledger.documents import About
from jobsite.ledger.models import Document
from jobsite.marks import code_mark
from jobsite.premises.models import Party
from jobsite.words import day, late
from remedials.status import rules as unit_rules
from remedials.status.portfolio import facts, queries, rules, shown
from remedials.status.portfolio.making import made_for
from remedials.status.queries.standing import open_words, opening

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "portfolio-summary.typ"
YEAR = timedelta(days=365)
MOST = 8  # places named: what is left over stands in the list
MEANS = {**unit_rules.SHORT, "": "reported, not looked at yet"}


def summary(party: Party, *, now: datetime) -> shown.Summary:
    """How the units of `party` stand, counted. Twelve statements at most, whatever their number."""
    units = queries.units_of(party, now=now)
    today, first, keys = units.today, units.today - YEAR, [own.unit.pk for own, _ in units.rows]
    still = [
        rules.Item(
            o.code,
            open=True,
            made_safe=bool(o.safe_at),  # type: ignore[attr-defined]
            by=o.remedy_by,
            step=_step(open_words(o, own.known, now)),
        )
        for own, _ in units.rows
        for o in own.known.observations
    ]
    closed = [
        rules.Item(code, open=False)
        for code in facts.closed_since(keys, first).values_list("code", flat=True).order_by()
    ]
    worst = [row for row in units.rows if rules.level(row[1], today) <= rules.Level.INVESTIGATE]
    return shown.Summary(
        firm=units.firm,
        title=party.name,
        today=unit_rules.long_day(today),
        first_words=tuple(rules.first_words(units.standings, today)),
        danger_now=any(unit.now for unit in units.standings),
        figures=tuple(rules.figures(units.standings, today)) if keys else (),
        codes=tuple(_of_code(row) for row in rules.by_code([*still, *closed], today)) if keys else (),
        steps=tuple(rules.steps(still)),
        worst=tuple(
            shown.Place(unit.name, opening(own.known, now=now)[0], day(unit.by), late(unit.by, today))
            for own, unit in worst[:MOST]
        ),
        worst_more=max(0, len(worst) - MOST),
        year_from=unit_rules.long_day(first),
        inspections=facts.inspections_since(keys, first),
    )


def _step(item: unit_rules.OpenItem) -> str:
    """How far the repair of an item is, by the same rule as on the page of its unit."""
    if item.booked_on is None:
        return item.stands
    return "over" if item.over else "booked"


def _of_code(row: tuple[str, int, int, int, int]) -> shown.OfCode:
    code, still, safe, past, closed = row
    return shown.OfCode(code, code_mark(code), MEANS[code], still, safe, past, closed)


def summary_document(party: Party, *, by: Actor, now: datetime) -> Document:
    """The summary as a PDF of one page, kept as it was handed out; the same one while nothing has changed that day.

    Raises Refused where it cannot be made.
    """
    told = summary(party, now=now)
    title = "Electrical installations: how they stand"
    return made_for(
        About("portfolio-summary", party=party.pk, as_of=clock.local_day(now)),
        facts_of(told),
        template=TEMPLATE,
        title=title,
        foot=f"{title}: {told.title}",
        name="electrical-summary.pdf",
        by=by,
        now=now,
    )


def facts_of(told: shown.Summary) -> dict[str, Any]:
    """What the document is set from: words and whole numbers alone."""
    firm = the_firm()
    return {
        "firm": [line for line in (firm.name, *firm.address.splitlines(), firm.phone, firm.email) if line],
        "of": told.title,
        "on": told.today,
        "said": list(told.first_words),
        "danger": told.danger_now,
        "figures": [[name, count] for name, count in told.figures],
        "codes": [[c.code, c.means, c.open, c.made_safe, c.late, c.closed] for c in told.codes],
        "steps": [[words, count] for words, count in told.steps],
        "worst": [[_fit(place.name, 60), _fit(place.says, 150), place.by, place.late] for place in told.worst],
        "worst_more": told.worst_more,
        "year_from": told.year_from,
        "inspections": told.inspections,
    }


def _fit(words: str, most: int) -> str:
    """Words cut so that the page stays one page; the unit's own page has them in full."""
    return shorten(words, most, placeholder="…")
