"""A customer's units as they are shown: the facts turned into the fields that `shown` allows, and nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from textwrap import shorten
from typing import Any
from uuid import UUID

from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.people.names import AsCustomersRead
from jobsite.premises.models import Party
from jobsite.sorting import sort_key
from jobsite.words import day, late
from remedials.status import rules as unit_rules
from remedials.status.facts import Scope
from remedials.status.portfolio import facts, rules, shown
from remedials.status.queries.next_due import basis_in_short, if_let
from remedials.status.queries.standing import in_order, opening

SIZE = 200  # lines on a page: 140 flats stand on one
MOST_IN_CELL = 20
CODES = ("C1", "", "C2", "FI", "C3")
HEADS = (
    "Unit", "Address", "How it stands", "Open items", "C1", "C2", "FI", "Not coded", "C3", "To be put right by", "Next inspection", "On what that rests",
    "Visits at which nobody let us in", "Last attempt to get in",
)  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """What of the list is asked for."""

    words: str = ""
    danger: str = ""
    dates: str = ""
    shut_out: bool = False
    page: int = 1


@dataclass
class Units:
    """All units of a party in their order, each with what is known of it and how it stands at an instant."""

    now: datetime
    firm: shown.Firm
    rows: list[tuple[facts.OfUnit, rules.Standing]]

    @property
    def today(self) -> date:
        return clock.local_day(self.now)

    @property
    def standings(self) -> list[rules.Standing]:
        return [standing for _, standing in self.rows]


def units_of(party: Party, *, now: datetime) -> Units:
    """The units of `party` as they stand now, the most dangerous first. Ten statements at most, whatever their number."""
    today, firm = clock.local_day(now), the_firm()
    reads = AsCustomersRead(firm.surnames, tuple(User.objects.values_list("name", flat=True)))
    rows = [(own, _standing(own)) for own in facts.known(facts.listed(party, today), reads)]
    rows.sort(key=lambda row: rules.order(row[1], today))  # stable: of equals by site and name
    return Units(now, shown.Firm(firm.name, firm.phone, firm.email), rows)


def portfolio(party: Party, asked: Asked, *, now: datetime) -> shown.Portfolio:
    """The page that `asked` asks for. Ten statements at most, whatever the size."""
    units = units_of(party, now=now)
    fitting = narrowed(units, asked)
    pages = max(1, -(-len(fitting) // SIZE))
    page = min(max(asked.page, 1), pages)
    first = (page - 1) * SIZE
    return shown.Portfolio(
        firm=units.firm,
        title=party.name,
        today=unit_rules.long_day(units.today),
        first_words=tuple(rules.first_words(units.standings, units.today)),
        danger_now=any(unit.now for unit in units.standings),
        units=len(units.rows),
        fitting=len(fitting),
        first=first + 1,
        lines=tuple(line_of(own, standing, units) for own, standing in fitting[first : first + SIZE]),
        pages=tuple((str(at), "" if at == page else str(at)) for at in range(1, pages + 1)) if pages > 1 else (),
    )


def cells(party: Party, asked: Asked, *, now: datetime) -> list[list[Any]]:
    """All lines that `asked` asks for, for a file: what the page shows, with counts as numbers and days as days."""
    units = units_of(party, now=now)
    return [_cells(line_of(own, standing, units)) for own, standing in narrowed(units, asked)]


def narrowed(units: Units, asked: Asked) -> list[tuple[facts.OfUnit, rules.Standing]]:
    """The rows that fit; every word asked for stands in the unit's name or address."""
    words = [sort_key(word) for word in asked.words.split()[:8]]
    found = []
    for own, standing in units.rows:
        said = sort_key(f"{standing.name} {own.unit.site.one_line}")
        choice = {"danger": asked.danger, "dates": asked.dates, "shut_out": asked.shut_out}
        if all(word in said for word in words) and rules.fits(standing, units.today, **choice):  # type: ignore[arg-type]
            found.append((own, standing))
    return found


def scope_at(party: Party, unit: UUID, *, now: datetime) -> Scope | None:
    """What the unit's own page shows; None where `party` does not answer for it today. One statement."""
    found = (
        facts.units_of(party, clock.local_day(now))
        .filter(pk=unit)
        .select_related("site", "inspection_due__after")
        .first()
    )
    return Scope(found.site, [found], one_unit=True, reader=party.pk) if found else None


# --- a unit -----------------------------------------------------------------------------------------------------------


def _standing(own: facts.OfUnit) -> rules.Standing:
    counts = {code: sum(item.code == code for item in own.known.observations) for code in CODES}
    limits = [item.remedy_by for item in own.known.observations if item.remedy_by and item.code in ("C1", "C2", "FI")]
    due = getattr(own.unit, "inspection_due", None)
    return rules.Standing(
        name=name_of(own.unit),
        codes=tuple((code, number) for code, number in counts.items() if number),
        now=sum(item.code == "C1" and not item.safe_at for item in own.known.observations),  # type: ignore[attr-defined]
        unsafe=sum(item.code in ("C1", "C2") and not item.safe_at for item in own.known.observations),  # type: ignore[attr-defined]
        by=min(limits, default=None),
        inspected=own.basis.inspected_on if own.basis else None,
        partly=bool(own.known.limitations) or bool(own.basis and 0 < own.basis.boards_seen < own.basis.boards_here),
        next=due.due_on if due else None,
        if_let=if_let(own.unit),
        vain=facts.shut_out(own),
    )


def name_of(unit: Any) -> str:
    """A unit as it is called among those of other sites: "Flat 3, Sample Court"; a simple site by its own name."""
    return unit.site.name if unit.whole_site else f"{unit.name}, {unit.site.name}"


def line_of(own: facts.OfUnit, standing: rules.Standing, units: Units) -> shown.Line:
    """One unit as the page, its file and the API show it."""
    today = units.today
    return shown.Line(
        unit=own.unit.pk,
        site=own.unit.site_id,
        name=standing.name,
        place=own.unit.site.one_line,
        level=rules.level(standing, today).name.lower().replace("_", "-"),
        marks=_marks(own),
        says=opening(own.known, now=units.now)[0],
        items=_items(own),
        c1=standing.count("C1"),
        c2=standing.count("C2"),
        fi=standing.count("FI"),
        c3=standing.count("C3"),
        uncoded=standing.count(""),
        by=standing.by,
        by_words=day(standing.by),
        by_late=late(standing.by, today),
        next=standing.next,
        next_words=day(standing.next),
        next_late=late(standing.next, today),
        next_basis=basis_in_short(own.unit),
        shut_out=standing.vain,
        getting_in=rules.vain_words(standing),
        tried=len(own.attempts),
        last_tried=clock.local_day(own.attempts[-1].at) if own.attempts else None,
    )


def _items(own: facts.OfUnit) -> str:
    """The open items in words for a cell, the worst first: "C2 no. 1011 No earth at the bathroom light; ..."."""
    rows = in_order(own.known)[0]
    said = [
        f"{o.code or 'not coded'} no. {o.number} {shorten(own.known.reads.words(o.text), 200, placeholder='…')}"
        for o in rows[:MOST_IN_CELL]
    ]
    return "; ".join([*said, *([f"and {len(rows) - MOST_IN_CELL} more"] if len(rows) > MOST_IN_CELL else [])])


def _cells(line: shown.Line) -> list[Any]:
    return [
        line.name, line.place, line.says, line.items, line.c1, line.c2, line.fi, line.uncoded, line.c3, line.by, line.next,
        line.next_basis, line.shut_out, line.last_tried,
    ]  # fmt: skip


def _marks(own: facts.OfUnit) -> SafeString:
    """Open items by code, those made safe apart: "C1 2", "C2 5"."""
    tally: dict[tuple[str, bool], int] = {}
    for item in in_order(own.known)[0]:
        key = (item.code, bool(item.safe_at))
        tally[key] = tally.get(key, 0) + 1
    parts: Sequence[tuple[SafeString, str]] = [(code_mark(code, held), str(n)) for (code, held), n in tally.items()]
    return format_html_join(" ", '<span class="tally">{} {}</span>', parts)
