"""What each edition of the wiring standard selects: the rows that a report of it is judged by."""

from dataclasses import dataclass
from decimal import Decimal

from inspections.standards import insulation
from inspections.standards.assessment import FI_ALONE
from inspections.standards.editions import Edition, cmin_row
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.rcd_times import single_test


@dataclass(frozen=True, slots=True)
class EditionRules:
    """Whether an FI alone counts, Cmin, the lowest insulation resistances, and whether one RCD test suffices."""

    fi_alone: Fact[bool]
    cmin: Fact[Decimal]
    insulation: tuple[Fact[Decimal], ...]
    rcd_single_test: Fact[bool]

    @property
    def rows(self) -> tuple[Fact[bool] | Fact[Decimal], ...]:
        """All of them, for a page that lists them."""
        return (self.fi_alone, self.cmin, *self.insulation, self.rcd_single_test)


def rules_of(edition: Edition, facts: Facts = SHIPPED) -> EditionRules:
    """The rows that the edition selects, with the firm's corrections over them."""
    return EditionRules(
        facts.of(FI_ALONE[edition]),
        facts.of(cmin_row(edition)),
        tuple(facts.of(row) for row in insulation.rows_of(edition)),
        facts.of(single_test(edition)),
    )
