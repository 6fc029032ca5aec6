"""A spreadsheet or a pasted report comes in, is read, looked over, put right, taken in or set aside."""

from datetime import date, datetime
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from rest_framework import serializers

from inspections.choices import IntakeKind, IntakeState
from inspections.intake import operations, queries
from inspections.intake.archive import MOST_BYTES
from inspections.intake.forms import MOST_PASTED, typed_text
from inspections.intake.limits import MOST_AT_DESK
from inspections.models import Intake, Observation
from jobsite import clock
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, one, verb
from remedials.desk.api.inspections.drafting import EDITIONS, OUTCOMES, limit_days
from remedials.desk.api.inspections.ground import WITH_A_FILE, Uploaded, optional_key, several
from remedials.desk.api.inspections.intakes import WholeIntakeShown

PASTED_NAME = "pasted text.txt"
LONGEST_NAME = 200
LONGEST_ROW = 300
LONGEST_CELL = 4_000
LONGEST_REASON = 500
MOST_ROWS = 1_000
NEEDED = {"firm_name": "Name the firm that wrote it.", "inspected_on": "Say on which day it was inspected."}
NEEDED |= {"edition": "Name the edition: the report is judged by that for good."}
TOO_LARGE = "This file is larger than 10 MB. Send only the sheets that are needed."


class Received(serializers.Serializer):
    """A spreadsheet of boards and circuits, or the observations of another firm's report with the report's particulars.

    A `file` (XLSX or CSV, at most 10 MB and 20,000 rows) comes in a multipart form; a report may be `text` instead. `id` is
    made by the sender. `unit` may be left out at a site that has one. `instead_of`: a pasted text that this one replaces.
    """

    id = Key()
    kind = serializers.ChoiceField(choices=IntakeKind.choices)
    unit = optional_key()
    file = Uploaded()
    text = Text(required=False, max_length=MOST_PASTED, trim_whitespace=False)
    instead_of = optional_key()
    firm_name = Text(required=False, max_length=LONGEST_NAME)
    inspected_on = Day(required=False, allow_null=True, default=None)
    edition = serializers.ChoiceField(choices=EDITIONS, required=False, allow_blank=True, default="")
    outcome_written = serializers.ChoiceField(choices=OUTCOMES, required=False, allow_blank=True, default="")
    next_due_on = Day(required=False, allow_null=True, default=None)
    remedy_limit_days = limit_days()
    inspector_name = Text(required=False, max_length=LONGEST_NAME)
    qualified_person_name = Text(required=False, max_length=LONGEST_NAME)
    reference = Text(required=False, max_length=LONGEST_NAME)
    extent = Text(required=False)
    limitations: Any = serializers.ListField(
        child=Text(), required=False, default=list, max_length=500, help_text="What it did not cover, one each."
    )

    example = {
        "id": key("new"),
        "kind": "report",
        "text": "1 C2 No bonding to the gas pipe\n2 C3 No label at the board\n",
        "firm_name": "Bygone Electrics",
        "inspected_on": "2025-11-03",
        "edition": EDITIONS[1][0],
    }


def must_be_whole(given: dict[str, Any], *, now: datetime) -> None:
    """Raises Refused for what the page asks of either kind and is not there, or cannot be."""
    upload: UploadedFile | None = given["file"]
    if upload and (upload.size or 0) > MOST_BYTES:
        raise Refused(TOO_LARGE, field="file")
    report = given["kind"] == IntakeKind.REPORT
    if bool(upload) == bool(given["text"].strip()) or (given["text"] and not report):
        raise Refused("Send a file, or the text of a report." if report else "Send a file.", field="file")
    if report:
        _must_be_a_report(given, clock.local_day(now))


def _must_be_a_report(given: dict[str, Any], today: date) -> None:
    for name, sentence in NEEDED.items():
        if not given[name]:
            raise Refused(sentence, field=name)
    on, due = given["inspected_on"], given["next_due_on"]
    if on > today:
        raise Refused("The day of the inspection lies in the future.", field="inspected_on")
    if due and due <= on:
        raise Refused("The next inspection must lie after this one.", field="next_due_on")


PARTICULARS = (
    "firm_name", "inspected_on", "edition", "outcome_written", "next_due_on", "remedy_limit_days", "inspector_name",
    "qualified_person_name", "reference", "extent", "limitations",
)  # fmt: skip


def header_of(given: dict[str, Any]) -> dict[str, Any]:
    """The particulars as the upload keeps them: days as ISO text, limitations as a list; none for boards."""
    if given["kind"] != IntakeKind.REPORT:
        return {}
    header: dict[str, Any] = {name: given.get(name) for name in PARTICULARS}
    for name in ("inspected_on", "next_due_on"):
        header[name] = header[name].isoformat() if header[name] else ""
    header["limitations"] = [said.strip() for said in header["limitations"] if said.strip()]
    return header | ({"pasted": True} if given["text"] else {})


@verb(
    WholeIntakeShown, status=201, summary="Send a spreadsheet of boards, or the observations of another firm's report."
)
class Receive(Act):
    """It is kept byte for byte and read by the worker: ask for it until its state is no longer "received"."""

    right = Right.TAKE_IN
    model = Site
    serializer_class = Received
    parser_classes = WITH_A_FILE

    def do(self, thing: Site, given: dict[str, Any]) -> Intake:
        if thing.archived_at:
            raise Refused(f"{thing.name} is archived: nothing is taken in there.")
        must_be_whole(given, now=self.request.now)  # type: ignore[attr-defined]
        upload: UploadedFile | None = given["file"]
        data = upload.read() if upload else typed_text(given["text"]).encode()
        return operations.receive(
            thing,
            id=given["id"],
            kind=given["kind"],
            data=data,
            file_name=(upload.name or "") if upload else PASTED_NAME,
            unit=self._unit(thing, given["unit"]),
            header=header_of(given),
            instead_of=self._before(thing, given["instead_of"]),
            **self.doing,
        )

    def _unit(self, site: Site, named: Any) -> Unit:
        if named:
            found: Unit = one(self, Unit, named, "unit")
            return found
        there = list(Unit.objects.filter(site=site, retired_at=None)[:2])
        if len(there) != 1:
            raise Refused("This site has several units: name the one.", field="unit")
        return there[0]

    def _before(self, site: Site, named: Any) -> Intake | None:
        found: Intake | None = one(self, Intake, named, "instead_of") if named else None
        if found and (found.site_id != site.pk or not queries.is_pasted(found)):
            raise Refused("It is no pasted text of this site.", field="instead_of")
        return found


# --- one file ---------------------------------------------------------------------------------------------------------


class IntakeAct(Act):
    """A verb on one file."""

    model = Intake
    right = Right.TAKE_IN


@verb(WholeIntakeShown, summary="Read a file, or take it in, in this request: where no worker has begun to.")
class ReadHere(IntakeAct):
    serializer_class = Nothing

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        now = self.request.now  # type: ignore[attr-defined]
        do = operations.take_in_asked if thing.state == IntakeState.TAKING_IN else operations.read
        do(thing.pk, now=now)
        return Intake.objects.get(pk=thing.pk)


@verb(WholeIntakeShown, summary="Have a file read once more, because the site has changed since.")
class ReadAgain(IntakeAct):
    """What was found before is forgotten."""

    serializer_class = Nothing

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        return operations.read_again(thing, **self.doing)


class SetAsideWhy(serializers.Serializer):
    """Why, if you like."""

    reason = Text(required=False, max_length=LONGEST_REASON)

    example = {"reason": "Sent twice"}


@verb(WholeIntakeShown, summary="Decide that a file is not taken in; it stays kept.")
class SetAside(IntakeAct):
    serializer_class = SetAsideWhy

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        return operations.set_aside(thing, **given, **self.doing)


class RowNamed(serializers.Serializer):
    """A row by its name."""

    row = Text(max_length=LONGEST_ROW)

    example = {"row": "Circuits, row 5"}


class RowLeftOut(RowNamed):
    """A row by its name, and why it is left out."""

    reason = Text(max_length=LONGEST_REASON)

    example = {"row": "Circuits, row 5", "reason": "It is not there any more"}


@verb(WholeIntakeShown, summary="Leave a row out that could be taken in; rows that need it are refused with it.")
class LeaveOut(IntakeAct):
    serializer_class = RowLeftOut

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        return operations.leave_out(thing, **given, **self.doing)


@verb(WholeIntakeShown, summary="Take a row in after all that was left out.")
class PutBack(IntakeAct):
    serializer_class = RowNamed

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        return operations.put_back(thing, **given, **self.doing)


class RowCorrected(serializers.Serializer):
    """What should stand in cells of a row, by the key of the column; and why the row is left out ("" puts it back)."""

    row = Text(max_length=LONGEST_ROW)
    cells: Any = serializers.DictField(
        child=Text(required=False, max_length=LONGEST_CELL, trim_whitespace=False), required=False, default=dict
    )
    reason = Text(required=False, max_length=LONGEST_REASON, allow_null=True, default=None)


class RowsPutRight(serializers.Serializer):
    """Rows with what is to be otherwise in them. What was in the file stays known."""

    rows: Any = several(RowCorrected, allow_empty=False, max_length=MOST_ROWS)

    example = {"rows": [{"row": "Circuits, row 5", "cells": {"rating_a": "32"}}]}


@verb(WholeIntakeShown, summary="Correct cells, and say why rows are left out; then every row is judged again.")
class PutRight(IntakeAct):
    """What stands there already changes nothing; what was in the file takes the correction back."""

    serializer_class = RowsPutRight

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        cells = {said["row"]: said["cells"] for said in given["rows"] if said["cells"]}
        reasons = {said["row"]: said["reason"] for said in given["rows"] if said["reason"] is not None}
        return operations.put_right(thing, cells=cells, reasons=reasons, **self.doing)


@verb(WholeIntakeShown, summary="Have a corrected row as it was in the file again.")
class TakeBackCorrection(IntakeAct):
    serializer_class = RowNamed

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        return operations.take_back_correction(thing, **given, **self.doing)


class RowSame(RowNamed):
    """That a row is of the same defect as an open observation, or (null) of none: a new one."""

    observation = Key(allow_null=True)

    example = {"row": "Pasted, row 1", "observation": key("observation")}


@verb(WholeIntakeShown, summary="Say that a row is of the same defect as an open observation, or a new one.")
class SaySame(IntakeAct):
    """It then continues that one once the file is taken in."""

    serializer_class = RowSame

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        named = given["observation"]
        found = one(self, Observation, named, "observation") if named else None
        return operations.say_same(thing, row=given["row"], observation=found, **self.doing)


@verb(WholeIntakeShown, summary="Take back what was said of a row.")
class AskSameAgain(IntakeAct):
    serializer_class = RowNamed

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        return operations.ask_same_again(thing, **given, **self.doing)


class TakenIn(serializers.Serializer):
    """Why refused rows are left out: one reason for all that have none of their own (those are put right or left out before)."""

    reason_for_all = Text(required=False, max_length=LONGEST_REASON)

    example = {"reason_for_all": "Put right on paper first"}


@verb(
    WholeIntakeShown, summary="Take in all rows of a file but those refused, each of which is left out with a reason."
)
class TakeIn(IntakeAct):
    """A long file is taken in by the worker: its state is then "taking-in", until it is "taken-in"."""

    serializer_class = TakenIn

    def do(self, thing: Intake, given: dict[str, Any]) -> Intake:
        refused = [row["row"] for row in thing.found.get("refused", [])]
        left_out = {name: thing.left_out.get(name) or given["reason_for_all"] for name in refused}
        many = len(thing.found.get("accepted", [])) > MOST_AT_DESK
        do = operations.ask_to_take_in if many else operations.take_in
        return do(thing, left_out=left_out, **self.doing)
