"""Lines of quotes as sums, by hand and by chance."""

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from remedials.quotes.rules.totals import Sum
from remedials.quotes.rules.vat import vat_of

PERCENTS = [Decimal(20), Decimal("20.00"), Decimal(5), Decimal(0), Decimal("17.5")]
KEYS = "abcdefg"


def line(key: str, price: str = "100.00", percent: int | Decimal = 20, **more: Any) -> Sum:
    """A line of work with the VAT that it bears."""
    net, rate = Decimal(price), Decimal(percent)
    return Sum(key, more.pop("kind", "work"), net, rate, vat_of(net, rate), **more)


@st.composite
def lines_by_chance(draw: st.DrawFn, most: int = 7) -> list[Sum]:
    """Lines in any order, with call-outs, either-ors and needs, also such as nobody can fulfil."""
    keys = list(KEYS[: draw(st.integers(0, most))])
    return [
        line(
            key,
            f"{draw(st.decimals(0, 1_000_000, places=2))}",
            draw(st.sampled_from(PERCENTS)),
            kind=draw(st.sampled_from(["work", "work", "work", "call-out"])),
            certainty=draw(st.sampled_from(["fixed", "fixed", "provisional", "capped"])),
            optional=draw(st.booleans()),
            either=draw(st.sampled_from(["", "", "x", "y"])),
            needs=tuple(draw(st.sets(st.sampled_from(keys), max_size=2)) - {key}),
        )
        for key in keys
    ]


def keys_by_chance(sums: list[Sum]) -> st.SearchStrategy[set[str]]:
    return st.sets(st.sampled_from([row.key for row in sums])) if sums else st.just(set())
