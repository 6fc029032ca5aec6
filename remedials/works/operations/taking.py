"""What a remedial takes: how long, how many people, of which skill, and which materials, equipment and fixed items."""

import re
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.choices import ItemKind
from remedials.works.models import Item, Remedial
from remedials.works.operations.ground import as_seen, change, locked, note
from remedials.works.operations.making import CHANGEABLE, NOT_YOURS
from remedials.works.verbs import Verb

MOST_MINUTES, MOST_CREW, MOST_ITEMS = 100_000, 20, 200
MOST_EACH, MOST_QUANTITY, MOST_MARKUP = Decimal(1_000_000), Decimal(100_000), Decimal(1000)

UNTEXT = re.compile(r"[\x00-\x1f\x7f-\x9f\ufffe\uffff]")
LINE, WORDS = 200, ("what", "unit", "supplier", "reference")


class Take(NamedTuple):
    """One thing that work takes. `cost_each` in pounds without VAT; `markup_percent` None: the firm's own."""

    what: str
    kind: str = ItemKind.MATERIAL.value
    quantity: Decimal = Decimal(1)
    unit: str = ""
    cost_each: Decimal = Decimal(0)
    markup_percent: Decimal | None = None
    supplier: str = ""
    reference: str = ""


def taken(rows: Sequence[Any]) -> list[Take]:
    """Items, of a remedial or of the price book, as an operation takes them."""
    return [Take(*(getattr(row, name) for name in Take._fields)) for row in rows]


def one_line(text: str) -> str:
    """`text` on one line, blanks made one, without characters that aren't text."""
    return " ".join(UNTEXT.sub(" ", text).split())


def tidy(one: Take) -> Take:
    """`one` as it is kept: its words on one line, without blanks around and without characters that aren't text."""
    what, unit, supplier, reference = (one_line(getattr(one, name)) for name in WORDS)
    return one._replace(what=what, unit=unit, supplier=supplier, reference=reference)


def why_not_take(one: Take) -> tuple[str, str] | None:
    """What is wrong with one thing that work takes: the field and a sentence; None where nothing is."""
    for name, wrong, sentence in (
        ("what", not one.what.strip(), "Say what it is."),
        *((name, len(getattr(one, name)) > LINE, f"This is longer than {LINE} characters.") for name in WORDS),
        ("kind", one.kind not in ItemKind.values, "Choose one of those offered."),
        ("quantity", not 0 < one.quantity <= MOST_QUANTITY, "Write a quantity above 0, at most 100,000."),
        ("quantity", _finer(one.quantity, 3), "Write at most 3 digits after the point."),
        ("cost_each", not 0 <= one.cost_each <= MOST_EACH, "Write a cost from £0 to £1,000,000."),
        ("cost_each", _finer(one.cost_each, 2), "Write whole pence: at most 2 digits after the point."),
    ):
        if wrong:
            return name, sentence
    return _why_not_markup(one)


def _why_not_markup(one: Take) -> tuple[str, str] | None:
    percent = one.markup_percent
    if percent is None:
        return None
    if one.kind == ItemKind.FIXED:
        return "markup_percent", "A fixed item has no mark-up: leave this empty."
    if not 0 <= percent <= MOST_MARKUP or _finer(percent, 2):
        return "markup_percent", "Write a mark-up from 0 to 1000 %, with at most 2 digits after the point."
    return None


def _finer(number: Decimal, places: int) -> bool:
    return number != round(number, places)


@operation
def say_what_it_takes(
    remedial: Remedial,
    *,
    minutes: int | None,
    crew: int,
    skill: str,
    items: Sequence[Take],
    by: Actor,
    now: datetime,
    version: int | None = None,
) -> Remedial:
    """Set the time, the crew, the skill and all items of a remedial, until it is done; `items` takes the place of all before.

    Raises ChangedMeanwhile where another `version` was seen, NotAllowed, and Refused once it is done or for what can't be;
    the field of an item is named "items-<row>-<field>".
    """
    remedial = locked(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    as_seen(remedial, version)
    if remedial.stage not in CHANGEABLE:
        raise Refused(f"Remedial {remedial.number} is {remedial.get_stage_display()}: it is not changed any more.")
    must_be_possible(minutes, crew, items)
    items = [tidy(one) for one in items]
    wanted = {"minutes": minutes, "crew": crew, "skill": one_line(skill)}
    changed = {name: value for name, value in wanted.items() if getattr(remedial, name) != value}
    others = taken(list(remedial.items.all())) != items
    if not changed and not others:
        return remedial
    change(remedial, **changed)
    if others:
        _replace(remedial, items)
    _note(remedial, changed, items if others else None, by=by, now=now)
    return remedial


def takes_already(remedial: Remedial, *, minutes: int | None, crew: int, skill: str, items: Sequence[Take]) -> bool:
    """Whether a remedial takes just that: the same was sent twice."""
    same = (remedial.minutes, remedial.crew, remedial.skill) == (minutes, crew, one_line(skill))
    return same and taken(list(remedial.items.all())) == [tidy(one) for one in items]


def must_be_possible(minutes: int | None, crew: int, items: Sequence[Take]) -> None:
    """Raises Refused, with the field, for a time, a crew or an item that can't be."""
    if minutes is not None and not 1 <= minutes <= MOST_MINUTES:
        raise Refused("Write the minutes as a whole number from 1 to 100,000.", field="minutes")
    if not 1 <= crew <= MOST_CREW:
        raise Refused("Write how many people it takes, from 1 to 20.", field="crew")
    if len(items) > MOST_ITEMS:
        raise Refused(f"At most {MOST_ITEMS} items for one remedial: put some of them together.")
    for number, one in enumerate(items):
        if wrong := why_not_take(one):
            raise Refused(wrong[1], field=f"items-{number}-{wrong[0]}")


def _replace(remedial: Remedial, items: Sequence[Take]) -> None:
    remedial.items.all().delete()
    Item.objects.bulk_create(
        Item(remedial=remedial, position=position, **one._asdict()) for position, one in enumerate(items)
    )


def _note(
    remedial: Remedial, changed: dict[str, Any], items: Sequence[Take] | None, *, by: Actor, now: datetime
) -> None:
    facts: dict[str, Any] = {"changed": sorted([*changed, *([] if items is None else ["items"])])}
    facts |= {name: value for name, value in changed.items() if not isinstance(value, str)}
    words = {name: value for name, value in changed.items() if isinstance(value, str)}
    if items is not None:
        facts["items"] = [fact_of(one) for one in items]
        words["items"] = "; ".join(one.what for one in items)
    note(Verb.EDITED, remedial, by=by, now=now, facts=facts, words=words)


def fact_of(one: Take) -> dict[str, str]:
    """An item as the ledger keeps it: how much of which kind. What it is stands in words, what it costs where it is priced."""
    return {"kind": str(one.kind), "quantity": plain_number(one.quantity)}


def plain_number(number: Decimal) -> str:
    """A number without the noughts that say nothing: "1.5", "30", "100"."""
    return f"{number.normalize():f}"
