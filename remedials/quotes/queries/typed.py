"""What a draft comes to while somebody types: with the values of one line as they stand in its form."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from inspections.queries.facts import facts_on
from jobsite import clock
from jobsite.premises.choices import Nation
from remedials.quotes.choices import LineKind
from remedials.quotes.models import Line
from remedials.quotes.queries.sums import comes_to
from remedials.quotes.rules.money import in_bounds
from remedials.quotes.rules.vat import rate_on, vat_of

TYPED = ("price", "cost", "treatment", "certainty", "optional", "either")
MOST_LETTERS = 60


def other_lines(line: Line) -> list[tuple[str, str]]:
    """The other lines of a draft that `line` may need, as choices: key, number and words. One statement."""
    if line.kind == LineKind.CALL_OUT:
        return []
    rows = line.offer.lines.values_list("key", "kind", "words")
    return [
        (str(key), f"{number}: {words[:MOST_LETTERS]}")
        for number, (key, kind, words) in enumerate(rows, start=1)
        if key != line.key and kind == LineKind.WORK
    ]


def totals_with(line: Line, values: Mapping[str, Any], errors: Mapping[str, Any], *, now: datetime) -> dict[str, Any]:
    """What all comes to with `values` for `line`; what has `errors` counts as it was kept, and that is said."""
    offer, today = line.offer, clock.local_day(now)
    lines = list(offer.lines.all())
    typed = {name: values[name] for name in TYPED if name in values and values[name] is not None}
    typed = {n: v for n, v in typed.items() if n not in ("price", "cost") or not in_bounds(v)}
    for one in lines:
        if one.pk == line.pk:
            for name, value in typed.items():
                setattr(one, name, value.upper() if name == "either" else value)
            nation = line.site.nation if line.site else Nation.ENGLAND
            if offer.vat_registered:
                one.rate = rate_on(one.treatment, today, nation=nation, facts=facts_on(today)).percent
            one.vat = vat_of(one.price, one.rate)
    wrong = "Not all that is typed can be counted: what is wrong counts as it was kept." if errors else ""
    return {"totals": comes_to(lines, reverse_charge=offer.reverse_charge), "not_counted": wrong}
