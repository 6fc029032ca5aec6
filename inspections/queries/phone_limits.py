"""What a phone needs to judge readings without signal, written beside each field as JSON (`inspections/beside.js`).

One source: the limits, factors and sentences come from the rules that judge here (`standards.readings.aside`), for the
circuit, the edition and the firm's facts of the day on which the page was made.
"""

import json
from collections.abc import Iterable
from typing import Any

from inspections.queries.situations import Ground, HowTested, Others, Place
from inspections.standards.quantities import Quantity
from inspections.standards.readings import aside
from jobsite.people.queries import wrong_words
from jobsite.premises.models import Circuit


def judge_words(
    quantity: Quantity, place: Place, common: Ground, *, test: HowTested | None = None, others: Others | None = None
) -> str:
    """The attribute `data-judge` of the field for one reading. No statement.

    `at` is the place, `board` that of a circuit, whose Zdb may be typed on the same page; `others` the latest other
    readings there. Raises ValueError as `limits_for`.
    """
    test = test or HowTested()
    about: dict[str, Any] = aside(quantity, common.situation(place, test), facts=common.facts)
    about |= {"at": place.pk.hex, "multiple": test.multiple.value}
    if isinstance(place, Circuit):
        about["board"] = place.board_id.hex
    if others:
        about["others"] = {one.value: f"{ohms:f}" for one, ohms in others.items()}
    return json.dumps(about, ensure_ascii=False, separators=(",", ":"))


def tool_words(rows: Iterable[Any]) -> str:
    """The attribute `data-tools` of the choice of an instrument: until when each is in check, what was found wrong.

    `rows` from `instruments_in_use`: one statement. A phone may be without signal when a check runs out.
    """
    return json.dumps({str(row.pk): _tool(row) for row in rows}, ensure_ascii=False, separators=(",", ":"))


def _tool(row: Any) -> dict[str, str]:
    days = {"from": row.checked_on, "to": row.check_due}
    return {name: day.isoformat() for name, day in days.items() if day} | {"wrong": wrong_words(row)}
