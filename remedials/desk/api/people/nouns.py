"""People, what they can do, when they are there, and their instruments, to read. What is not a field here is not given out."""

from typing import Any

import django_filters
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.people.models import (
    Competence,
    Instrument,
    InstrumentCheck,
    InstrumentFault,
    Leave,
    Shift,
    Skill,
    User,
    WorkingWeek,
)
from jobsite.people.rights import Right, Role
from remedials.desk.api.reading import YES_OR_NO, Archived, List, OfTheFirm, One

ROLES = [(role.value, role.value) for role in Role]


class PersonShown(serializers.ModelSerializer):
    """A person of the firm. `home_…`: where their day begins."""

    roles: Any = serializers.ListField(child=serializers.ChoiceField(choices=ROLES))

    class Meta:
        model = User
        fields = [
            "id", "name", "email", "phone", "roles", "subcontractor", "insured_until", "apprentice", "home_postcode",
            "home_latitude", "home_longitude", "is_active", "version",
        ]  # fmt: skip


class PersonFilter(FilterSet):
    active = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_active", label="has not left the firm")
    role = django_filters.ChoiceFilter(choices=ROLES, method="by_role", label="has this role")

    def by_active(self, rows: Any, name: str, value: str) -> Any:
        return rows.filter(is_active=value == "true")

    def by_role(self, rows: Any, name: str, value: str) -> Any:
        return rows.filter(roles__contains=[value])


class OfPerson(FilterSet):
    person = django_filters.UUIDFilter(field_name="user_id", label="whose")


class OfInstrument(FilterSet):
    instrument = django_filters.UUIDFilter(field_name="instrument_id")


class CompetenceShown(serializers.ModelSerializer):
    """That the firm holds somebody to be a qualified person; `until`: the last day, null for good."""

    class Meta:
        model = Competence
        fields = ["id", "user", "kind", "since", "until", "ended", "evidence", "recorded_by"]


class SkillShown(serializers.ModelSerializer):
    """That somebody can do a kind of work; `until`: the last day, null for good."""

    class Meta:
        model = Skill
        fields = ["id", "user", "name", "since", "until", "ended", "evidence", "recorded_by"]


class ShiftShown(serializers.ModelSerializer):
    """Hours of a weekday, London's time; 0 is Monday."""

    class Meta:
        model = Shift
        fields = ["weekday", "start", "end"]


class WeekShown(serializers.ModelSerializer):
    """Somebody's hours of the week from a day on; a weekday that is missing is not worked."""

    shifts = ShiftShown(many=True, read_only=True)

    class Meta:
        model = WorkingWeek
        fields = ["id", "user", "holds_from", "shifts", "recorded_by", "version"]


class LeaveShown(serializers.ModelSerializer):
    """Days on which somebody is away, both included."""

    class Meta:
        model = Leave
        fields = ["id", "user", "first", "last", "what", "withdrawn_at", "recorded_by"]


class LeaveFilter(OfPerson):
    current = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_current", label="not withdrawn")

    def by_current(self, rows: Any, name: str, value: str) -> Any:
        return rows.filter(withdrawn_at__isnull=value == "true")


class InstrumentShown(serializers.ModelSerializer):
    """A test instrument; `check_due`: null where its readings do not count."""

    class Meta:
        model = Instrument
        fields = ["id", "name", "serial_number", "checked_on", "check_due", "archived_at", "version"]


class InstrumentFilter(Archived):
    gone = "archived_at"


class CheckShown(serializers.ModelSerializer):
    """An accuracy check of an instrument. `due`: the next calibration."""

    class Meta:
        model = InstrumentCheck
        fields = [
            "id", "instrument", "kind", "checked_on", "due", "result", "by_whom", "certificate", "note", "recorded_by",
            "recorded_at",
        ]  # fmt: skip


class FaultShown(serializers.ModelSerializer):
    """That an instrument was found to measure wrongly: what it showed after `last_good_on` is doubtful."""

    class Meta:
        model = InstrumentFault
        fields = ["id", "instrument", "last_good_on", "found_on", "what", "recorded_by", "recorded_at"]


def noun(model: Any, shown: Any, filters: Any, right: Right, *, many: str, one: str, name: str) -> tuple[Any, Any]:
    """The list and the row of one kind: `name` begins the names of both views."""
    rows = {"queryset": model, "serializer_class": shown, "right": right, "ordering": "id"}
    listed = type(f"{name}List", (OfTheFirm, List), rows | {"filterset_class": filters, "__module__": __name__})
    single = type(f"{name}One", (OfTheFirm, One), rows | {"__module__": __name__})
    described = extend_schema_view(get=extend_schema(summary=many)), extend_schema_view(get=extend_schema(summary=one))
    return described[0](listed), described[1](single)


PEOPLE = noun(User.objects.all(), PersonShown, PersonFilter, Right.KEEP_PEOPLE,
              many="People of the firm.", one="One person.", name="Person")  # fmt: skip
COMPETENCES = noun(Competence.objects.all(), CompetenceShown, OfPerson, Right.KEEP_PEOPLE,
                   many="Who is a qualified person, and when.", one="One record of competence.", name="Competence")  # fmt: skip
SKILLS = noun(Skill.objects.all(), SkillShown, OfPerson, Right.KEEP_PEOPLE,
              many="What people can do.", one="One skill of somebody.", name="Skill")  # fmt: skip
WEEKS = noun(WorkingWeek.objects.prefetch_related("shifts"), WeekShown, OfPerson, Right.KEEP_PEOPLE,
             many="Hours of the week.", one="One person's hours of the week from a day on.", name="Week")  # fmt: skip
LEAVES = noun(Leave.objects.all(), LeaveShown, LeaveFilter, Right.BOOK,
              many="Who is away.", one="Days away of one person.", name="Leave")  # fmt: skip
INSTRUMENTS = noun(Instrument.objects.all(), InstrumentShown, InstrumentFilter, Right.INSPECT,
                   many="Test instruments.", one="One test instrument.", name="Instrument")  # fmt: skip
CHECKS = noun(InstrumentCheck.objects.all(), CheckShown, OfInstrument, Right.INSPECT,
              many="Accuracy checks of instruments.", one="One accuracy check.", name="Check")  # fmt: skip
