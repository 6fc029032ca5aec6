"""What may be done with test instruments."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people import operations
from jobsite.people.models import Instrument, InstrumentCheck, InstrumentFault
from jobsite.people.rights import Right
from remedials.desk.api.fields import Line, Nothing, Words
from remedials.desk.api.ground import Day, Key, verb
from remedials.desk.api.people.ground import FirmAct, New
from remedials.desk.api.people.nouns import CheckShown, FaultShown, InstrumentShown

Kind, Result = InstrumentCheck.Kind, InstrumentCheck.Result


class InstrumentAct(FirmAct):
    """A verb on one instrument."""

    model = Instrument
    right = Right.KEEP_PEOPLE


class InstrumentAdded(serializers.Serializer):
    """A test instrument. `id` is made by the sender: the same again makes no second."""

    id = Key()
    name = Line()
    serial_number = Line()

    example = {"id": key("new"), "name": "Loop tester", "serial_number": "LT-20481"}


@verb(InstrumentShown, status=201, summary="Add a test instrument.")
class Add(New):
    model = Instrument
    right = Right.KEEP_PEOPLE
    serializer_class = InstrumentAdded

    def do(self, thing: None, given: dict[str, Any]) -> Instrument:
        return operations.add_instrument(**given, **self.doing)


class Checked(serializers.Serializer):
    """An accuracy check. `due`: the next calibration, of one that it passed; `last_good_on`: where it was wrong.

    Engineers record comparisons, calibrations are a manager's. `id` is made by the sender.
    """

    id = Key()
    checked_on = Day()
    by_whom = Line()
    kind = serializers.ChoiceField(choices=Kind.choices, required=False, default=Kind.CALIBRATION.value)
    result = serializers.ChoiceField(choices=Result.choices, required=False, default=Result.PASSED.value)
    due = Day(required=False, allow_null=True, default=None)
    certificate = Line(required=False)
    note = Words(required=False)
    last_good_on = Day(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "checked_on": "2026-02-02", "by_whom": "Meridian Calibration", "kind": "comparison"}


@verb(CheckShown, status=201, summary="Record an accuracy check of an instrument.")
class Check(InstrumentAct):
    right = Right.INSPECT  # a calibration takes a manager: the operation decides
    serializer_class = Checked

    def do(self, thing: Instrument, given: dict[str, Any]) -> InstrumentCheck:
        return operations.check_instrument(thing, **given, **self.doing)


class FoundWrong(serializers.Serializer):
    """Since when what it showed is doubtful, and how it was wrong. `id` is made by the sender."""

    id = Key()
    last_good_on = Day()
    found_on = Day()
    what = Words()

    example = {
        "id": key("new"),
        "last_good_on": "2026-01-05",
        "found_on": "2026-02-03",
        "what": "Shows 20 % too little",
    }


@verb(FaultShown, status=201, summary="Record that an instrument was found to measure wrongly.")
class FindWrong(InstrumentAct):
    serializer_class = FoundWrong

    def do(self, thing: Instrument, given: dict[str, Any]) -> InstrumentFault:
        return operations.find_instrument_wrong(thing, **given, **self.doing)


@verb(InstrumentShown, summary="Take an instrument out of use; its readings stay.")
class Archive(InstrumentAct):
    serializer_class = Nothing

    def do(self, thing: Instrument, given: dict[str, Any]) -> Instrument:
        return operations.archive_instrument(thing, **self.doing)
