"""What is done about a danger at once: made safe, looked at again, connected again; told of in writing, and answered."""

from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import MadeSafeHow, NoticeAnswer, NoticeHow
from inspections.models import DangerNotice, MadeSafe, Observation
from jobsite.api.examples import key
from jobsite.ledger import made
from jobsite.people.rights import Right
from remedials.desk.api.ground import Act, Day, Key, Moment, Text, colleague, some, verb
from remedials.desk.api.inspections.dangers import MadeSafeShown, NoticeShown
from remedials.desk.api.inspections.ground import (
    MOST_AT_ONCE,
    WITH_A_FILE,
    BelowAct,
    Uploaded,
    optional_key,
    photograph,
)
from remedials.desk.api.inspections.nouns import ObservationShown

ANSWERS = [(value, label) for value, label in NoticeAnswer.choices if value]


class MadeSafeNow(serializers.Serializer):
    """A temporary action agreed with the duty-holder. `id` is made by the sender: the same again makes no second.

    `done_by` (you, unless named) did it at `done_at` (now, unless said). Its proof is a `photo`, in a multipart form, or why
    there can be none (`no_photo`). A lock has somebody who holds its key.
    """

    id = Key()
    how = serializers.ChoiceField(choices=MadeSafeHow.choices)
    what = Text(help_text="What exactly, and where, so that the next person finds it.")
    agreed_with = Text(help_text="The duty-holder: nothing is taken out of use without their agreement.")
    lock = Text(required=False)
    key_holder = Text(required=False)
    look_again_on = Day()
    looker = optional_key(help_text="Who looks again: whoever made it safe, unless named.")
    done_by = optional_key()
    done_at = Moment(required=False, allow_null=True, default=None)
    photo = Uploaded(help_text="JPEG, PNG or WebP, at most 20 MB.")
    no_photo = Text(required=False)

    example = {
        "id": key("new"),
        "how": "locked",
        "what": "Way 5 off, lock on the breaker",
        "agreed_with": "Petra Landlady",
        "lock": "14",
        "key_holder": "Petra Landlady",
        "look_again_on": "2026-02-10",
        "no_photo": "the camera was broken",
    }


@verb(MadeSafeShown, status=201, summary="Record that a danger was made safe for now.")
class MakeSafe(Act):
    """The defect stays open until it is remedied."""

    right = Right.INSPECT
    model = Observation
    serializer_class = MadeSafeNow
    parser_classes = WITH_A_FILE

    def do(self, thing: Observation, given: dict[str, Any]) -> MadeSafe:
        for name in ("looker", "done_by"):
            given[name] = colleague(given[name], name)
        request: Any = self.request
        if given["done_at"]:
            given["done_at"] = made.not_ahead(given["done_at"], now=request.now)
        given["photo"] = photograph(given["photo"])
        return operations.make_safe(thing, **given, **self.doing, made_at=request.made_at)


class MadeSafeAct(BelowAct):
    """A verb on one thing that was made safe."""

    model = MadeSafe
    right = Right.INSPECT


class LookedAgain(serializers.Serializer):
    """That it still holds, and when somebody looks again. `id` is made by the sender: the same again is the same look."""

    id = Key()
    look_again_on = Day()
    key_holder = Text(required=False, help_text="Who holds the key by now; empty: as before.")
    note = Text(required=False)

    example = {"id": key("new"), "look_again_on": "2026-02-17", "note": "The lock is on"}


@verb(MadeSafeShown, summary="Record that what was made safe was looked at and still holds.")
class LookAgain(MadeSafeAct):
    serializer_class = LookedAgain

    def do(self, thing: MadeSafe, given: dict[str, Any]) -> MadeSafe:
        request: Any = self.request
        return operations.look_again(thing, **given, **self.doing, made_at=request.made_at)


class Reconnected(serializers.Serializer):
    """Who reconnected it, and why."""

    reason = Text()

    example = {"reason": "The tenant took the lock off"}


@verb(ObservationShown, summary="Record that what was made safe is connected again: a C1, to be made safe today.")
class Reconnect(MadeSafeAct):
    """A qualified person has to look at its code again."""

    serializer_class = Reconnected

    def do(self, thing: MadeSafe, given: dict[str, Any]) -> Observation:
        request: Any = self.request
        return operations.reconnect(thing, **given, **self.doing, made_at=request.made_at)


# --- notices ----------------------------------------------------------------------------------------------------------


class NoticeGiven(serializers.Serializer):
    """What was said in writing of open observations of one site, to whom. `id` is made by the sender."""

    id = Key()
    observations: Any = serializers.ListField(child=Key(), allow_empty=False, max_length=MOST_AT_ONCE)
    why = Text(help_text="Why it is dangerous.")
    advised = Text()
    given_to = Text(help_text="Name, and what they are at the site.")
    how = serializers.ChoiceField(choices=NoticeHow.choices)

    example = {
        "id": key("new"),
        "observations": [key("observation")],
        "why": "Live parts can be touched",
        "advised": "Do not use it until a competent person has put it right",
        "given_to": "Petra Landlady",
        "how": "hand",
    }


@verb(NoticeShown, status=201, summary="Record that somebody was told of a danger in writing.")
class GiveNotice(Act):
    """For any open observations of one site but C3, also of a draft. Its document has an address of its own."""

    right = Right.INSPECT
    model = DangerNotice
    serializer_class = NoticeGiven

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> DangerNotice:
        about = some(self, Observation, given.pop("observations"), "observations")
        request: Any = self.request
        return operations.give_danger_notice(about, **given, **self.doing, made_at=request.made_at)


class NoticeAnswered(serializers.Serializer):
    """What was answered, by whom, in what words; of a refusal, their reason as they gave it."""

    answer = serializers.ChoiceField(choices=ANSWERS)
    answered_by = Text(required=False)
    answer_note = Text(required=False)

    example = {"answer": "acknowledged", "answered_by": "Petra Landlady"}


@verb(NoticeShown, summary="Record what was answered to a notice of danger.")
class AnswerNotice(BelowAct):
    """It is answered once; the same answer again changes nothing."""

    right = Right.INSPECT
    model = DangerNotice
    serializer_class = NoticeAnswered

    def do(self, thing: DangerNotice, given: dict[str, Any]) -> DangerNotice:
        request: Any = self.request
        return operations.answer_notice(thing, **given, **self.doing, made_at=request.made_at)
