"""What a quote of 200 lines costs: editing one of them, the sums as one types, its document; asked for at most 150 ms, 400 ms.

The pages of quotes stand among those of `measuring`.
"""

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any

from django.test import Client
from django.urls import reverse

from remedials.desk.filling import Filling
from remedials.desk.filling_quotes import TOKEN
from remedials.quotes.forms.building import initial_of
from remedials.quotes.models import Line, Offer
from remedials.quotes.queries.document import quote_document
from remedials.quotes.queries.said import offer_as_said

ROUNDS = 20


@dataclass
class Figure:
    """Milliseconds for one thing done to the quote of 200 lines: median and 95th percentile, and what is asked for."""

    what: str
    median_ms: float
    p95_ms: float
    at_most_ms: int


def pages(filling: Filling) -> dict[str, str]:
    """The pages of quotes by name, for the table of pages."""
    quotes = filling.quotes
    return {
        "quotes list": reverse("quotes:quotes"),
        "all quotes, largest first": reverse("quotes:quotes") + "?state=&sort=value",
        "figures of quotes": reverse("quotes:figures"),
        "accepted, for accounts": reverse("quotes:accepted"),
        "building 200 lines": reverse("quotes:build", args=[quotes.long.quote_id]),
        "a quote of 200 lines": reverse("quotes:quote", args=[quotes.long_sent.quote_id]),
        "customer's page, 200 lines": reverse("quotes:offered", args=[TOKEN]),
    }


def figures(client: Client, filling: Filling) -> list[Figure]:
    """Each act ROUNDS times; each edit sets another price, so that something is saved every time."""
    offer = Offer.objects.get(pk=filling.quotes.long.pk)
    line = offer.lines.order_by("position")[100]
    said = offer_as_said(offer, now=filling.now)

    def edit(round_: int) -> None:
        _post(client, reverse("quotes:line_edit", args=[line.pk]), line, price=Decimal(100 + round_))

    def sums(round_: int) -> None:
        _post(client, reverse("quotes:sums", args=[line.pk]), line, price=Decimal(100 + round_))

    def document(_: int) -> None:
        quote_document(said, heads=[], now=filling.now)

    return [
        _measured("editing one of 200 lines", edit, 150),
        _measured("sums as one types", sums, 150),
        _measured("the document of 200 lines", document, 400),
    ]


def _post(client: Client, where: str, line: Line, *, price: Decimal) -> None:
    offer = Offer.objects.get(pk=line.offer_id)
    fresh = Line.objects.select_related("offer").get(pk=line.pk)
    values: dict[str, Any] = {**initial_of(fresh), "price": price, "version": offer.version}
    data = {name: value for name, value in values.items() if value not in (None, False, [])}
    answer = client.post(where, data, headers={"HX-Request": "true"})
    if answer.status_code != 200:
        sys.exit(f"{where} answered {answer.status_code}")


def _measured(what: str, do: Callable[[int], None], at_most: int) -> Figure:
    do(0)
    costs = []
    for round_ in range(1, ROUNDS + 1):
        start = time.perf_counter()
        do(round_)
        costs.append((time.perf_counter() - start) * 1000)
    return Figure(what, round(statistics.median(costs), 1), round(statistics.quantiles(costs, n=20)[-1], 1), at_most)


def table(found: list[Figure]) -> str:
    """The figures for reading."""
    head = f"{'a quote of 200 lines':<30}{'median ms':>11}{'95 % ms':>9}{'at most':>9}"
    return "\n".join([head, *(f"{f.what:<30}{f.median_ms:>11}{f.p95_ms:>9}{f.at_most_ms:>9}" for f in found)])


def as_facts(found: list[Figure]) -> list[dict[str, Any]]:
    """The figures for bench.json."""
    return [asdict(figure) for figure in found]
