"""What the law gives a consumer who accepts a quote: days and sums, each with its source.

Source: the Consumer Contracts (Information, Cancellation and Additional Charges) Regulations 2013, SI 2013/3134
(legislation.gov.uk, regulations 4, 10, 27 and 36 read there or in reproduction); official guidance of nibusinessinfo.co.uk
with Northern Ireland's Trading Standards. Whether a contract made through a link after a visit is one that may be
cancelled can be argued either way: the firm settles that, and its wording, with its adviser.
"""

from decimal import Decimal

from inspections.standards.confidence import Confidence
from inspections.standards.facts import Fact

CAUTION = "Check the current law on consumers' contracts, or ask the firm's adviser."

_REGULATIONS = "SI 2013/3134 (legislation.gov.uk)"
_GUIDANCE = "Guidance of nibusinessinfo.co.uk with Northern Ireland's Trading Standards, on SI 2013/3134"

CANCEL_DAYS = Fact(
    key="consumer.cancel-days",
    title="Consumers: days to cancel, after the day of the contract",
    value=14,
    unit="days",
    source=_REGULATIONS,
    confidence=Confidence.READ,
    least=1,
    most=366,
)
LONGER_MONTHS = Fact(
    key="consumer.not-informed-months",
    title="Consumers: months that the right to cancel may last longer where it wasn't told",
    value=12,
    unit="months",
    source="An article for landlords and agents on SI 2013/3134",
    confidence=Confidence.SECONDARY,
    least=0,
    most=120,
)


def _pounds(key: str, title: str, value: int) -> Fact[Decimal]:
    return Fact(
        key=f"consumer.{key}",
        title=title,
        value=Decimal(value),
        unit="GBP",
        source=_GUIDANCE,
        confidence=Confidence.SECONDARY,
        least=Decimal(0),
        most=Decimal(100_000),
    )


NO_RIGHT_TO = _pounds("no-right-to", "Consumers: no right to cancel a contract up to", 42)
LIGHT_TO = _pounds("light-to", "Consumers: less need be told for a repair asked for at once, up to", 170)

ROWS: tuple[Fact[int] | Fact[Decimal], ...] = (CANCEL_DAYS, LONGER_MONTHS, NO_RIGHT_TO, LIGHT_TO)
