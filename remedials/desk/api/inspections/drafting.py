"""An inspection or another firm's report is begun, its particulars changed, and noted what it does not cover."""

from collections.abc import Iterable
from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import InspectionKind, InspectionState, Outcome
from inspections.models import Inspection, Limitation
from inspections.standards.editions import Edition
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Board, Site, Unit
from jobsite.refused import Refused
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, Whole, one, some, verb
from remedials.desk.api.inspections.ground import (
    WITH_A_FILE,
    BelowAct,
    Changed,
    Uploaded,
    kept,
    keys,
    optional_key,
    placed,
)
from remedials.desk.api.inspections.reports import InspectionShown, LimitationShown

EDITIONS = [(edition.value, edition.label) for edition in Edition]
OUTCOMES = [(value, label) for value, label in Outcome.choices if value]
LONGEST_LIMIT_DAYS = 3650
LIMIT = "Days, as the report itself states the limit for remedial work: 0 for at once; null where it states none."


class InspectionAct(Act):
    """A verb on one inspection."""

    model = Inspection
    right = Right.INSPECT


def limit_days() -> Whole:
    """A limit in days that a report states."""
    return Whole(required=False, allow_null=True, min_value=0, max_value=LONGEST_LIMIT_DAYS, help_text=LIMIT)


def must_serve(boards: Iterable[Board], units: Iterable[Unit]) -> None:
    """Raises Refused for a board that serves other units than those that are covered."""
    covered = {unit.pk for unit in units}
    serves = {board: {unit.pk for unit in board.units.all()} for board in boards}
    if strange := [board.designation for board, theirs in serves.items() if theirs and not theirs & covered]:
        names = ", ".join(strange)
        sentence = f"{names} serves no unit that is covered: name its unit as well, or leave it out."
        raise Refused(sentence, field="boards")


class InspectionBegun(serializers.Serializer):
    """The particulars of an inspection. `id` is made by the sender: the same again begins no second.

    `edition`: the one that the report names, by which it is judged for good. `units` may be left out at a site that has one.
    Names are empty for our own: then the firm's and yours. The report itself comes as `file`, in a multipart form.
    """

    id = Key()
    kind = serializers.ChoiceField(choices=InspectionKind.choices, required=False, default="periodic")
    other_firm = serializers.BooleanField(required=False, default=False)
    inspected_on = Day()
    edition = serializers.ChoiceField(choices=EDITIONS)
    units: Any = keys()
    boards: Any = keys()
    firm_name = Text(required=False)
    inspector_name = Text(required=False)
    qualified_person_name = Text(required=False)
    reference = Text(required=False)
    extent = Text(required=False)
    next_due_on = Day(required=False, allow_null=True)
    remedy_limit_days = limit_days()
    outcome_written = serializers.ChoiceField(choices=OUTCOMES, required=False, allow_blank=True, default="")
    file = Uploaded(help_text="At most 20 MB, kept byte for byte.")

    example = {
        "id": key("new"),
        "inspected_on": "2026-02-02",
        "edition": Edition.A2_2022.value,
        "units": [key("unit")],
        "extent": "The whole installation",
    }


@verb(InspectionShown, status=201, summary="Begin a draft of an inspection, or of another firm's report.")
class StartInspection(Act):
    """Another firm's report is entered by those who take in reports."""

    right = Right.INSPECT
    model = Site
    serializer_class = InspectionBegun
    parser_classes = WITH_A_FILE

    def do(self, thing: Site, given: dict[str, Any]) -> Inspection:
        given["units"] = self._units(thing, given["units"])
        given["boards"] = some(self, Board, given["boards"], "boards")
        must_serve(given["boards"], given["units"])
        given |= kept(given.pop("file"), now=self.request.now)  # type: ignore[attr-defined]
        return operations.start_inspection(thing, **given, **self.doing)

    def _units(self, site: Site, named: list[Any]) -> list[Unit]:
        if named:
            return some(self, Unit, named, "units")
        there = list(Unit.objects.filter(site=site, retired_at=None)[:2])
        if len(there) != 1:
            raise Refused("This site has several units: name those that are covered.", field="units")
        return there


class ParticularsChanged(serializers.Serializer):
    """What is to be otherwise in the particulars of a draft; what is left out stays as it is."""

    kind = serializers.ChoiceField(choices=InspectionKind.choices, required=False)
    inspected_on = Day(required=False)
    edition = serializers.ChoiceField(choices=EDITIONS, required=False)
    units: Any = serializers.ListField(child=Key(), required=False, allow_empty=False, max_length=500)
    boards: Any = serializers.ListField(child=Key(), required=False, max_length=500)
    firm_name = Changed()
    inspector_name = Changed()
    qualified_person_name = Changed()
    reference = Changed()
    extent = Changed()
    next_due_on = Day(required=False, allow_null=True)
    remedy_limit_days = limit_days()
    outcome_written = serializers.ChoiceField(choices=OUTCOMES, required=False, allow_blank=True)
    file = Uploaded(help_text="At most 20 MB, in a multipart form; without a new one the file on record stays.")

    example = {"reference": "R-2026-17", "next_due_on": "2031-02-02"}


@verb(InspectionShown, summary="Change the particulars of a draft.")
class EditInspection(InspectionAct):
    """Its observations take over a new date of inspection."""

    versioned = True
    serializer_class = ParticularsChanged
    parser_classes = WITH_A_FILE

    def do(self, thing: Inspection, given: dict[str, Any]) -> Inspection:
        for name, model in (("units", Unit), ("boards", Board)):
            if name in given:
                given[name] = some(self, model, given[name], name)
        if "boards" in given or "units" in given:
            must_serve(given.get("boards", thing.boards.all()), given.get("units", thing.units.all()))
        given |= kept(given.pop("file"), now=self.request.now)  # type: ignore[attr-defined]
        return operations.edit_inspection(thing, **given, **self.doing)


# --- what it does not cover -------------------------------------------------------------------------------------------


class LimitationNoted(serializers.Serializer):
    """What is not covered, why, and with whom that was agreed, by name. `id` is made by the sender."""

    id = Key()
    what = Text()
    why = Text(required=False)
    agreed_with = Text(required=False)
    unit = optional_key(help_text="null: all of them.")
    board = optional_key()

    example = {"id": key("new"), "what": "The roof space", "why": "no safe access", "agreed_with": "Petra Landlady"}


@verb(LimitationShown, status=201, summary="Note on a draft what the inspection does not cover.")
class AddLimitation(InspectionAct):
    serializer_class = LimitationNoted

    def do(self, thing: Inspection, given: dict[str, Any]) -> Limitation:
        return operations.add_limitation(thing, **placed(self, given), **self.doing)


class LimitationAct(BelowAct):
    """A verb on one limitation."""

    model = Limitation
    right = Right.INSPECT


@verb(InspectionShown, summary="Take a limitation off a draft.")
class RemoveLimitation(LimitationAct):
    """The answer shows the draft."""

    serializer_class = Nothing

    def do(self, thing: Limitation, given: dict[str, Any]) -> Inspection:
        operations.remove_limitation(thing, **self.doing)
        return thing.inspection


class CoveredBy(serializers.Serializer):
    """Which later issued inspection of the same site covered it."""

    covered_by = Key()

    example = {"covered_by": key("inspection")}


@verb(LimitationShown, summary="Say which later inspection covered what an earlier one left out.")
class CoverLimitation(LimitationAct):
    serializer_class = CoveredBy

    def do(self, thing: Limitation, given: dict[str, Any]) -> Limitation:
        later = one(self, Inspection, given["covered_by"], "covered_by")
        report = thing.inspection
        issued = later.state == InspectionState.ISSUED and later.pk != report.pk and later.site_id == report.site_id
        if not issued or later.inspected_on < report.inspected_on:
            raise Refused("Choose a later issued inspection of this site.", field="covered_by")
        return operations.cover_limitation(thing, covered_by=later, **self.doing)
