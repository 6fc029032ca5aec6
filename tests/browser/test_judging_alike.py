"""A phone judges a reading as the server does: result, words beside the field, question, refusal, whole sentence.

Both rest on the same limits and sentences, which Python writes beside the field; what is tested here is the laying beside,
in a real Chromium, over thousands of readings. That the test can fail is shown by changing either side.
"""

import json
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest
from django.templatetags.static import static
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from inspections.standards import continuity, verdicts
from inspections.standards.quantities import Quantity
from tests.browser.alike import Case, by_server, cases, seeded

JUDGE = """async (asked) => {
  const [address, abouts, rows] = JSON.parse(asked);
  const { judge } = await import(address);
  return JSON.stringify(rows.map(([about, typed, how]) => {
    const { result, words, sentence } = judge(abouts[about], typed, how);
    return { result, words, sentence };
  }));
}"""
SOURCE = Path(__file__).parents[2] / "inspections/static/inspections/judging.js"
NAME = "inspections/judging.js"


@pytest.fixture
def phone(page_for):
    """A page of the service that can load the module which judges."""
    page = page_for(None)
    page.goto(reverse("account_login"))
    return page


def by_phone(page, found: list[Case]) -> list[dict[str, str]]:
    """What the phone says of each, asked in one go."""
    abouts, places, rows = [], {}, []
    for case in found:
        key = (case.quantity, id(case.situation), id(case.facts))
        if key not in places:
            places[key] = len(abouts)
            abouts.append(case.about())
        rows.append([places[key], case.typed, case.how()])
    return json.loads(page.evaluate(JUDGE, json.dumps([static(NAME), abouts, rows])))


def differing(page, found: list[Case]) -> list[tuple]:
    """The readings of which phone and server say something else."""
    told = by_phone(page, found)
    return [
        (case.quantity.value, case.typed, case.how(), here, there)
        for case, here, there in zip(found, told, map(by_server, found), strict=True)
        if here != there
    ]


def test_every_quantity_in_its_situations(phone) -> None:
    found = seeded()
    told = by_phone(phone, found)
    wrong = [
        (case, here, there)
        for case, here, there in zip(found, told, map(by_server, found), strict=True)
        if here != there
    ]
    assert wrong[:3] == []
    results = Counter(one["result"] for one in told)
    assert set(results) == {"pass", "warning", "fail", "noted", "doubt", "enter", "unreadable"}
    assert min(results.values()) > 100
    assert {case.quantity for case in found} == set(Quantity)


@settings(
    max_examples=12, phases=[Phase.generate], deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)
@given(found=st.lists(cases(), min_size=150, max_size=200))
def test_any_reading_with_any_limit_entered(phone, found) -> None:
    assert differing(phone, found)[:3] == []


CHANGES = [
    ("compare(read, most) <= 0", "compare(read, most) < 0"),
    ("&& first(value) < 7", "&& first(value) < 6"),
    ('places(ohms, 2, "half up"))} Ω`', 'places(ohms, 2, "down"))} Ω`'),
    ("is very low here", "is low here"),
    ('"not tripped", ', ""),
]


@pytest.mark.parametrize(("old", "new"), CHANGES)
def test_a_rule_changed_on_the_phone_alone_is_found(phone, old, new) -> None:
    text = SOURCE.read_text()
    assert old in text
    phone.route(
        "**/judging.js*", lambda route: route.fulfill(body=text.replace(old, new), content_type="text/javascript")
    )
    assert differing(phone, seeded())


def test_a_rule_changed_on_the_server_alone_is_found(phone, monkeypatch) -> None:
    found = seeded()
    assert differing(phone, found) == []
    monkeypatch.setattr(verdicts, "sensible", lambda value: value.is_finite() and value > 0)
    monkeypatch.setattr(
        continuity, "near", lambda number, expected, tolerance=Decimal("0.3"): number <= expected + tolerance
    )
    assert differing(phone, found)
