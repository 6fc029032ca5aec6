"""How a document calls the place that it is about, and the firm that made it."""

from inspections.models import Observation
from inspections.queries import shown
from jobsite.firm.models import Firm
from remedials.status import facts


def place_of(scope: facts.Scope) -> str:
    """The site's name, with the unit's where the document is about that alone."""
    unit = scope.units[0]
    return f"{unit.name}, {scope.site.name}" if scope.one_unit and not unit.whole_site else scope.site.name


def firm_lines(firm: Firm) -> list[str]:
    """The firm as it stands at the head of a document."""
    return [line for line in (firm.name, *firm.address.splitlines(), firm.phone, firm.email) if line]


def where(observation: Observation, scope: facts.Scope) -> str:
    """Where an item is, with its unit where the document is about several; "" where no place is noted."""
    found = shown.where(observation, with_unit=len(scope.units) > 1)
    return "" if found == shown.NO_PLACE else found
