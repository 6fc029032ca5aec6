"""A reissue: an issued report never changes, so a correction is a new draft that replaces it when it is issued.

1. `reissue_inspection` copies particulars, limitations and observations; each copy continues its former one. Until the
   issue the former report is in force, with every clock and lock of its observations.
2. The issue (`operations.issuing`) calls what stands below: a copy takes over the code in force, the decisions' standing,
   the owner and the next step, and how its former ended; works, locks and later observations point at the copy.
3. What the reissue leaves out is withdrawn with a reason; the former report is marked replaced and stays readable.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.utils.module_loading import import_string

from inspections import policy, rules
from inspections.choices import Ended, InspectionState, MadeSafeEnd
from inspections.models import (
    DangerNotice,
    Inspection,
    InspectionDue,
    Limitation,
    MadeSafe,
    MeterComparison,
    NotSeenAgain,
    Observation,
    ObservationPhoto,
    Review,
)
from inspections.operations import ground
from inspections.operations.ending import ENDED_FIELDS, close
from inspections.operations.inspecting import FROZEN, draft_of, must_enter
from inspections.operations.next_inspections import settle_anew
from inspections.verbs import Verb
from jobsite.firm.operations import take_number, take_numbers
from jobsite.ids import new_id
from jobsite.ledger.operations import operation, record
from jobsite.ledger.operations_documents import refuse_if_held
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused

PARTICULARS = (
    "kind", "other_firm", "inspected_on", "edition", "inspector_name", "firm_name", "qualified_person_name", "inspector",
    "reference", "extent", "next_due_on", "remedy_limit_days", "outcome_written", "file", "file_name",
)  # fmt: skip
COPIED = ("site", "unit", "board", "circuit", "place", "item", "text", "code_written", "first_recorded_on")
LIMITED = ("unit", "board", "what", "why", "agreed_with", "covered_by")
INHERITED = ["code", "reviewed", "owner", "step_by", "ended", "ended_on", "ended_reason", "done_on"]
SAY_WHY_OUT = "The reissue leaves out {}, still open: say why, or bring it back."
QUALIFIED_OUT = "A C1, C2 or FI is left out of the reissue: a qualified person decides that."


# --- the draft --------------------------------------------------------------------------------------------------------


@operation
def reissue_inspection(inspection: Inspection, *, id: UUID, reason: str, by: User, now: datetime) -> Inspection:
    """Begin a draft that corrects an issued report, with copies of all that it holds, and say why.

    The report stays in force until the draft is issued. Raises NotAllowed without the right to enter it, Refused for a
    draft, for a report that was replaced or is being reissued already, without a reason and at an archived site.
    """
    site = ground.locked_site(inspection.site)
    must_enter(by, inspection.other_firm)
    if made := ground.made_before(Inspection, id, replaces_id=inspection.pk):
        return made
    former = ground.locked(inspection)
    _must_be_in_force(former)
    reason = ground.said(reason, "Say what is wrong in the report as issued.", "reason")
    draft = Inspection(id=id, site=site, replaces=former, reissue_reason=reason, recorded_by=by, recorded_at=now)
    for name in PARTICULARS:
        setattr(draft, name, getattr(former, name))
    draft.number = take_number("inspection")
    draft.save(force_insert=True)
    draft.units.set(former.units.all())
    draft.boards.set(former.boards.all())
    kept = [Limitation(inspection=draft, **_values(row, LIMITED)) for row in former.limitations.order_by("pk")]
    Limitation.objects.bulk_create(kept)
    copies = _copy_observations(former, draft, by=by, now=now)
    facts = {"number": draft.number, "replaces": str(former.pk)}
    facts |= {"observations": [f"{o.continues_id}:{o.pk}" for o in copies]}
    words = {"reason": reason}
    record(Verb.REISSUE_BEGUN, site=site.pk, subject=draft, by=by, now=now, facts=facts, words=words)
    return draft


def _must_be_in_force(former: Inspection) -> None:
    """Raises Refused where another draft of it stands already, or it is no issued report."""
    if former.state == InspectionState.DRAFT:
        raise Refused("This report is still being written: change it as it stands.")
    if other := Inspection.objects.filter(replaces=former).first():
        if other.state == InspectionState.DRAFT:
            raise Refused(f"It is being reissued already: the draft is number {other.number}.")
        raise Refused(f"It was replaced by number {other.number}: reissue that.")


def _copy_observations(
    former: Inspection, draft: Inspection, *, by: User, now: datetime, only: UUID | None = None, key: UUID | None = None
) -> list[Observation]:
    """Copies of the former report's observations (or of `only` one, as `key`) in the order of their numbers, with photos."""
    rows = former.observations.prefetch_related("photos").order_by("number")
    rows = rows.filter(pk=only) if only else rows
    formers = list(rows)
    codes = codes_at_issue(formers)
    copies = []
    for row, number in zip(formers, take_numbers("observation", len(formers)), strict=True):
        copy = Observation(id=key or new_id(), inspection=draft, draft=True, continues=row, **_values(row, COPIED))
        copy.code, copy.number = codes[row.pk], number
        copy.recorded_on, copy.recorded_at, copy.recorded_by = draft.inspected_on, now, by
        copy.first_recorded_on = min(row.first_recorded_on, draft.inspected_on)
        copies.append(copy)
    Observation.objects.bulk_create(copies)
    names = ("file", "width", "height", "taken", "caption", "added_by", "added_at")
    ObservationPhoto.objects.bulk_create(
        ObservationPhoto(observation=copy, **_values(photo, names))
        for copy, row in zip(copies, formers, strict=True)
        for photo in row.photos.all()
    )
    return copies


def _values(row: Any, names: Iterable[str]) -> dict[str, Any]:
    """The values of `row` for these columns; of a foreign key its key, so that nothing is read for it."""
    fields = (row._meta.get_field(name) for name in names)
    return {field.attname: getattr(row, field.attname) for field in fields}


def codes_at_issue(observations: Iterable[Observation]) -> dict[UUID, str]:
    """The code that each had when its report was issued: before the first decision on it, or as written. Two statements."""
    rows = list(observations)
    reviews = Review.objects.filter(observation__in=rows).order_by("observation", "at", "pk").distinct("observation")
    again = MadeSafe.objects.filter(observation__in=rows, ended=MadeSafeEnd.RECONNECTED)  # made it a C1 since
    ends = again.order_by("-ended_at").values_list("observation", "ended_at")
    changed = {key: at for key, at in ends if at}  # the first time each
    decided = reviews.values_list("observation", "code_before", "at")
    first = {key: code for key, code, at in decided if key not in changed or at < changed[key]}
    return {
        o.pk: first.get(o.pk, (rules.plain_code(o.code_written) or o.code) if o.pk in changed else o.code) for o in rows
    }


@operation
def bring_back(draft: Inspection, *, former: Observation, id: UUID, by: User, now: datetime) -> Observation:
    """Take an observation of the former report into its reissue again, after it was dropped. Again: the same copy."""
    ground.locked_site(draft.site)
    if made := ground.made_before(Observation, id, inspection_id=draft.pk):
        return made
    draft = draft_of(draft, by)
    if draft.replaces_id is None or former.inspection_id != draft.replaces_id:
        raise Refused("It does not stand in the report that this one replaces.")
    if there := draft.observations.filter(continues=former).first():
        return there
    [copy] = _copy_observations(draft.replaces, draft, by=by, now=now, only=former.pk, key=id)  # type: ignore[arg-type]
    facts = {"inspection": str(draft.pk), "number": copy.number, "continues": str(former.pk)}
    record(Verb.BROUGHT_BACK, site=draft.site_id, subject=copy, by=by, now=now, facts=facts)
    return copy


@operation
def delete_draft(inspection: Inspection, *, by: User, now: datetime, reason: str = "") -> None:
    """Delete a draft with its observations and limitations, while nothing hangs on them. Again after success: nothing.

    Raises Refused for an issued report, where something was made safe, told of or measured for an observation of it, and
    without a reason where it notes any: what was seen must not go without a word.
    """
    if not Inspection.objects.filter(pk=inspection.pk).exists():
        return
    ground.held_site(inspection.site)
    inspection = draft_of(inspection, by)
    rows = list(inspection.observations.select_for_update(of=("self",)).order_by("pk"))
    _nothing_hangs(inspection, rows)
    refuse_if_held(inspection.site_id)
    new = [row for row in rows if row.continues_id is None or inspection.replaces_id is None]
    reason = ground.said(reason, "Say why: it notes observations.", "reason") if new else reason.strip()
    facts = {"number": inspection.number, "observations": [f"{o.pk}:{o.code or 'none'}" for o in rows]}
    facts |= {"replaces": ground.key(inspection.replaces)}
    words = {"reason": reason}
    record(Verb.DELETED, site=inspection.site_id, subject=inspection, by=by, now=now, facts=facts, words=words)
    ObservationPhoto.objects.filter(observation__in=rows).delete()
    Observation.objects.filter(pk__in=[row.pk for row in rows]).delete()
    inspection.delete()


def _nothing_hangs(draft: Inspection, rows: list[Observation]) -> None:
    if draft.readings.exists():
        raise Refused("Readings were taken on this inspection: the draft stays.")
    keys = [row.pk for row in rows]
    held = Observation.objects.filter(pk__in=keys)
    if compared := held.filter(meter_comparisons__isnull=False).first():
        raise Refused(f"Meters were compared for observation {compared.number}: the draft stays.")
    safe, told = held.filter(made_safes__isnull=False), held.filter(danger_notices__isnull=False)
    numbers = sorted({*safe.values_list("number", flat=True), *told.values_list("number", flat=True)})
    if numbers:
        listed = ", ".join(map(str, numbers))
        raise Refused(f"Something was made safe or a danger notice given for observation {listed}: the draft stays.")


# --- the issue: called inside issue_inspection ------------------------------------------------------------------------


def must_be_answered(
    draft: Inspection,
    observations: Iterable[Observation],
    formers: Iterable[Observation],
    reason: str,
    by: User,
    now: datetime,
) -> list[Observation]:
    """The open observations of the former report that the reissue leaves out.

    Raises Refused where there are some without a reason, or where that report was replaced by another meanwhile,
    NotAllowed where one of them is dangerous and `by` decides no codes.
    """
    if draft.replaces and draft.replaces.state != InspectionState.ISSUED:
        raise Refused(FROZEN)
    kept = {o.continues_id for o in observations}
    out = [o for o in formers if o.inspection_id == draft.replaces_id and not o.ended and o.pk not in kept]
    if out and not reason.strip():
        numbers = ", ".join(f"{o.number} ({o.code or 'not coded'})" for o in sorted(out, key=lambda o: o.number))
        raise Refused(SAY_WHY_OUT.format(numbers), field="left_out_reason")
    if any(o.dangerous for o in out) and not policy.may_decide_codes(by, now=now):
        raise NotAllowed(QUALIFIED_OUT)
    return out


def inherit(copy: Observation, former: Observation, at_issue: str) -> bool:
    """Give a copy what was decided of its former since that was issued; whether its next step came with it.

    Only where its code was not corrected: a corrected code is decided anew. How the former ended goes over too, but for
    what rested on the code itself.
    """
    same = copy.code == at_issue
    if same:
        copy.code, copy.reviewed = former.code, former.reviewed
        copy.owner, copy.step_by = former.owner, former.step_by
    if former.ended and (same or former.ended not in (Ended.NO_CODE, Ended.FINDING)):
        copy.ended, copy.ended_on, copy.ended_reason = former.ended, former.ended_on, former.ended_reason
        copy.done_on = former.done_on
    return same


def take_over(pairs: Iterable[tuple[Observation, Observation]], *, by: User, now: datetime) -> dict[str, list[str]]:
    """What points at a locked former observation points at its copy from now on, for each (former, copy); as facts.

    A former that ended is spoken of as continued from now on: its copy tells how it ended. One that is open is carried
    over by the issue, as any other that is continued.
    """
    both = list(pairs)
    copies = {former.pk: copy for former, copy in both}
    later = Observation.objects.filter(continues__in=copies).exclude(pk__in=[copy.pk for copy in copies.values()])
    _point(later, "continues", copies)
    _point(NotSeenAgain.objects.filter(observation__in=copies), "observation", copies)
    _point(MeterComparison.objects.filter(observation__in=copies), "observation", copies)
    _tell_of(copies)
    facts: dict[str, list[str]] = {}
    for name in settings.WHEN_REPORT_IS_REISSUED if copies else ():
        facts |= import_string(name)(copies, now=now)
    for former, copy in both:
        if former.ended and former.ended != Ended.CONTINUED:
            _speak_of_the_copy(former, copy, by=by, now=now)
    return facts


def _point(rows: QuerySet[Any], name: str, copies: Mapping[UUID, Observation]) -> None:
    """Let the column `name` of each of `rows` name the copy of the observation that it names."""
    for key, former in list(rows.values_list("pk", name)):
        rows.model._default_manager.filter(pk=key).update(**{name: copies[former]})  # noqa: SLF001


def _tell_of(copies: Mapping[UUID, Observation]) -> None:
    """Danger notices are about the copies too; what they said is kept with them, as it was given."""
    told = DangerNotice.observations.through
    rows = told.objects.filter(observation__in=copies).values_list("dangernotice", "observation")
    told.objects.bulk_create(told(dangernotice_id=notice, observation=copies[key]) for notice, key in rows)


def _speak_of_the_copy(former: Observation, copy: Observation, *, by: User, now: datetime) -> None:
    before, former.ended = former.ended, Ended.CONTINUED
    former.version += 1
    former.save(update_fields=ENDED_FIELDS)
    told = {"ended": str(Ended.CONTINUED), "ended_before": before, "continued_by": str(copy.pk)}
    record(Verb.ENDED, site=former.site_id, subject=former, by=by, now=now, facts=told)


def replace(draft: Inspection, out: Iterable[Observation], reason: str, *, by: User, now: datetime) -> None:
    """Mark the former report replaced, withdraw what the reissue leaves out, and point at the reissue what pointed there."""
    former = draft.replaces
    if former is None:
        return
    former.state = InspectionState.REPLACED
    former.version += 1
    former.save(update_fields=["state", "version"])
    facts = {"replaced_by": str(draft.pk), "left_out": [str(o.pk) for o in out]}
    words = {"left_out_reason": reason.strip()}
    record(Verb.REPLACED, site=former.site_id, subject=former, by=by, now=now, facts=facts, words=words)
    for row in out:
        besides = close(row, ended=Ended.WITHDRAWN, reason=reason, now=now)
        told = {"ended": str(Ended.WITHDRAWN), "code": row.code} | besides
        record(Verb.ENDED, site=row.site_id, subject=row, by=by, now=now, facts=told, words={"reason": reason.strip()})
    Limitation.objects.filter(covered_by=former).update(covered_by=draft)
    Observation.objects.filter(missed_in=former).update(missed_in=draft)
    former.readings.update(inspection=draft)  # as they were judged


def settle_units_anew(draft: Inspection, *, by: User, now: datetime) -> None:
    """Work out anew when the next inspection is due of each unit that the former report settled, by those in force now.

    One entry for each unit that the reissue itself says nothing of and whose day changed.
    """
    rows = list(InspectionDue.objects.filter(after=draft.replaces_id).select_related("unit__site").order_by("pk"))
    if draft.replaces_id is None or not rows:
        return
    covered = set(draft.units.values_list("pk", flat=True))
    for before in rows:
        InspectionDue.objects.filter(unit=before.unit).delete()
        _, after = settle_anew(before.unit, by=by, now=now)
        InspectionDue.objects.filter(unit=before.unit).update(owner=before.owner_id)
        if before.unit_id not in covered and after != before.due_on:
            facts = {"unit": str(before.unit_id), "next_due_before": ground.iso(before.due_on)}
            facts |= {"next_due": ground.iso(after)}
            record(Verb.RECOUNTED, site=draft.site_id, subject=draft, by=by, now=now, facts=facts)
