"""What is done with an inspection as a whole: issued, reissued, deleted, its dates counted again, what it missed added."""

from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import Code
from inspections.models import Inspection, Observation
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Key, Text, Whole, verb
from remedials.desk.api.inspections.drafting import InspectionAct
from remedials.desk.api.inspections.ground import MOST_AT_ONCE, optional_key, placed, several
from remedials.desk.api.inspections.nouns import ObservationShown
from remedials.desk.api.inspections.reports import InspectionShown

MOST_SEEN = 20_000


class SeenOfDraft(serializers.Serializer):
    """An observation of the draft as you saw it."""

    number = Whole(min_value=1)
    version = Whole(min_value=1)


class Issued(serializers.Serializer):
    """The draft as you saw it: If-Match its version, `observations` and `limitations` all that stood in it.

    Where one of them came, changed or went since, nothing is issued. Left out, they are not compared.
    `left_out_reason`: why a reissue leaves out what the former report had and is still open.
    """

    left_out_reason = Text(required=False)
    observations = several(SeenOfDraft, required=False, max_length=MOST_SEEN)
    limitations: Any = serializers.ListField(child=Key(), required=False, max_length=MOST_AT_ONCE)

    example: dict[str, Any] = {}


@verb(InspectionShown, summary="Issue our own report, or take another firm's into the record.")
class IssueInspection(InspectionAct):
    """Our own report is issued by a qualified person; another firm's by those who take in reports."""

    versioned = True
    serializer_class = Issued

    def do(self, thing: Inspection, given: dict[str, Any]) -> Inspection:
        if self.seen != thing.version:
            raise ChangedMeanwhile("Somebody else changed these particulars meanwhile.", theirs=thing)
        doing = {name: value for name, value in self.doing.items() if name != "version"}
        reason = given["left_out_reason"]
        return operations.issue_inspection(thing, left_out_reason=reason, shown=_shown(thing, given), **doing)


def _shown(draft: Inspection, given: dict[str, Any]) -> operations.Shown:
    """The draft as it was seen; what was not said of it, as it stands."""
    said, limits = given.get("observations"), given.get("limitations")
    pairs = (
        draft.observations.values_list("number", "version")
        if said is None
        else ((one["number"], one["version"]) for one in said)
    )
    keys = draft.limitations.values_list("pk", flat=True) if limits is None else limits
    return operations.Shown(draft.version, dict(pairs), frozenset(keys))


class Reissued(serializers.Serializer):
    """What is wrong in the report as issued: it stands beside both reports. `id` of the draft is made by the sender."""

    id = Key()
    reason = Text()

    example = {"id": key("new"), "reason": "Circuit 5 is on board B"}


@verb(InspectionShown, status=201, summary="Begin a draft that corrects an issued report, with copies of all it holds.")
class ReissueInspection(InspectionAct):
    """The report stays in force until the draft is issued."""

    serializer_class = Reissued

    def do(self, thing: Inspection, given: dict[str, Any]) -> Inspection:
        return operations.reissue_inspection(thing, **given, **self.doing)


class Why(serializers.Serializer):
    """Why: needed where the draft notes observations of its own."""

    reason = Text(required=False)

    example = {"reason": "Begun twice"}


class Deleted(serializers.Serializer):
    """The draft that is gone."""

    id = serializers.UUIDField()
    number = serializers.IntegerField()


@verb(Deleted, summary="Delete a draft with what it notes.")
class DeleteDraft(InspectionAct):
    """Only a draft, and only while nothing was made safe, told of or measured for what it notes."""

    serializer_class = Why

    def do(self, thing: Inspection, given: dict[str, Any]) -> Any:
        gone = {"id": thing.pk, "number": thing.number}
        operations.delete_draft(thing, **given, **self.doing)
        return gone


class CountedAgain(serializers.Serializer):
    """How many dates changed."""

    changed = serializers.IntegerField()


@verb(CountedAgain, summary="Count the dates of a report again, after tenure, nation or the firm's policy was changed.")
class CountDatesAgain(InspectionAct):
    """The report itself stays as it is."""

    serializer_class = Nothing

    def do(self, thing: Inspection, given: dict[str, Any]) -> Any:
        return {"changed": operations.count_dates_again(thing, **self.doing)}


class Missed(serializers.Serializer):
    """What another firm's report should have had. `id` is made by the sender: the same again adds no second."""

    id = Key()
    unit = Key()
    board = optional_key()
    circuit = optional_key()
    place = Text(required=False)
    text = Text()
    code = serializers.ChoiceField(choices=Code.choices)

    example = {"id": key("new"), "unit": key("unit"), "text": "No RCD for the socket outside", "code": "C3"}


@verb(ObservationShown, status=201, summary="Add what another firm's report missed, as our own observation.")
class AddMissed(InspectionAct):
    """By a qualified person, recorded today; the report stays as it is."""

    right = Right.REVIEW_CODES
    serializer_class = Missed

    def do(self, thing: Inspection, given: dict[str, Any]) -> Observation:
        return operations.add_missed(thing, **placed(self, given), **self.doing)
