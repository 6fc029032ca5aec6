"""What the person who writes a quote may look up about VAT and consumers, beside the fields where it matters."""

from datetime import date
from typing import Any

from inspections.queries.facts import facts_on
from inspections.standards import consumers, vat


def vat_help(day: date) -> dict[str, Any]:
    """As it is on `day`: energy-saving materials, the conditions of the reverse charge, what a consumer is given.

    One statement.
    """
    facts = facts_on(day)
    rows: tuple[Any, ...] = consumers.ROWS
    return {
        "conditions": vat.energy_conditions(facts),
        "materials": vat.energy_materials(day, facts),
        "not_listed": vat.NOT_LISTED,
        "tax_point": vat.TAX_POINT,
        "reverse": [
            {"words": one.words, "note": "" if one.confidence.sure else f"{one.confidence.value}: check it"}
            for one in vat.REVERSE_CONDITIONS
        ],
        "reverse_source": vat.REVERSE_SOURCE,
        "caution": vat.CAUTION,
        "consumers": [
            {"title": row.title, "shown": row.shown, "source": row.source, "note": row.confidence.note}
            for row in map(facts.of, rows)
        ],
        "consumers_caution": consumers.CAUTION,
    }
