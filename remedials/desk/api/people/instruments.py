"""What may be done with test instruments."""

from typing import Any

from django.http import Http404, HttpResponse
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.ledger.files import read_file
from jobsite.people import operations
from jobsite.people.models import Instrument, InstrumentCheck, InstrumentFault
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.fields import Line, Nothing, Words
from remedials.desk.api.files import PDF, File
from remedials.desk.api.files import file as gives
from remedials.desk.api.files import kept as as_received
from remedials.desk.api.ground import Day, Key, verb
from remedials.desk.api.inspections.ground import PDF as PDF_MARK
from remedials.desk.api.inspections.ground import WITH_A_FILE, Uploaded, kept
from remedials.desk.api.people.ground import FirmAct, New
from remedials.desk.api.people.nouns import CheckShown, FaultShown, InstrumentShown
from remedials.desk.api.reading import OfTheFirm

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
    certificate = Line(required=False, help_text="The number of the certificate.")
    file = Uploaded(help_text="The certificate itself, a PDF of at most 20 MB; in a multipart form.")
    note = Words(required=False)
    last_good_on = Day(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "checked_on": "2026-02-02", "by_whom": "Meridian Calibration", "kind": "comparison"}


@verb(CheckShown, status=201, summary="Record an accuracy check of an instrument.")
class Check(InstrumentAct):
    right = Right.INSPECT  # a calibration takes a manager: the operation decides
    serializer_class = Checked
    parser_classes = WITH_A_FILE

    def do(self, thing: Instrument, given: dict[str, Any]) -> InstrumentCheck:
        file = given.pop("file")
        if file is not None and file.read(len(PDF_MARK)) != PDF_MARK:
            raise Refused("This file is not a PDF.", field="file")
        if file is not None:
            file.seek(0)
            given["file"] = kept(file, now=self.request.now)["file"]  # type: ignore[attr-defined]
        return operations.check_instrument(thing, **given, **self.doing)


@gives(PDF, summary="The certificate of an accuracy check, as it was given.")
class CheckFile(OfTheFirm, File):
    """404 where the check has none."""

    right = Right.INSPECT
    queryset = InstrumentCheck.objects.filter(file__isnull=False).select_related("file")

    def answer(self, row: InstrumentCheck) -> HttpResponse:
        """The PDF byte for byte."""
        if row.file is None:
            raise Http404
        return as_received(read_file(row.file), PDF, f"check-of-{row.checked_on}.pdf")


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
