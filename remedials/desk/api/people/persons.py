"""What may be done with people: invite, change, leave, return; competence, skills, hours, days away."""

from typing import Any

from django.db import transaction
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people import operations
from jobsite.people.invitations import mail_first_password
from jobsite.people.models import Competence, Leave, Skill, User, WorkingWeek
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.fields import Changes, Line, Nothing
from remedials.desk.api.ground import Day, Key, verb
from remedials.desk.api.people.ground import FirmAct, New
from remedials.desk.api.people.nouns import ROLES, CompetenceShown, LeaveShown, PersonShown, SkillShown, WeekShown

NOT_MAILED = (
    "The mail server did not take the message, so nobody was invited. Try again later, or invite on the page, which shows "
    "the address for the first password."
)


class PersonAct(FirmAct):
    """A verb on one person."""

    model = User
    right = Right.KEEP_PEOPLE


def roles() -> Any:
    """One role at least."""
    return serializers.ListField(child=serializers.ChoiceField(choices=ROLES), allow_empty=False, max_length=len(ROLES))


def must_be_mailed(user: User, path: str) -> None:
    """Mail the link of an invitation. Raises Refused where the mail server did not take it: nothing else tells the link here,
    so whoever calls this takes the invitation back, and the program may send it again."""
    if not mail_first_password(user, path):
        raise Refused(NOT_MAILED)


class Invited(serializers.Serializer):
    """Somebody to invite. `id` is made by the sender: the same again makes no second."""

    id = Key()
    email = serializers.EmailField(max_length=254)
    name = Line()
    phone = Line(required=False)
    roles = roles()
    subcontractor = serializers.BooleanField(required=False, default=False)

    example = {"id": key("new"), "email": "nora.newcomer@example.com", "name": "Nora Newcomer", "roles": ["office"]}


@verb(PersonShown, status=201, summary="Invite a person; the link for the first password goes to them by e-mail.")
class Invite(New):
    model = User
    right = Right.KEEP_PEOPLE
    serializer_class = Invited

    def do(self, thing: None, given: dict[str, Any]) -> User:
        with transaction.atomic():
            user, path = operations.invite_person(**given, **self.doing)
            must_be_mailed(user, path)
        return user


@verb(PersonShown, summary="Send another link for the first password.")
class InviteAgain(PersonAct):
    serializer_class = Nothing

    def do(self, thing: User, given: dict[str, Any]) -> User:
        with transaction.atomic():
            must_be_mailed(thing, operations.invite_again(thing, **self.doing))
        return thing


class PersonEdited(Changes):
    """What is to be changed of a person; what is left out stays. A place is both: latitude and longitude, in degrees."""

    name = Line()
    phone = Line(required=False)
    roles = roles()
    subcontractor = serializers.BooleanField()
    insured_until = Day(allow_null=True)
    apprentice = serializers.BooleanField()
    home_postcode = Line(required=False)
    home_latitude = serializers.DecimalField(8, 5, min_value=-90, max_value=90, allow_null=True)
    home_longitude = serializers.DecimalField(8, 5, min_value=-180, max_value=180, allow_null=True)

    example = {"phone": "01632 960199", "home_latitude": "52.50000", "home_longitude": "-1.90000"}


@verb(PersonShown, summary="Change a person.")
class Edit(PersonAct):
    versioned = True
    serializer_class = PersonEdited

    def do(self, thing: User, given: dict[str, Any]) -> User:
        return operations.edit_person(thing, **given, **self.doing)


@verb(PersonShown, summary="Record that a person left the firm: their account, tokens and addresses end at once.")
class Leaves(PersonAct):
    serializer_class = Nothing

    def do(self, thing: User, given: dict[str, Any]) -> User:
        return operations.person_left(thing, **self.doing)


@verb(PersonShown, summary="Record that a person came back to the firm.")
class Returns(PersonAct):
    serializer_class = Nothing

    def do(self, thing: User, given: dict[str, Any]) -> User:
        return operations.person_returned(thing, **self.doing)


# --- what they can do -------------------------------------------------------------------------------------------------


class CompetenceRecorded(serializers.Serializer):
    """Since when, until which last day (null: for good), and what shows it. `id` is made by the sender."""

    id = Key()
    since = Day()
    until = Day(required=False, allow_null=True, default=None)
    evidence = Line()

    example = {"id": key("new"), "since": "2026-02-01", "evidence": "Certificate 2391/4417"}


@verb(CompetenceShown, status=201, summary="Record that a person is a qualified person.")
class RecordCompetence(PersonAct):
    serializer_class = CompetenceRecorded

    def do(self, thing: User, given: dict[str, Any]) -> Competence:
        return operations.record_competence(thing, **given, **self.doing)


class LastDay(serializers.Serializer):
    """The last day on which it holds."""

    until = Day()

    example = {"until": "2026-12-31"}


@verb(CompetenceShown, summary="Set the last day of a competence.")
class EndCompetence(FirmAct):
    model = Competence
    right = Right.KEEP_PEOPLE
    serializer_class = LastDay

    def do(self, thing: Competence, given: dict[str, Any]) -> Competence:
        return operations.end_competence(thing, **given, **self.doing)


class SkillRecorded(serializers.Serializer):
    """A skill, named as remedials name it. `id` is made by the sender."""

    id = Key()
    name = Line()
    since = Day()
    until = Day(required=False, allow_null=True, default=None)
    evidence = Line(required=False)

    example = {"id": key("new"), "name": "Emergency lighting", "since": "2026-02-01"}


@verb(SkillShown, status=201, summary="Record what a person can do.")
class RecordSkill(PersonAct):
    serializer_class = SkillRecorded

    def do(self, thing: User, given: dict[str, Any]) -> Skill:
        return operations.record_skill(thing, **given, **self.doing)


@verb(SkillShown, summary="Set the last day of a skill.")
class EndSkill(FirmAct):
    model = Skill
    right = Right.KEEP_PEOPLE
    serializer_class = LastDay

    def do(self, thing: Skill, given: dict[str, Any]) -> Skill:
        return operations.end_skill(thing, **given, **self.doing)


# --- when they are there ----------------------------------------------------------------------------------------------


class ShiftSet(serializers.Serializer):
    """The hours of a weekday, London's time; 0 is Monday."""

    weekday = serializers.IntegerField(min_value=0, max_value=6)
    start = serializers.TimeField()
    end = serializers.TimeField()


class WeekSet(serializers.Serializer):
    """Hours of the week from a day on; a weekday that is missing is not worked. `id` is made by the sender."""

    id = Key()
    holds_from = Day()
    shifts = serializers.ListField(child=ShiftSet(), allow_empty=False, max_length=7)

    example = {
        "id": key("new"),
        "holds_from": "2026-03-02",
        "shifts": [{"weekday": 0, "start": "08:00", "end": "16:30"}],
    }


@verb(WeekShown, summary="Set a person's hours of the week.")
class SetWeek(PersonAct):
    serializer_class = WeekSet

    def do(self, thing: User, given: dict[str, Any]) -> WorkingWeek:
        hours = {one["weekday"]: (one["weekday"], one["start"], one["end"]) for one in given.pop("shifts")}
        return operations.set_working_week(thing, shifts=hours.values(), **given, **self.doing)


class LeaveRecorded(serializers.Serializer):
    """Days away, both included; why is not asked. `id` is made by the sender."""

    id = Key()
    first = Day()
    last = Day()
    what = serializers.ChoiceField(choices=["leave", "training", "away"], required=False, default="leave")

    example = {"id": key("new"), "first": "2026-04-06", "last": "2026-04-10"}


@verb(LeaveShown, status=201, summary="Note days on which a person is away.")
class RecordLeave(PersonAct):
    right = Right.BOOK
    serializer_class = LeaveRecorded

    def do(self, thing: User, given: dict[str, Any]) -> Leave:
        return operations.record_leave(thing, **given, **self.doing)


@verb(LeaveShown, summary="They are there after all.")
class WithdrawLeave(FirmAct):
    model = Leave
    right = Right.BOOK
    serializer_class = Nothing

    def do(self, thing: Leave, given: dict[str, Any]) -> Leave:
        return operations.withdraw_leave(thing, **self.doing)
