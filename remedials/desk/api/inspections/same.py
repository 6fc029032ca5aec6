"""The same defect seen twice: still there?, which earlier one it is, that it is another, that it is there after all."""

from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import Ended, StillThere
from inspections.models import Inspection, NotSeenAgain, Observation
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Key, Text, one, verb
from remedials.desk.api.inspections.drafting import InspectionAct
from remedials.desk.api.inspections.nouns import ObservationShown
from remedials.desk.api.inspections.reports import InspectionShown, NotSeenShown

ANSWERS = [(value, label) for value, label in StillThere.choices if value]


def earlier_of(view: Act, inspection: Inspection, given: dict[str, Any]) -> Observation:
    """The observation of the same site that the body names. Raises ValidationError as `one` does."""
    found: Observation = one(view, Observation, given["observation"], "observation")
    if found.site_id != inspection.site_id:
        raise Refused("It is not at the site of this inspection.", field="observation")
    return found


class StillThereAsIs(serializers.Serializer):
    """The earlier observation that is still there. `id` of the new one is made by the sender."""

    id = Key()
    observation = Key()

    example = {"id": key("new"), "observation": key("observation")}


@verb(ObservationShown, status=201, summary="Note on a draft that an earlier observation is still there, as it was.")
class NoteAgain(InspectionAct):
    """With the code in force, continuing the earlier one. Noted again already, by whomever: that one is answered."""

    serializer_class = StillThereAsIs

    def do(self, thing: Inspection, given: dict[str, Any]) -> Observation:
        earlier = earlier_of(self, thing, given)
        return operations.note_again(thing, earlier=earlier, id=given["id"], **self.doing)


class NotSeenAnswered(serializers.Serializer):
    """What is said of an earlier observation: not there any more, with what was `seen` there instead, or not looked at."""

    observation = Key()
    answer = serializers.ChoiceField(choices=ANSWERS)
    seen = Text(required=False)

    example = {"observation": key("observation"), "answer": "not-looked"}


@verb(NotSeenShown, summary="Say that an earlier observation is not there any more, or that nobody looked.")
class AnswerNotSeen(InspectionAct):
    """On a draft it counts from the issue; on an issued report "gone" takes a qualified person and ends it at once."""

    serializer_class = NotSeenAnswered

    def do(self, thing: Inspection, given: dict[str, Any]) -> NotSeenAgain:
        seen = earlier_of(self, thing, given)
        return operations.answer_not_seen(
            thing, observation=seen, answer=given["answer"], seen=given["seen"], **self.doing
        )


class AskedAgain(serializers.Serializer):
    """Of which observation the answer is taken back."""

    observation = Key()

    example = {"observation": key("observation")}


@verb(InspectionShown, summary="Take back what was said of an earlier observation: it is asked about again.")
class TakeBackAnswer(InspectionAct):
    """The answer shows the inspection. Nothing said: nothing happens."""

    serializer_class = AskedAgain

    def do(self, thing: Inspection, given: dict[str, Any]) -> Inspection:
        operations.take_back_answer(thing, observation=earlier_of(self, thing, given), **self.doing)
        return thing


# --- one observation and another --------------------------------------------------------------------------------------


class SameAct(Act):
    """A verb on one observation."""

    model = Observation
    right = Right.INSPECT


class SameAs(serializers.Serializer):
    """The earlier open observation of the same defect, at the same site: it ends here, and its age goes on."""

    earlier = Key()

    example = {"earlier": key("observation")}


@verb(ObservationShown, summary="Say that an observation on record is of the same defect as an earlier open one.")
class ContinueEarlier(SameAct):
    """The earlier one ends. Its age, what was made safe and work that is planned go over."""

    serializer_class = SameAs

    def do(self, thing: Observation, given: dict[str, Any]) -> Observation:
        earlier = one(self, Observation, given["earlier"], "earlier")
        return operations.continue_earlier(thing, earlier=earlier, **self.doing)


class Reason(serializers.Serializer):
    """Why."""

    reason = Text()

    example = {"reason": "The other one is at the board in the hall"}


@verb(ObservationShown, summary="Take back that an observation continues an earlier one: both are open.")
class PartFromEarlier(SameAct):
    """What went over goes back, each has its own dates."""

    serializer_class = Reason

    def do(self, thing: Observation, given: dict[str, Any]) -> Observation:
        return operations.part_from_earlier(thing, **given, **self.doing)


@verb(ObservationShown, summary="Open again what was found gone: it is there after all.")
class ThereAfterAll(SameAct):
    """With the dates that it had."""

    serializer_class = Reason

    def do(self, thing: Observation, given: dict[str, Any]) -> Observation:
        if thing.ended not in (Ended.OPEN, Ended.GONE):
            raise Refused("It was not found gone.")
        return operations.reopen_observation(thing, **given, **self.doing)
