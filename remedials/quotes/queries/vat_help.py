"""What the person who writes a quote may look up about VAT, beside the fields where it matters."""

from datetime import date
from typing import Any

from inspections.queries.facts import facts_on
from inspections.standards import vat


def vat_help(day: date) -> dict[str, Any]:
    """The list of energy-saving materials as it is on `day`, and the conditions of the reverse charge. One statement."""
    facts = facts_on(day)
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
    }
