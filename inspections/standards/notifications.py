"""What the firm itself notifies after its work: building control, and the network operator.

Nearly all of it is from memory, and says so: the days are facts that the firm can put right, and every page that shows one
says to check the current rule. Scotland and Northern Ireland have systems of their own, not that of England and Wales.
"""

from dataclasses import replace
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.duty_rows import FIRM, Count, Duty, Trigger
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.law import NO_DAYS
from inspections.standards.places import Nation


class Told(StrEnum):
    """What work of ours makes somebody outside be told."""

    NOTIFIABLE = "notifiable"
    GENERATION = "generation"
    CHARGING_POINT = "charging-point"


_BY_SCHEME = "building control at the local authority (through its scheme, where the firm certifies its own work)"
_NOTICE = "notice of the notifiable work, and the certificate for the occupier"
_ASKED_BEFORE = "What the firm may not certify itself needs building control's agreement before the work starts."
_OPERATOR = "the network operator"
_PART_P = "Building Regulations 2010 regulation 20"
_FROM_MEMORY = "from memory; regulation and approved document not read"


def _notice(
    nation: Nation, key: str, rule: str, what: str, to: str, days: int, *, source: str, remark: str,
    confidence: Confidence = Confidence.MEMORY, trigger: Trigger = Trigger.CONNECTION,
) -> Duty:  # fmt: skip
    return Duty(
        key=f"{nation.value}.{key}", rules=(), rule_name=rule, what=what, to=to, trigger=trigger, count=Count.OF,
        number=days, confidence=confidence, source=source, remark=remark, owed_by=FIRM,
    )  # fmt: skip


def _building_control(nation: Nation, rule: str, what: str, to: str, days: int, remark: str = _ASKED_BEFORE) -> Duty:
    return _notice(
        nation, "notify.building-control", rule, what, to, days, trigger=Trigger.NOTIFIABLE_WORK, source=_FROM_MEMORY,
        remark=remark,
    )  # fmt: skip


def _generation(nation: Nation, rule: str = "EREC G98 (up to 16 A a phase)") -> Duty:
    return _notice(
        nation, "notify.generation", rule, "notice that generation or a battery was connected", _OPERATOR, 28,
        source="EREC G98, from memory; not read",
        remark="Anything larger, and several at one place, needs the operator's consent before it is connected (EREC G99).",
    )  # fmt: skip


def _charging_point(nation: Nation) -> Duty:
    return _notice(
        nation, "notify.charging-point", "The network operators' own procedure for charging points",
        "notice that a charging point was connected", _OPERATOR, 28,
        source="from memory: “within about a month”; no text was read",
        remark="Where the supply may not carry it, the operator is asked before it is connected.",
    )  # fmt: skip


_SCOTTISH = "the building standards verifier (the council)"
_OWN_SYSTEM = "No number of days was found; this nation has a system of its own: look it up before relying on this."

# "Not more than 30 days after completion" (England and Wales), from memory. 0: no number of days was found.
NOTICES: dict[tuple[Told, Nation], Duty] = {
    (Told.NOTIFIABLE, Nation.ENGLAND): _building_control(
        Nation.ENGLAND, f"{_PART_P} (England)", _NOTICE, _BY_SCHEME, 30
    ),
    (Told.NOTIFIABLE, Nation.WALES): _building_control(
        Nation.WALES, f"{_PART_P} as it applies in Wales", _NOTICE, _BY_SCHEME, 30,
        remark=f"{_ASKED_BEFORE} Wales kept a wider list of notifiable work than England.",
    ),
    (Told.NOTIFIABLE, Nation.SCOTLAND): _building_control(
        Nation.SCOTLAND, "Building (Scotland) Act 2003", "what the verifier asks for at completion, such as a certificate of construction",
        _SCOTTISH, 0, remark=_OWN_SYSTEM,
    ),
    (Told.NOTIFIABLE, Nation.NORTHERN_IRELAND): _building_control(
        Nation.NORTHERN_IRELAND, "Building Regulations (Northern Ireland) 2012", "notice that the work is complete",
        "building control at the district council", 0, remark=_OWN_SYSTEM,
    ),
    **{
        (Told.GENERATION, nation): _generation(nation)
        for nation in (Nation.ENGLAND, Nation.WALES, Nation.SCOTLAND)
    },
    (Told.GENERATION, Nation.NORTHERN_IRELAND): _generation(
        Nation.NORTHERN_IRELAND, "EREC G98 as the operator in Northern Ireland applies it"
    ),
    **{(Told.CHARGING_POINT, nation): _charging_point(nation) for nation in Nation},
}  # fmt: skip


def _row(duty: Duty) -> Fact[int]:
    nation = duty.key.split(".")[0].replace("-", " ").title()
    return Fact(
        key=f"duty.{duty.key}.days", title=f"{nation}: {duty.what}: days after the work", value=duty.number or 0,
        unit="days", source=duty.source, confidence=duty.confidence, least=0, most=366, zero=NO_DAYS,
    )  # fmt: skip


NUMBERS = {duty.key: _row(duty) for duty in NOTICES.values()}
ROWS = tuple(NUMBERS.values())


def notice_owed(told: Told, nation: Nation, facts: Facts = SHIPPED) -> Duty:
    """What the firm owes after work of that kind; due on the day of the work where no number of days is known."""
    duty = NOTICES[told, nation]
    row = NUMBERS[duty.key]
    found = facts.of(row)
    if facts.corrected(row):
        remark = f"As put right from {found.source}."
        duty = replace(duty, confidence=found.confidence, source=found.source, remark=remark)
    return replace(duty, number=found.value) if found.value else replace(duty, number=None, count=Count.AT)
