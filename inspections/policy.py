"""Who may do what with inspections and observations. Deciding a code asks for competence on that day besides a right."""

from datetime import datetime

from inspections.choices import InspectionState
from inspections.models import Inspection, MadeSafe, Observation
from jobsite import clock, words
from jobsite.ledger.actor import Actor
from jobsite.people.policy import is_qualified
from jobsite.people.rights import Right


def may_enter_inspection(by: Actor, *, other_firm: bool) -> bool:
    """Enter a report and its observations: the office takes in another firm's, whoever inspects writes our own."""
    return by.may(Right.TAKE_IN if other_firm else Right.INSPECT)


def may_change_inspection(by: Actor, inspection: Inspection) -> bool:
    """Change a draft; an issued report is frozen for everybody."""
    draft = inspection.state == InspectionState.DRAFT
    return draft and may_enter_inspection(by, other_firm=inspection.other_firm)


def may_issue_inspection(by: Actor, inspection: Inspection, *, now: datetime) -> bool:
    """Our own report is issued by a qualified person, another firm's is taken in by the office."""
    if not may_enter_inspection(by, other_firm=inspection.other_firm):
        return False
    return inspection.other_firm or is_qualified(by, now=now)


def may_keep_papers(by: Actor) -> bool:
    """Record who moves in, and that a paper which the law asks for was given."""
    return by.may(Right.KEEP_CUSTOMERS)


def may_reissue(by: Actor, inspection: Inspection) -> bool:
    """Begin the correction of a report in force: whoever may enter it."""
    return inspection.state == InspectionState.ISSUED and may_enter_inspection(by, other_firm=inspection.other_firm)


def may_report_defect(by: Actor) -> bool:
    """Take in that somebody rang about a defect."""
    return by.may(Right.REPORT_DEFECT)


def may_inspect(by: Actor) -> bool:
    """Make safe, look again, reconnect, give a danger notice, take a reading, add a photo, give a next step."""
    return by.may(Right.INSPECT)


def may_decide_codes(by: Actor, *, now: datetime) -> bool:
    """Review a code or record a finding: the right, and competence on the day of `now`."""
    return by.may(Right.REVIEW_CODES) and is_qualified(by, now=now)


def may_end_observation(by: Actor) -> bool:
    """Close or reopen an observation: whoever does the work, reviews its proof or keeps the remedials."""
    return any(by.may(right) for right in (Right.DO_WORK, Right.REVIEW_PROOF, Right.PLAN_WORK))


def may_correct_facts(by: Actor, *, now: datetime) -> bool:
    """Correct what the program has of the standards and the law: who may decide codes may say what they are judged by."""
    return may_decide_codes(by, now=now)


def why_not_correct(by: Actor, *, now: datetime) -> str:
    """The sentence for somebody who may not correct facts; "" for those who may."""
    if may_correct_facts(by, now=now):
        return ""
    return "Only a qualified person corrects a fact: somebody whose competence the firm has recorded. A manager keeps it under People."


def why_not_decide(by: Actor, *, now: datetime) -> str:
    """The sentence for somebody who may not decide codes; "" for those who may."""
    if may_decide_codes(by, now=now):
        return ""
    day = words.day(clock.local_day(now))
    return (
        "Only a qualified person decides codes: somebody whose competence the firm has recorded. "
        f"The record has none for you on {day}; a manager keeps it under People."
    )


def acts_on(by: Actor, observation: Observation, *, now: datetime) -> dict[str, bool]:
    """Which buttons stand beside an observation for this person: right and state together. One statement at most."""
    open_now = observation.ended == ""
    standing, inspects = open_now and not observation.draft, may_inspect(by)
    decides = standing and may_decide_codes(by, now=now)
    return {
        "review": decides or (observation.ended == "no-code" and may_decide_codes(by, now=now)),
        "finding": decides and observation.code == "FI",
        "withdraw_finding": observation.ended == "finding" and may_decide_codes(by, now=now),
        "take_on": standing and inspects,
        "make_safe": open_now and inspects and not observation.made_safe and observation.code != "C3",
        "look_again": open_now and inspects and observation.made_safe,
        "reconnect": open_now and inspects and observation.made_safe,
        "notice": open_now and inspects and observation.code != "C3",
        "meters": open_now and inspects and observation.code in ("", "FI"),
        "photo": inspects,
        "same": standing and inspects and observation.continues_id is None,
        "part": standing and inspects and observation.continues_id is not None and not observation.corrects,
        "there": observation.ended == "gone" and may_end_observation(by),
    }


def competence_caution(made_safe: MadeSafe) -> str:
    """A sentence where the firm records no competence of whoever made it safe, for that day; else "". One statement."""
    if is_qualified(made_safe.by, now=made_safe.at):
        return ""
    return no_competence(made_safe.by.name, words.day(clock.local_day(made_safe.at)))


def no_competence(name: str, day: str) -> str:
    """The caution for something made safe by `name` on `day`, who was not on record as a qualified person then."""
    return f"The firm has no competence on record for {name} on {day}: have a qualified person look at it."


def stands(made_safe: MadeSafe) -> bool:
    """Whether what was made safe has not been remedied, reconnected or lifted."""
    return made_safe.ended == ""
