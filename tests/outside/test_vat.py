"""Rates of VAT, the relief for energy-saving materials and the domestic reverse charge against what was read of them.

VAT Act 1994, Schedule 8 Group 23 as amended by SI 2024/24, and Schedule 7A Group 2 (legislation.gov.uk); VAT Notice 708/6
(gov.uk); HMRC's manuals VENSAV3010 and 3050, VATREVCON33200, 37100 and 37200 (gov.uk). The first days of the relief and
the standard rate are remembered: `tests/remedials/test_quote_vat_remembered.py`.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inspections.standards import vat
from inspections.standards.confidence import Confidence
from inspections.standards.registry import FACTS
from remedials.quotes.rules.vat import rate_on, reverse_charge_missing
from remedials.quotes.rules.wording import Text, worded

DAY = timedelta(days=1)
NATIONS = ["england", "wales", "scotland", "northern-ireland", ""]

# Group 23, items of the note on energy-saving materials; those of 1 Feb 2024 came with SI 2024/24, article 3.
FROM_THE_START = """insulation draught-stripping heating-controls hot-water-controls solar-panels wind-turbines water-turbines
ground-source-heat-pumps air-source-heat-pumps micro-chp wood-fuelled-boilers"""
FROM_FEBRUARY_2024 = "water-source-heat-pumps storage-batteries smart-diverters"


@pytest.mark.parametrize("nation", NATIONS)
def test_energy_saving_materials_bear_nothing_until_31_march_2027_then_5_percent(nation) -> None:
    last = date(2027, 3, 31)
    until, after = (rate_on("energy-saving", on, nation=nation) for on in (last, last + DAY))
    assert (until.percent, until.ends_on, until.later, until.confidence) == (0, last, 5, Confidence.READ)
    assert (after.percent, after.ends_on, after.later, after.confidence) == (5, None, None, Confidence.READ)


def test_the_reduced_rate_is_5_percent() -> None:
    rate = rate_on("reduced", date(2026, 12, 1), nation="england")
    assert (rate.percent, rate.confidence) == (Decimal(5), Confidence.READ)


@pytest.mark.parametrize(
    ("on", "keys"),
    [
        (date(2024, 1, 31), FROM_THE_START.split()),
        (date(2024, 2, 1), [*FROM_THE_START.split(), *FROM_FEBRUARY_2024.split()]),
    ],
)
def test_the_closed_list_of_materials(on, keys) -> None:
    assert {material.key for material in vat.energy_materials(on)} == set(keys)


def test_a_charitys_building_counts_from_february_2024() -> None:
    assert vat.CHARITY_FROM.value == date(2024, 2, 1)


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("storage-batteries", "Solely to store electricity supplied to that building or generated there."),
        ("smart-diverters", "Sends electricity generated there to one or more appliances by itself."),
        ("solar-panels", "With the cabling, control panel and inverter."),
    ],
)
def test_what_must_hold_besides(key, words) -> None:
    assert {one.key: one.condition for one in vat.energy_materials(date(2026, 12, 1))}[key] == words


def test_only_what_was_read_says_so() -> None:
    read = {key for key, fact in FACTS.items() if key.startswith("vat.") and fact.confidence is Confidence.READ}
    materials = {f"vat.energy.material.{key}" for key in f"{FROM_THE_START} {FROM_FEBRUARY_2024}".split()}
    assert read == materials | {
        "vat.reduced",
        "vat.energy.rate",
        "vat.energy.rate-after",
        "vat.energy.until",
        "vat.energy.charity-from",
        "vat.reverse.disregard",
    }


# --- the domestic reverse charge --------------------------------------------------------------------------------------

ALL_HOLD = {
    "vat_registered": True,
    "consumer": False,
    "customer_vat_number": "GB 123 4567 82",
    "cis_reportable": True,
    "end_user": False,
    "rates": [Decimal(20)],
}


def test_it_began_on_1_march_2021() -> None:
    # Tax Adviser magazine, 7 Jan 2021: a secondary page.
    assert (vat.REVERSE_FROM.value, vat.REVERSE_FROM.confidence) == (date(2021, 3, 1), Confidence.SECONDARY)


@pytest.mark.parametrize("rates", [[Decimal(20)], [Decimal(5)], [Decimal(20), Decimal(0)]])
def test_it_applies_where_all_conditions_hold(rates) -> None:
    assert reverse_charge_missing(**ALL_HOLD | {"rates": rates}) == []


# Tax Adviser magazine, 7 Jan 2021: each of these alone takes it away. VATREVCON: never with a private consumer.
@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("vat_registered", False),
        ("consumer", True),
        ("customer_vat_number", ""),
        ("cis_reportable", False),
        ("cis_reportable", None),
        ("end_user", True),
        ("end_user", None),
        ("rates", [Decimal(0)]),
    ],
)
def test_it_falls_with_any_condition(field, value) -> None:
    (missing,) = reverse_charge_missing(**ALL_HOLD | {field: value})
    assert missing[0] == ("reverse_charge" if field == "rates" else field)
    assert missing[1].endswith(".")


def test_all_six_conditions_stand_in_the_table() -> None:
    keys = [condition.key for condition in vat.REVERSE_CONDITIONS]
    assert keys == ["registered", "cis", "service", "rate", "employment", "end-user"]


def test_the_default_wording_is_one_that_the_manual_accepts() -> None:
    # VATREVCON37200: "reverse charge: VAT Act 1994 Section 55A applies", and that the customer accounts for the VAT.
    wording = worded(Text.REVERSE_CHARGE)
    assert wording.words.casefold().startswith("reverse charge: vat act 1994 section 55a applies.")
    assert "customer accounts to HMRC for the VAT" in wording.words
    assert (wording.default, wording.confidence) == (True, Confidence.READ)


def test_the_disregard_is_5_percent() -> None:
    assert vat.REVERSE_DISREGARD.value == Decimal(5)
