"""Sums of money: exact decimals in pounds, rounded in one place."""

from decimal import ROUND_HALF_UP, Decimal

from jobsite.words import money

PENNY = Decimal("0.01")
# The most that is believed without asking: above it lies a slip of the pen. Our own choice.
MOST = Decimal("1000000.00")
MOST_OFFER = Decimal("10000000.00")


def penny(amount: Decimal) -> Decimal:
    """`amount` in pounds to the nearest penny, half a penny up. Raises InvalidOperation for what is no number."""
    return amount.quantize(PENNY, ROUND_HALF_UP)


def in_bounds(amount: Decimal, *, most: Decimal = MOST, what: str = "The sum") -> str:
    """What is wrong with a sum in pounds that somebody entered, as a sentence for its field; "" where nothing is."""
    if not amount.is_finite():
        return "Enter a sum in pounds, such as 120.50."
    if amount < 0:
        return f"{what} cannot be less than nothing."
    if amount > most:
        return f"{what} is more than {money(most)}: check the figures."
    if amount != amount.quantize(PENNY):
        return f"{what} has parts of a penny: enter pounds and pence, such as 120.50."
    return ""
