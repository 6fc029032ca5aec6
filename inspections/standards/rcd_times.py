"""RCD operating times in milliseconds, by the device's standard, the test current and the edition.

Source: a technical article's table of trip times (publisher not shown in the excerpt read); handbook of a tester
(IRT2310, p.7: general and S types, EN 61008 and 61009); Wiring Matters 91, July 2022, on the change by
Amendment 2; threads 22717 and 21106 of the IET's forum on the 0.2 s of TT systems. Read in secondary pages;
the single test at 1 × IΔn and the shortest time of type S at 2 × IΔn are from memory.
"""

import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

from inspections.standards.confidence import Confidence, weaker
from inspections.standards.devices import VOLTAGE_OPERATED, CircuitRole, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.limits import EnterLimit, Limit, Limits, entered_most
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Multiple, Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import (
    Doubt,
    Judged,
    Result,
    Verdict,
    Warn,
    by_limits,
    given,
    judged_by,
    number_of,
    plain,
    unlikely,
    warned,
)

_TABLE = "Trip-time table of a technical article; handbook of an RCD tester (general and S types)"
_READ, _RECALLED = Confidence.SECONDARY, Confidence.MEMORY


def _ms(key: str, title: str, value: int, confidence: Confidence = _READ, source: str = _TABLE) -> Fact[Decimal]:
    return Fact(
        key=f"rcd.{key}",
        title=title,
        value=Decimal(value),
        unit="ms",
        source=source,
        confidence=confidence,
        least=Decimal(1),
        most=Decimal(10_000),
    )


_EN, _OLD = "BS EN 61008 and 61009", "BS 4293 and BS 7288"
# The longest time, and for type S the shortest, by test current.
GENERAL = {
    Multiple.ONE: _ms("general.1x.most", f"{_EN}, general type, 1 × IΔn, at most", 300),
    Multiple.TWO: _ms("general.2x.most", f"{_EN}, general type, 2 × IΔn, at most", 150),
    Multiple.FIVE: _ms("general.5x.most", f"{_EN}, general type, 5 × IΔn, at most", 40),
}
DELAYED = {
    Multiple.ONE: _ms("s.1x.most", f"{_EN}, type S, 1 × IΔn, at most", 500),
    Multiple.TWO: _ms("s.2x.most", f"{_EN}, type S, 2 × IΔn, at most", 200),
    Multiple.FIVE: _ms("s.5x.most", f"{_EN}, type S, 5 × IΔn, at most", 150),
}
DELAYED_LEAST = {
    Multiple.ONE: _ms("s.1x.least", f"{_EN}, type S, 1 × IΔn, at least", 130),
    Multiple.TWO: _ms("s.2x.least", f"{_EN}, type S, 2 × IΔn, at least", 60, _RECALLED),
    Multiple.FIVE: _ms("s.5x.least", f"{_EN}, type S, 5 × IΔn, at least", 50),
}
OLD = {
    Multiple.ONE: _ms("old.1x.most", f"{_OLD}, 1 × IΔn, at most", 200),
    Multiple.FIVE: _ms("old.5x.most", f"{_OLD}, 5 × IΔn, at most", 40),
}
HOLD = _ms("half.least", "At ½ × IΔn an RCD must not operate within", 2000)
TT_FINAL = _ms(
    "tt.final.most",
    "Disconnection time of a final circuit in a TT system",
    200,
    source="Reg. 411.3.2.2 as described in threads 22717 and 21106 of the IET's forum",
)


def _single(value: bool, confidence: Confidence, editions: tuple[Edition, ...], since: str, source: str) -> Fact[bool]:
    return Fact(
        key=f"rcd.single-test.{since}",
        title="A single test at 1 × IΔn shows that an RCD is effective, whatever its type",
        value=value,
        source=source,
        confidence=confidence,
        editions=editions,
    )


_SINCE = (Edition.A4_2026, Edition.A2_2022)
SINGLE_SINCE = _single(True, _RECALLED, _SINCE, "since-2022", "Wiring Matters 91 (2022) is consistent with it")
SINGLE_BEFORE = _single(
    False,
    _READ,
    tuple(edition for edition in Edition if edition not in _SINCE),
    "before-2022",
    "Reg. 415.1.1 as it then stood: 40 ms at 5 × IΔn for additional protection; Wiring Matters 91 (2022)",
)
TIMES = (*GENERAL.values(), *DELAYED.values(), *DELAYED_LEAST.values(), *OLD.values(), HOLD, TT_FINAL)
ROWS: tuple[Fact[Decimal] | Fact[bool], ...] = (*TIMES, SINGLE_SINCE, SINGLE_BEFORE)

# Less than any device needs, and longer than any test lasts. Our own choice.
LOW_MS, HIGH_MS = Decimal(1), Decimal(5000)
# A tester that shows ">1999" has waited for 2 s, but for its last place.
WAITED = Decimal("0.99")
_SHORT = "The tester's range ends earlier: see that the test lasts that long."

_VOLTAGE_OPERATED = EnterLimit(
    "A voltage-operated earth leakage breaker is no RCD, and no residual current tests it. Have a qualified person "
    "decide; replacing it is the usual answer."
)
_NO_RCD = EnterLimit("No RCD is recorded for this circuit: record it, or enter the limit with its source.")


def single_test(edition: Edition) -> Fact[bool]:
    """The row that says whether the edition asks for the test at 1 × IΔn only."""
    return SINGLE_SINCE if edition in _SINCE else SINGLE_BEFORE


def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
    """The operating times that pass, in ms; at ½ × IΔn the time for which the RCD must hold.

    Raises ValueError for an entered limit that cannot be, or without its source.
    """
    rcd, multiple = situation.rcd, situation.multiple
    if situation.entered:
        return Limits(entered_most(situation.entered, "ms"))
    if rcd is None:
        return Limits(_NO_RCD)
    if rcd.kind == VOLTAGE_OPERATED:
        return Limits(_VOLTAGE_OPERATED)
    if multiple is Multiple.HALF:
        hold = facts.of(HOLD)
        basis = f"must not operate within {hold.shown}: {rcd.words}, {multiple.words}"
        said = f"no trip within {hold.shown}"
        return Limits(Limit(basis=basis, confidence=hold.confidence, unit="ms", least=hold.value, said=said))
    by_device = _by_standard(rcd, situation, facts)
    return Limits(by_device, _by_edition(by_device, situation, facts))


def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
    """The verdict on an operating time in ms, or on "no trip". Raises ValueError for what no tester shows."""
    found = limits(situation, facts)
    limit = found.decides
    if isinstance(limit, Limit) and (value.no_trip or (value.above and situation.multiple is Multiple.HALF)):
        return _held(value, limit, situation.multiple)
    if value.no_trip:
        return limit if isinstance(limit, EnterLimit) else _NO_RCD
    number = number_of(Quantity.RCD_TIME, value)
    question = "" if value.above else unlikely(number, "ms", low=LOW_MS, high=HIGH_MS)
    if question and not as_read:
        return Doubt(question)
    judged = by_limits(value, "ms", found, warned(value, _warns(situation, facts)))
    return _with_other_basis(judged, value)


def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
    """What a phone needs to judge it: `held` for no trip, and the edition's basis where it may say something else."""
    found = limits(situation, facts)
    facts_of_it: dict[str, Any] = {"rule": "bounds", "low": f"{LOW_MS:f}", "high": f"{HIGH_MS:f}"}
    half = situation.multiple is Multiple.HALF
    facts_of_it["held"] = given(
        at=situation.multiple.words, half=half, waited=WAITED if half else None, short=_SHORT if half else ""
    )
    facts_of_it |= {"warn": [warn.aside for warn in _warns(situation, facts)], "entered": {"warn": []}}
    if isinstance(found.other, Limit):
        facts_of_it["other"] = given(least=found.other.least, most=found.other.most, words=_by_other(found.other))
    return facts_of_it | judged_by(found)


def _with_other_basis(judged: Judged, value: Value) -> Judged:
    """Of a failure by the device's own standard: whether the edition's test would pass it, for a person to decide."""
    if not isinstance(judged, Verdict) or judged.passes or not isinstance(judged.other, Limit) or value.above:
        return judged
    if value.number is None or not judged.other.holds(value.number):
        return judged
    said = _by_other(judged.other)
    return replace(judged, sentence=f"{judged.sentence} {said}", warnings=(*judged.warnings, said))


def _by_other(other: Limit) -> str:
    return f"It is within {other.basis.removeprefix('at most ')}. A qualified person decides whether that suffices."


def _held(value: Value, limit: Limit, multiple: Multiple) -> Verdict:
    """No trip: what is asked for at ½ × IΔn, and a failure at every other test current."""
    words = f"{value.words('ms')[0].upper()}{value.words('ms')[1:]} at {multiple.words}. Limit: {limit.basis}."
    if multiple is not Multiple.HALF:
        return Verdict(Result.FAIL, words, limit)
    short = value.number is not None and limit.least is not None and value.number < WAITED * limit.least
    said = (_SHORT,) if short else ()
    return Verdict(Result.WARNING if short else Result.PASS, " ".join([words, *said]), limit, None, said)


def _by_standard(rcd: Rcd, situation: Situation, facts: Facts) -> Limit | EnterLimit:
    said, multiple = re.sub(r"\s+", "", rcd.standard).upper(), situation.multiple
    if "4293" in said or "7288" in said:
        return _by_old_standard(rcd, multiple, facts)
    if said and not any(number in said for number in ("61008", "61009", "62423")):
        return EnterLimit(f"{rcd.words}: enter the operating time from the standard or the maker, with its source.")
    delayed = rcd.kind == "S"
    most = facts.of((DELAYED if delayed else GENERAL)[multiple])
    least = facts.of(DELAYED_LEAST[multiple]) if delayed else None
    taken = "" if said else ", its standard not recorded, taken as BS EN 61008 or 61009"
    bounds = f"{least.value:f} to {most.shown}" if least else f"at most {most.shown}"
    basis = f"{bounds}: {rcd.words}{taken}, {multiple.words}; {_edition_words(situation, facts)}"
    confidence = weaker(most.confidence, least.confidence) if least else most.confidence
    return Limit(basis=basis, confidence=confidence, unit="ms", least=least.value if least else None, most=most.value)


def _by_edition(by_device: Limit | EnterLimit, situation: Situation, facts: Facts) -> Limit | None:
    """What the edition's single test asks for, where the device's own standard asks for less time."""
    single, general = facts.of(single_test(situation.edition)), facts.of(GENERAL[Multiple.ONE])
    if not single.value or situation.multiple is not Multiple.ONE or not isinstance(by_device, Limit):
        return None
    if by_device.least is not None or by_device.most is None or by_device.most >= general.value:
        return None
    basis = f"at most {general.shown}: {_edition_words(situation, facts)}, whatever the RCD's type"
    return Limit(basis=basis, confidence=single.confidence, unit="ms", most=general.value)


def _by_old_standard(rcd: Rcd, multiple: Multiple, facts: Facts) -> Limit | EnterLimit:
    """Time-delayed ones: between the time without delay plus 50 % and plus 100 % of the rated delay."""
    if multiple not in OLD:
        return EnterLimit(f"{rcd.words}: no operating time at {multiple.words} was found: enter it, with its source.")
    row = facts.of(OLD[multiple])
    if rcd.kind != "S" and rcd.delay_ms is None:
        basis = f"at most {row.shown}: {rcd.words}, {multiple.words}"
        return Limit(basis=basis, confidence=row.confidence, unit="ms", most=row.value)
    if rcd.delay_ms is None:
        return EnterLimit(f"{rcd.words}: record its rated delay, or enter the operating time, with its source.")
    least, most = row.value + rcd.delay_ms / 2, row.value + rcd.delay_ms
    basis = (
        f"{plain(least)} to {plain(most)} ms: {rcd.words}, {multiple.words}, {row.shown} and 50 % to 100 % of the "
        f"rated delay of {rcd.delay_ms:f} ms"
    )
    return Limit(basis=basis, confidence=row.confidence, unit="ms", least=least, most=most)


def _edition_words(situation: Situation, facts: Facts) -> str:
    """What the edition makes of this test current."""
    single = facts.of(single_test(situation.edition))
    note = f" ({single.confidence.note})" if single.confidence.note else ""
    label = situation.edition.label
    if single.value:
        only = "asks for this test" if situation.multiple is Multiple.ONE else "asks for the test at 1 × IΔn"
        return f"{label} {only} alone{note}"
    if situation.multiple is Multiple.FIVE:
        return f"{label} shows additional protection by this test{note}"
    return f"{label} shows additional protection by the test at 5 × IΔn{note}"


def _warns(situation: Situation, facts: Facts) -> list[Warn]:
    found: list[Warn] = []
    rcd, tt, old = situation.rcd, facts.of(TT_FINAL), facts.of(OLD[Multiple.ONE])
    if situation.multiple is not Multiple.ONE or situation.entered or rcd is None:
        return found
    if situation.earthing is Earthing.TT and situation.role is CircuitRole.FINAL:
        words = (
            f"A final circuit of a TT system is to be disconnected within {tt.shown}: a qualified person decides "
            "whether the RCD does that at the current of a fault."
        )
        found.append(Warn(above=tt.value, words=words))
    if not rcd.standard.strip() and rcd.kind != "S":
        words = f"One to BS 4293 or BS 7288 would have to operate within {old.shown}: look at its standard."
        found.append(Warn(above=old.value, words=words))
    return found
