"""Value added tax on electrical work: rates, energy-saving materials, the domestic reverse charge.

Sources: VAT Act 1994, Schedule 8 Group 23 and Schedule 7A Group 2, as amended by SI 2024/24 (legislation.gov.uk); VAT
Notice 708/6 (gov.uk) and pages that reproduce it; HMRC's manuals VENSAV3010 and 3050, VATREVCON33200, 37100 and 37200.
Whatever is not marked as read in a source must be looked up before somebody relies on it; a firm asks its own adviser.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inspections.standards.confidence import Confidence
from inspections.standards.counting import day_words
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.places import Nation

CAUTION = "Check the current rules on VAT, or ask the firm's adviser."

_GROUP_23 = "VAT Act 1994, Schedule 8 Group 23, as amended by SI 2024/24 (legislation.gov.uk)"
_NOTICE = "VAT Notice 708/6 (gov.uk), in part on a page that reproduces it"


def _percent(key: str, title: str, value: int, source: str, confidence: Confidence) -> Fact[Decimal]:
    return Fact(
        key=f"vat.{key}",
        title=title,
        value=Decimal(value),
        unit="%",
        source=source,
        confidence=confidence,
        least=Decimal(0),
        most=Decimal(100),
    )


def _day(key: str, title: str, value: date, source: str, confidence: Confidence) -> Fact[date]:
    return Fact(
        key=f"vat.{key}", title=title, value=value, source=source, confidence=confidence, least=date.min, most=date.max
    )


STANDARD = _percent(
    "standard",
    "VAT, standard rate",
    20,
    "Common knowledge; VAT Notice 700, the rate itself not read",
    Confidence.MEMORY,
)
REDUCED = _percent("reduced", "VAT, reduced rate", 5, "VAT Notice 708/6 (gov.uk)", Confidence.READ)
ENERGY = _percent("energy.rate", "Energy-saving materials, rate while the relief holds", 0, _GROUP_23, Confidence.READ)
ENERGY_AFTER = _percent(
    "energy.rate-after",
    "Energy-saving materials, rate after the relief",
    5,
    "VAT Act 1994, Schedule 7A Group 2, heading “from 1 April 2027” (legislation.gov.uk)",
    Confidence.READ,
)

_BEGAN = "VAT Act 1994, Schedule 8 Group 23; the first day was not read"
ENERGY_FROM_GB = _day(
    "energy.from-gb",
    "Energy-saving materials, first day of the relief in Great Britain",
    date(2022, 4, 1),
    _BEGAN,
    Confidence.MEMORY,
)
ENERGY_FROM_NI = _day(
    "energy.from-ni",
    "Energy-saving materials, first day of the relief in Northern Ireland",
    date(2023, 5, 1),
    _BEGAN,
    Confidence.MEMORY,
)
ENERGY_UNTIL = _day(
    "energy.until", "Energy-saving materials, last day of the relief", date(2027, 3, 31), _GROUP_23, Confidence.READ
)
CHARITY_FROM = _day(
    "energy.charity-from",
    "Energy-saving materials, from this day also in a building solely for a relevant charitable purpose",
    date(2024, 2, 1),
    _GROUP_23,
    Confidence.READ,
)
REVERSE_FROM = _day(
    "reverse.from",
    "Domestic reverse charge for construction, first day",
    date(2021, 3, 1),
    "Tax Adviser magazine of 7 Jan 2021, reporting the rules",
    Confidence.SECONDARY,
)
REVERSE_DISREGARD = _percent(
    "reverse.disregard",
    "Reverse charge: a customer that supplies on less than this share may still say it is the end user",
    5,
    "HMRC's manual VATREVCON (gov.uk), one page of it on a mirror",
    Confidence.READ,
)

RATES = (STANDARD, REDUCED, ENERGY, ENERGY_AFTER)
ENERGY_DATES = (ENERGY_FROM_GB, ENERGY_FROM_NI, ENERGY_UNTIL, CHARITY_FROM)

# The closed list of energy-saving materials; the day is that from which each counts, "always": since the relief began.
_STORAGE_DAY = date(2024, 2, 1)
_MATERIALS = (
    ("insulation", "insulation", date.min, ""),
    ("draught-stripping", "draught stripping", date.min, ""),
    ("heating-controls", "central heating controls, with thermostatic radiator valves", date.min, ""),
    ("hot-water-controls", "hot water system controls", date.min, ""),
    ("solar-panels", "solar panels", date.min, "With the cabling, control panel and inverter."),
    ("wind-turbines", "wind turbines", date.min, ""),
    ("water-turbines", "water turbines", date.min, ""),
    ("ground-source-heat-pumps", "ground source heat pumps", date.min, ""),
    ("air-source-heat-pumps", "air source heat pumps", date.min, ""),
    ("water-source-heat-pumps", "water source heat pumps", _STORAGE_DAY, ""),
    ("micro-chp", "micro combined heat and power units", date.min, ""),
    ("wood-fuelled-boilers", "boilers fuelled by wood", date.min, ""),
    (
        "storage-batteries",
        "electrical storage batteries",
        _STORAGE_DAY,
        "Solely to store electricity supplied to that building or generated there.",
    ),
    (
        "smart-diverters",
        "smart diverters",
        _STORAGE_DAY,
        "Sends electricity generated there to one or more appliances by itself.",
    ),
)
MATERIALS: dict[str, Fact[date]] = {
    key: _day(f"energy.material.{key}", f"Energy-saving materials: {words}, from", since, _GROUP_23, Confidence.READ)
    for key, words, since, _ in _MATERIALS
}

# What the list leaves out. Inferred from its being closed, so it says so itself.
NOT_LISTED = (
    "Not on the list, so at the standard rate (inferred from the list being closed): consumer units, rewiring, "
    "socket-outlets, charging points for vehicles, remedial works in general."
)
# Of this nothing was read, so it says so itself.
TAX_POINT = (
    "The rate follows the tax point (when the work is done, invoiced or paid for), not the day of the quote; this is "
    "from memory: check it."
)

ROWS: tuple[Fact[Decimal] | Fact[date], ...] = (
    *RATES,
    *ENERGY_DATES,
    *MATERIALS.values(),
    REVERSE_FROM,
    REVERSE_DISREGARD,
)


@dataclass(frozen=True, slots=True)
class Material:
    """An energy-saving material; `condition` is what must hold for it besides, "" where nothing was found."""

    key: str
    words: str
    condition: str


def energy_materials(on: date, facts: Facts = SHIPPED) -> tuple[Material, ...]:
    """What counts as an energy-saving material on a day, in the order of the list."""
    return tuple(
        Material(key, words, condition)
        for key, words, _, condition in _MATERIALS
        if facts.of(MATERIALS[key]).value <= on
    )


def energy_conditions(facts: Facts = SHIPPED) -> tuple[str, ...]:
    """What must hold for the relief besides the material being on the list, a sentence each."""
    charity, until = day_words(facts.of(CHARITY_FROM).value), day_words(facts.of(ENERGY_UNTIL).value)
    return (
        f"The work is done by {until}.",
        f"It is in a home, or from {charity} in a building solely for a relevant charitable purpose.",
        "The firm that supplies it installs it: goods sold alone bear the standard rate.",
    )


def relief_from(nation: str, facts: Facts = SHIPPED) -> date:
    """First day of the relief for energy-saving materials in a nation; the later of both where none is known."""
    great_britain, northern_ireland = facts.of(ENERGY_FROM_GB).value, facts.of(ENERGY_FROM_NI).value
    if not nation:
        return max(great_britain, northern_ireland)
    return northern_ireland if nation == Nation.NORTHERN_IRELAND else great_britain


@dataclass(frozen=True, slots=True)
class Condition:
    """One of the conditions that must all hold for the domestic reverse charge."""

    key: str
    words: str
    confidence: Confidence


REVERSE_SOURCE = "Tax Adviser magazine of 7 Jan 2021; HMRC's manual VATREVCON37100 and 37200 (gov.uk)"
REVERSE_CONDITIONS = (
    Condition("registered", "The firm and the customer are both registered for VAT in the UK.", Confidence.SECONDARY),
    Condition(
        "cis", "The payment is reportable under the Construction Industry Scheme (CIS).", Confidence.SECONDARY
    ),
    Condition(
        "service", "The service is one that the scheme lists: installing electrical systems is.", Confidence.MEMORY
    ),
    Condition("rate", "The work bears the standard or the reduced rate; zero-rated work is left out.", Confidence.SECONDARY),
    Condition("employment", "The firm doesn't supply staff as an employment business.", Confidence.SECONDARY),
    Condition(
        "end-user",
        "The customer hasn't said in writing that it is an end user or an intermediary supplier.",
        Confidence.SECONDARY,
    ),
)  # fmt: skip
