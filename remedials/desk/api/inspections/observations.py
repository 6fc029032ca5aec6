"""What may be done with observations: take in a report of a defect, decide a code, give the next step to somebody."""

from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import Code, Decision
from inspections.models import Observation
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Board, Circuit, Site, Unit
from remedials.desk.api.ground import Act, Day, Key, Text, colleague, one, verb
from remedials.desk.api.inspections.nouns import ObservationShown


class DefectReported(serializers.Serializer):
    """What somebody said about a defect. `id` is made by the sender: the same again makes no second row."""

    id = Key()
    unit = Key()
    text = Text()
    reported_by = Text()
    board = Key(required=False, allow_null=True)
    circuit = Key(required=False, allow_null=True)
    place = Text(required=False)
    owner = Key(required=False, allow_null=True)
    step_by = Day(required=False, allow_null=True)
    may_be_dangerous = serializers.BooleanField(required=False, default=False)

    example = {
        "id": key("new"),
        "unit": key("unit"),
        "text": "The board hums",
        "reported_by": "Tina Tenant, 01632 960001",
        "may_be_dangerous": True,
    }


@verb(
    ObservationShown, status=201, summary="Take in a report of a defect at a site; it has no code until somebody looks."
)
class ReportDefect(Act):
    right = Right.REPORT_DEFECT
    model = Site
    serializer_class = DefectReported

    def do(self, thing: Any, given: dict[str, Any]) -> Observation:
        places = {"unit": Unit, "board": Board, "circuit": Circuit}
        found = {name: one(self, model, given.pop(name), name) for name, model in places.items() if given.get(name)}
        owner = colleague(given.pop("owner", None), "owner")
        return operations.report_defect(thing, **given | found, owner=owner, **self.doing)


class CodeDecided(serializers.Serializer):
    """A qualified person's decision on the version that If-Match names: another's change in between is found out."""

    decision = serializers.ChoiceField(choices=Decision.choices)
    code = serializers.ChoiceField(choices=Code.choices, required=False, allow_blank=True, default="")
    reason = Text(required=False)

    example = {"decision": "recode", "code": "C3", "reason": "The cover is there; its label is missing"}


@verb(ObservationShown, summary="Decide the code of an observation.")
class Review(Act):
    right = Right.REVIEW_CODES
    versioned = True
    model = Observation
    serializer_class = CodeDecided

    def do(self, thing: Any, given: dict[str, Any]) -> Observation:
        return operations.review(thing, **given, **self.doing).observation


class StepGiven(serializers.Serializer):
    """Who takes the next step, and by when."""

    owner = Key()
    step_by = Day()
    reason = Text(required=False)

    example = {"owner": key("user"), "step_by": "2026-02-05"}


@verb(ObservationShown, summary="Give an observation's next step to somebody.")
class TakeOn(Act):
    right = Right.INSPECT
    model = Observation
    serializer_class = StepGiven

    def do(self, thing: Any, given: dict[str, Any]) -> Observation:
        owner = colleague(given.pop("owner"), "owner")
        return operations.take_on(thing, owner=owner, **given, **self.doing)
