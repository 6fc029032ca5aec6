"""Saying after the fact that an observation is of the same defect as an earlier one, and taking that back."""

from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string

from inspections import policy
from inspections.choices import Ended
from inspections.models import MadeSafe, Observation
from inspections.operations import clocks, ground
from inspections.operations.ending import ENDED_FIELDS, carry_over
from inspections.operations.keeping import keep_completion
from inspections.operations.next_inspections import next_due_of
from inspections.verbs import Verb
from jobsite.ledger.models import Entry
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover saying that two observations are of one defect."
CORRECTED = "It is observation {} as the reissue corrects it: the same record, which is not parted."
JOINED_FIELDS = ["continues", "first_recorded_on", *clocks.CLOCK_FIELDS, "version"]


@operation
def continue_earlier(observation: Observation, *, earlier: Observation, by: User, now: datetime) -> Observation:
    """Say that an observation on record is of the same defect as an `earlier` open one.

    The earlier one ends here: its age, what was made safe, work that is planned and a date to remedy it by that comes
    first go over. Said already: nothing more happens. Raises Refused for what isn't open, is not at the same site, is
    younger, or where the observation continues another one, and at an archived site.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    site = ground.held_site(observation.site)
    observation, earlier = _locked_both(observation, earlier)
    if observation.continues_id == earlier.pk:
        return observation
    ground.must_be_in_use(site)
    _check(observation, earlier)
    before = observation.first_recorded_on
    observation.continues, observation.first_recorded_on = earlier, min(before, earlier.first_recorded_on)
    clocks.set_clocks(observation, next_due=next_due_of(observation.unit))
    observation.version += 1
    observation.save(update_fields=JOINED_FIELDS)
    facts = {"continues": str(earlier.pk), "first_recorded_on_before": ground.iso(before)}
    facts |= {name: ground.iso(getattr(observation, name)) for name in ("first_recorded_on", "remedy_by")}
    record(Verb.JOINED, site=site.pk, subject=observation, by=by, now=now, facts=facts)
    carry_over(earlier, observation, ended=Ended.CONTINUED, by=by, now=now)
    keep_completion([earlier, observation], by=by, now=now)
    return observation


@operation
def part_from_earlier(observation: Observation, *, reason: str, by: User, now: datetime) -> Observation:
    """Take back that an observation continues an earlier one: both are open, each with a next step and its own dates.

    What went over goes back. Parted already: nothing more happens. Raises Refused without a reason, at an archived site,
    for a finding (which is withdrawn instead), for the copy in a reissue (it is the same record, corrected), and where
    something was done since that rests on the two being one.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    site = ground.held_site(observation.site)
    observation = Observation.objects.select_related("continues").get(pk=observation.pk)
    if observation.continues is None:
        return observation
    observation, earlier = _locked_both(observation, observation.continues)
    ground.must_be_in_use(site)
    reason = ground.said(reason, "Say why it is not the same defect.", "reason")
    ground.in_force(observation, "what it continues stands")
    if observation.corrects:
        raise Refused(CORRECTED.format(earlier.number))
    if earlier.ended != Ended.CONTINUED:
        raise Refused(
            f"Observation {earlier.number} ended as: {earlier.get_ended_display()}. That is not taken back here."
        )
    went = _what_went_over(earlier, observation)
    besides = _give_back(earlier, observation, went, by=by, now=now)
    _open_again(earlier, by=by, now=now)
    observation.continues, observation.first_recorded_on = None, _age_of_its_own(observation)
    clocks.set_clocks(observation, next_due=next_due_of(observation.unit))
    clocks.set_step(observation, by=by, now=now)
    observation.version += 1
    observation.save(update_fields=[*JOINED_FIELDS, *clocks.STEP_FIELDS, "made_safe"])
    facts = {"continued": str(earlier.pk), "first_recorded_on": ground.iso(observation.first_recorded_on)} | besides
    record(Verb.PARTED, site=site.pk, subject=observation, by=by, now=now, facts=facts, words={"reason": reason})
    facts = {"ended_before": str(Ended.CONTINUED), "step_by": ground.iso(earlier.step_by)}
    record(Verb.REOPENED, site=site.pk, subject=earlier, by=by, now=now, facts=facts, words={"reason": reason})
    keep_completion([earlier, observation], by=by, now=now)
    return observation


def _locked_both(one: Observation, other: Observation) -> tuple[Observation, Observation]:
    """Both as they are now, locked in the order of their keys."""
    rows = Observation.objects.filter(pk__in=[one.pk, other.pk]).select_for_update(of=("self",)).order_by("pk")
    found = {row.pk: row for row in rows.select_related("site", "unit", "inspection", "continues")}
    return found[one.pk], found[other.pk]


def _check(observation: Observation, earlier: Observation) -> None:
    ground.in_force(observation, "it continues nothing any more" if observation.ended else "say it there")
    if observation.corrects and observation.continues is not None:
        raise Refused(CORRECTED.format(observation.continues.number))
    if observation.continues is not None:
        number = observation.continues.number
        raise Refused(f"It continues observation {number} already. Say first that it is not the same as that.")
    if earlier.pk == observation.pk or earlier.site_id != observation.site_id or earlier.draft:
        raise Refused("It can only continue another observation on record at this site.", field="earlier")
    if earlier.ended:
        raise Refused(
            f"Observation {earlier.number} is closed ({earlier.get_ended_display()}): a defect that came back is a new one.",
            field="earlier",
        )
    if earlier.recorded_on > observation.recorded_on:
        raise Refused(f"Observation {earlier.number} is younger: say it there, the other way round.", field="earlier")
    if earlier.inspection_id is not None and earlier.inspection_id == observation.inspection_id:
        raise Refused("Both stand in one report: whoever wrote it saw two defects.", field="earlier")


def _what_went_over(earlier: Observation, observation: Observation) -> dict[str, Any]:
    """The facts that the ledger keeps of the earlier one's end: what went over to `observation`.

    It may have ended before its report was reissued: the entry is then about what it corrects.
    """
    records = [earlier]
    while records[-1].corrects and records[-1].continues is not None:
        records.append(records[-1].continues)
    entries = Entry.objects.filter(
        subject__in=[row.pk for row in records], verb=str(Verb.ENDED), facts__continued_by=str(observation.pk)
    )
    last = entries.order_by("-number").first()
    return last.facts if last else {}


def _give_back(
    earlier: Observation, observation: Observation, went: dict[str, Any], *, by: User, now: datetime
) -> dict[str, list[str]]:
    """What went over stands on `earlier` again; what the floors above give back by WHEN_OBSERVATIONS_PART."""
    if held := went.get("made_safe_follows"):
        if not MadeSafe.objects.filter(pk__in=held, observation=observation, ended="").update(observation=earlier):
            raise Refused("What was made safe on it was ended since: that rests on the two being one defect.")
        earlier.made_safe, observation.made_safe = True, False
    besides: dict[str, list[str]] = {}
    for name in settings.WHEN_OBSERVATIONS_PART:
        besides |= import_string(name)(earlier, observation, went, by=by, now=now)
    return besides


def _open_again(earlier: Observation, *, by: User, now: datetime) -> None:
    earlier.ended, earlier.ended_on, earlier.ended_reason = Ended.OPEN, None, ""
    clocks.set_step(earlier, by=by, now=now)
    earlier.version += 1
    earlier.save(update_fields=[*ENDED_FIELDS, *clocks.STEP_FIELDS])


def _age_of_its_own(observation: Observation) -> date:
    """The day it was first recorded before it continued another: as the ledger keeps it, else the day of its record."""
    entry = Entry.objects.filter(subject=observation.pk, verb=str(Verb.JOINED)).order_by("-number").first()
    before = entry.facts.get("first_recorded_on_before") if entry else None
    return date.fromisoformat(before) if before else observation.recorded_on
