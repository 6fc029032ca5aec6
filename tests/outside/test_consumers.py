"""What consumers' contracts regulations give, against what was read of them.

SI 2013/3134 (legislation.gov.uk; regulations 4, 10, 27 and 36 read there or in reproduction); guidance of
nibusinessinfo.co.uk with Northern Ireland's Trading Standards (a secondary page).
"""

import pytest

from inspections.standards import consumers
from inspections.standards.confidence import Confidence
from inspections.standards.facts import Correction, Facts
from remedials.quotes.rules.wording import Text, worded

READ, SECONDARY = Confidence.READ, Confidence.SECONDARY


@pytest.mark.parametrize(
    ("fact", "shown", "confidence"),
    [
        (consumers.CANCEL_DAYS, "14 days", READ),
        (consumers.LONGER_MONTHS, "12 months", SECONDARY),
        (consumers.NO_RIGHT_TO, "42 GBP", SECONDARY),
        (consumers.LIGHT_TO, "170 GBP", SECONDARY),
    ],
)
def test_days_and_sums(fact, shown, confidence) -> None:
    assert (fact.shown, fact.confidence) == (shown, confidence)


def test_the_express_request_says_what_regulation_36_asks_for() -> None:
    """To begin within the period on request only; a part to pay if cancelled then; the right lost once fully done."""
    words = worded(Text.BEGIN).words
    for told in ("I ask you expressly to begin", "before the 14 days", "I pay for what was done", "fully done"):
        assert told in words


def test_the_right_to_cancel_says_its_days_and_its_consequences() -> None:
    words = worded(Text.CANCELLATION, firm="Made-up Electrics, 1 Sample Street").words
    for told in (
        "within 14 days",
        "after the day of the contract",
        "in proportion",
        "Made-up Electrics, 1 Sample Street",
    ):
        assert told in words


def test_corrected_days_reach_the_wording() -> None:
    facts = Facts({"consumer.cancel-days": Correction(21, "the regulations as amended")})
    assert "within 21 days" in worded(Text.CANCELLATION, facts=facts).words
