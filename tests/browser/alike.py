"""Readings for the test that a phone judges as the server does: what is typed, in which situation, how it was tested."""

from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import product
from typing import Any

from hypothesis import strategies as st

from inspections.forms.readings import LIMIT
from inspections.operations.reading import Taken, Unlikely, judged_in
from inspections.queries.judging import verdict_words
from inspections.queries.situations import HowTested
from inspections.standards.devices import CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Correction, Facts
from inspections.standards.limits import Entered, EnterLimit, Rounding
from inspections.standards.quantities import Quantity
from inspections.standards.readings import aside, limits_for, read
from inspections.standards.situation import ExtraLow, Multiple, Situation
from jobsite.ids import new_id
from jobsite.refused import Refused

Q = Quantity
B32 = Device("BS EN 60898", "B", Decimal(32))
D63 = Device("BS EN 61009", "D", Decimal(63))
FUSE = Device("BS 88-2", "gG", Decimal(32))
OLD = Device("BS 3871", "2", Decimal(30))
DEVICES = (None, B32, D63, FUSE, OLD, Device("BS EN 60898", "C", Decimal(6)))
RCDS = (
    None,
    Rcd(Decimal(30), "A"),
    Rcd(Decimal(100), "S", "BS EN 61008"),
    Rcd(Decimal(30), "", "BS 4293"),
    Rcd(Decimal(300), "S", "BS 4293", Decimal(150)),
    Rcd(Decimal(30), "AC", "BS 7288"),
    Rcd(Decimal(30), "B", "IEC 62423"),
    Rcd(Decimal(30), "", "another"),
    Rcd(None, "voltage-operated"),
)
# What a qualified person may have put right, so that sure and unsure rows both come.
CORRECTED = Facts(
    {
        "continuity.bonding": Correction(Decimal("0.06"), "the guidance itself"),
        "insulation.to-500-v": Correction(Decimal("1.50"), "the standard itself"),
        "ring.ends-apart": Correction(Decimal("0.04"), "the standard itself"),
        "electrode.unstable-above": Correction(Decimal("150.0"), "the standard itself"),
        "origin.usual-most.tn-c-s": Correction(Decimal("0.30"), "the distributor"),
    }
)
TYPED = (
    "0", "0.00", "0.005", "0.04", "0.049", "0.05", "0.09", "0.10", "0.13", "0.19", "0.2", "0.20", "0.21", "0.25", "0.30", "0.31",
    "0.35", "0.36", "0.50", "0.6", "0.64", "0.80", "0.99", "1", "1.0", "1.00", "1.09", "1.0925", "1.09250001", "1.0926", "1.1",
    "1.2", "1.500", "1.99", "2", "2.00", "2.185", "5", "12.5", "20", "28", "39.9", "40", "40.1", "43.69", "43.7", "50", "51", "60",
    "100", "130", "149", "150", "199.9", "200", "200.1", "225", "299", "300", "300.1", "301", "350", "500", "640", "1000",
    "1666", "1666.666666", "1666.67", "1667", "1979", "1980", "1999", "2000", "5001", "10001", "180000", "9999999", "10000000",
    "0.000001", "0.0000009", "0.0000001", "0.0000", "0.00000001", "0.0000000001", "00.50", "007", ".35", "1.", "12345678901234567890",
    ">0.5", ">1", ">2", ">20", ">99.9", ">200", "> 200", ">999", ">1999", ">1999 ms", ">20000", ">200 MΩ", ">1 GΩ", ">0", ">>1", "<1",
    "no trip", "No Trip", " no  trip ", "did not trip", "DIDN'T TRIP", "no operation", "not tripped", "trip", "OK", "ok", "Yes", "y", "✓", "✗",
    "not ok", "N", "reversed", "yeſ", "maybe", "", " ", "-1", "- 1", "−0.5", "–.3", "-", "1e5", "NaN", "Infinity", "0,35", "0.3.5", "٣",
    "350 mΩ", "350mΩ", "350 m", "0.35 \u2126", "0.35ohm", "0.35 Ohms", "0.35 OHM", "350 mohm", "1.2 kΩ", "1.2k", "0.001 kohm",
    "0.35 MΩ", "0.35 M", "200 GΩ", "2 G", "999 kΩ", "1500000 Ω", "0.2 s", "28ms", "0.028 s", "0.3 s", "1.2 kA", "1.2ka", "999 A",
    "999a", "16000 A", "1.2 KA", "\u00a00.35\u3000Ω", "0.35\x1cΩ", "0.35\ufeff", "0.35 ΩΩ", "0.35 constructor", "1" * 21, "İohm", "𝟛",
)  # fmt: skip
OTHERS: tuple[dict[Quantity, Decimal], ...] = (
    {},
    {Q.RING_R1: Decimal("0.50"), Q.RING_RN: Decimal("0.52"), Q.RING_R2: Decimal("0.83"), Q.LOOP_BOARD: Decimal("0.20")},
    {Q.RING_R1: Decimal("0.02"), Q.RING_RN: Decimal("0.037"), Q.LOOP_BOARD: Decimal("1.05"), Q.LOOP_ORIGIN: Decimal("0.10")},
    {Q.RING_R2: Decimal("0.830"), Q.RING_R1: Decimal("0.5"), Q.LOOP_ORIGIN: Decimal("0.35")},
)  # fmt: skip


@dataclass(frozen=True)
class Case:
    """One reading as it is typed somewhere."""

    quantity: Quantity
    typed: str
    situation: Situation
    facts: Facts = SHIPPED
    as_read: bool = False
    limit: str = ""
    source: str = ""
    corrected: bool = False

    def how(self) -> dict[str, Any]:
        """As the page tells the phone how it was tested, the other readings too."""
        here = self.situation
        insulates = self.quantity is Q.INSULATION
        return {
            "asRead": self.as_read,
            "volts": str(here.test_volts or "") if insulates else "",
            "connected": insulates and here.equipment_connected,
            "limit": self.limit,
            "source": self.source,
            "corrected": self.corrected,
            "others": {one.value: f"{ohms:f}" for one, ohms in here.others.items()},
        }

    def about(self) -> dict[str, Any]:
        """What the server writes beside the field: it knows neither what is typed nor how it will be tested."""
        before = replace(self.situation, test_volts=None, equipment_connected=False, others={})
        return aside(self.quantity, before, facts=self.facts)


def by_server(case: Case) -> dict[str, str]:
    """What the server answers when the reading is to be kept."""
    try:
        value = read(case.quantity, case.typed)
        entered = _entered(case)
    except ValueError as wrong:
        return _stopped("unreadable", str(wrong))
    situation = replace(case.situation, entered=entered) if entered else case.situation
    taken = Taken(new_id(), None, case.quantity, value, HowTested(entered=entered), case.as_read)  # type: ignore[arg-type]
    try:
        verdict = judged_in(taken, situation, case.facts)
    except Unlikely as asked:
        return _stopped("doubt", asked.sentence)
    except Refused as refused:
        decides = limits_for(case.quantity, situation, facts=case.facts).decides if not entered else None
        enter = isinstance(decides, EnterLimit) and decides.reason == refused.sentence
        return _stopped("enter" if enter else "unreadable", refused.sentence)
    return {"result": verdict.result.value, "words": verdict_words(verdict)["words"], "sentence": verdict.sentence}


def _stopped(result: str, words: str) -> dict[str, str]:
    return {"result": result, "words": words, "sentence": words}


def _entered(case: Case) -> Entered | None:
    if not case.limit:
        return None
    if not LIMIT.fullmatch(case.limit):
        raise ValueError("Write the limit as a number, such as 1.09.")
    return Entered(Decimal(case.limit), case.source, case.corrected)


def situations(quantity: Quantity) -> list[Situation]:
    """Situations that make a difference to the quantity; all editions, earthings and what else it goes by."""
    base = Situation(edition=Edition.A4_2026, earthing=Earthing.TN_C_S, device=B32, rcd=RCDS[1])
    if quantity in (Q.LOOP, Q.LOOP_BOARD):
        some = [
            replace(base, edition=edition, earthing=earthing, device=device, rcd=rcd, feeder_rcd=feeder, rests_on_rcd=rests)
            for edition, earthing, device, rcd, feeder, rests in product(
                (Edition.A4_2026, Edition.EARLIER), Earthing, DEVICES, RCDS[:3], RCDS[:2], (None, True)
            )
        ]  # fmt: skip
        rounded = [replace(base, rounding=how, factor=Decimal(f)) for how in Rounding for f in ("0.8", "0.800", "1")]
        return [*some[::7], *rounded, replace(base, role=CircuitRole.DISTRIBUTION), replace(base, rcd=RCDS[-1])]
    if quantity is Q.RCD_TIME:
        return [
            replace(base, edition=edition, earthing=earthing, rcd=rcd, multiple=multiple, role=role)
            for edition, earthing, rcd, multiple, role in product(
                Edition, (Earthing.TT, Earthing.TN_S), RCDS, Multiple, CircuitRole
            )
        ][::3]
    if quantity is Q.INSULATION:
        return [
            replace(base, edition=edition, extra_low=low, test_volts=volts, equipment_connected=connected, nominal_volts=v)
            for edition, low, volts, connected, v in product(
                (Edition.A4_2026, Edition.EARLIER), (None, *ExtraLow), (None, 250, 500), (False, True), (None, Decimal(690))
            )
        ]  # fmt: skip
    if quantity in (Q.ELECTRODE, Q.LOOP_ORIGIN):
        return [replace(base, earthing=earthing, rcd=rcd) for earthing, rcd in product(Earthing, RCDS)]
    if quantity is Q.FAULT_CURRENT:
        capacities = (None, Decimal(6), Decimal("16.0"))
        return [
            replace(base, others=others, breaking_capacity_ka=most, devices_unrecorded=missing)
            for others, most, missing in product(OTHERS, capacities, (None, 0, 2))
        ]
    sizes = (
        (None, None),
        (Decimal("2.5"), Decimal("1.50")),
        (Decimal(10), Decimal("4.0")),
        (Decimal("0.7"), Decimal("2.5")),
    )
    found = [
        replace(base, ring=ring, others=others, line_mm2=line, cpc_mm2=cpc, length_m=length, rcd=None)
        for ring, others, (line, cpc), length in product((False, True), OTHERS, sizes, (None, Decimal("26.50")))
    ]
    return [*found, *(replace(one, device=None) for one in found[::5])]


def seeded() -> list[Case]:
    """Every quantity in its situations with every typed text in turn, so that each text meets each quantity."""
    found = []
    for quantity in Quantity:
        for n, situation in enumerate(situations(quantity)):
            facts = CORRECTED if n % 4 == 3 else SHIPPED
            texts = TYPED[n % 11 :: 11] if n >= 2 else TYPED
            found += [Case(quantity, typed, situation, facts, as_read=n % 2 == 1) for typed in texts]
    return found


NUMBERS = st.decimals(min_value=0, max_value=3000, places=3).map(lambda d: f"{d:f}") | st.sampled_from(TYPED)
UNITS = st.sampled_from(["", " Ω", " mΩ", "k", " MΩ", "ms", " s", " A", "kA", "ohms"])
READ = st.tuples(st.sampled_from(["", "", "", ">"]), NUMBERS, UNITS).map("".join) | st.text(max_size=24)
AMOUNTS = st.sampled_from(
    ["", "", "", "1.04", "0.5", "40", "200", "1e3", "-1", "0", "0.0001", "1000000", "1.", "9" * 12]
)
SOURCES = st.sampled_from(["the maker's data", " Table 41.2 ", " "])
# A ring's readings are judged beside each other: no page asks for a limit of theirs.
NEVER_ENTERED = {Q.RING_R1, Q.RING_RN, Q.RING_R2, Q.RING_CROSS_RN, Q.RING_CROSS_R2, Q.POLARITY, Q.FUNCTIONAL}


@st.composite
def cases(draw: Any) -> Case:
    """Any reading, with limits entered where a page may ask for one."""
    quantity = draw(st.sampled_from(list(Quantity)))
    situation = draw(st.sampled_from(situations(quantity)))
    asked = quantity not in NEVER_ENTERED and not situation.ring
    limit = draw(AMOUNTS) if asked else ""
    return Case(
        quantity,
        draw(READ),
        situation,
        draw(st.sampled_from([SHIPPED, CORRECTED])),
        as_read=draw(st.booleans()),
        limit=limit,
        source=draw(SOURCES),
        corrected=draw(st.booleans()),
    )
