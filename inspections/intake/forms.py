"""Forms with which a spreadsheet comes in and its refused rows are left out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from inspections.choices import Outcome
from inspections.forms.fields import area, line, pick
from inspections.intake.archive import MOST_BYTES
from inspections.standards.editions import Edition
from jobsite.forms import CreateForm, DayField, PlainForm, number
from jobsite.premises.models import Site, Unit

MOST_ASKED = 200
"""Refused rows that are asked about one by one; the others share a reason."""
ACCEPT = ".xlsx,.xlsm,.csv,.txt"
EDITIONS = [(edition.value, edition.label) for edition in Edition]
OUTCOMES = [(value, label) for value, label in Outcome.choices if value]


class BoardsForm(CreateForm):
    """A spreadsheet of boards and circuits."""

    file = forms.FileField(
        label="The spreadsheet",
        help_text="XLSX or CSV, at most 10 MB and 20,000 rows. It is kept byte for byte.",
        widget=forms.FileInput(attrs={"accept": ACCEPT}),
    )
    unit = forms.ModelChoiceField(label="Unit", queryset=Unit.objects.none(), empty_label=None)

    def __init__(self, *args: Any, site: Site, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        units: Any = self.fields["unit"]
        units.queryset = Unit.objects.filter(site=site, retired_at__isnull=True).order_by("sort", "pk")
        self.offered = list(units.queryset)
        if len(self.offered) == 1:
            del self.fields["unit"]

    def clean_file(self) -> UploadedFile:
        """The file, where it isn't too large to be read into memory."""
        file: UploadedFile = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError("This file is larger than 10 MB. Send only the sheets that are needed.")
        return file

    def clean(self) -> dict[str, Any]:
        """The cleaned values, with the one unit where nobody was asked for it."""
        values = dict(super().clean() or self.cleaned_data)
        if len(self.offered) == 1:
            values["unit"] = self.offered[0]
        return values

    def header(self) -> dict[str, Any]:
        """The particulars to be kept with the upload: none for boards."""
        return {}


class ReportForm(BoardsForm):
    """The observations of another firm's report, and the report's particulars."""

    firm_name = line("Firm that wrote it", max_length=200)
    inspected_on = DayField(label="Day of the inspection")
    edition = pick(
        "Edition of BS 7671",
        EDITIONS,
        first="choose",
        help_text="The one the report names: it is judged by that for good.",
    )
    outcome_written = pick("Overall assessment as written", OUTCOMES, needed=False, first="not stated")
    next_due_on = DayField(label="Next inspection, as it recommends", required=False)
    remedy_limit_days = forms.IntegerField(
        label="Limit for remedial work written in it",
        required=False,
        min_value=0,
        max_value=3650,
        help_text="0 means at once. Leave it empty where the report states none.",
    )
    inspector_name = line("Inspector", needed=False, max_length=200)
    qualified_person_name = line("Qualified person named in it", needed=False, max_length=200)
    reference = line("Its number or reference", needed=False, max_length=200)
    extent = area("Extent covered", needed=False)
    limitations = area(
        "What it did not cover",
        needed=False,
        help_text="One limitation a line. Each stays visible until somebody covers it.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["remedy_limit_days"].widget = number("days", whole=True)

    def clean(self) -> dict[str, Any]:
        """The cleaned values; the days of the report must be possible."""
        values = super().clean()
        on, due = values.get("inspected_on"), values.get("next_due_on")
        if on and on > self.today:
            self.add_error("inspected_on", "The day of the inspection lies in the future.")
        if on and due and due <= on:
            self.add_error("next_due_on", "The next inspection must lie after this one.")
        return values

    def header(self) -> dict[str, Any]:
        """The particulars as the upload keeps them: days as ISO text, limitations as a list."""
        values = {
            name: self.cleaned_data[name] for name in ReportForm.declared_fields if name not in {"id", "file", "unit"}
        }
        for name in ("inspected_on", "next_due_on"):
            values[name] = values[name].isoformat() if values[name] else ""
        values["limitations"] = [one.strip() for one in values["limitations"].splitlines() if one.strip()]
        return values


class ReasonForm(PlainForm):
    """Why one row that could be taken in is left out."""

    reason = line("Why it is left out", max_length=500)


class LeaveOutForm(PlainForm):
    """Why each refused row is left out. A row without a reason of its own takes the one for all."""

    reason_for_all = line(
        "Why all other refused rows are left out",
        needed=False,
        max_length=500,
        help_text="For every row without a reason of its own above.",
    )

    def __init__(
        self, *args: Any, refused: Sequence[dict[str, Any]], decided: Mapping[str, str] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.refused = refused
        self.decided = decided or {}
        self.names = {row["row"]: f"row_{place}" for place, row in enumerate(refused[:MOST_ASKED])}
        for row, name in self.names.items():
            self.fields[name] = line(f"Why {row} is left out", needed=False, max_length=500)
            self.fields[name].initial = self.decided.get(row, "")

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The refused rows that are asked about, each with its field."""
        return [
            row | {"field": self[self.names[row["row"]]], "decided": row["row"] in self.decided}
            for row in self.refused[:MOST_ASKED]
        ]

    @property
    def several(self) -> bool:
        """Whether a reason for all is worth asking for."""
        return len(self.refused) > 1

    @property
    def more(self) -> int:
        """How many refused rows aren't asked about one by one."""
        return max(len(self.refused) - MOST_ASKED, 0)

    def reasons(self) -> dict[str, str]:
        """The reason for each refused row, by the row's name."""
        for_all = self.cleaned_data.get("reason_for_all", "")
        return {
            row["row"]: self.cleaned_data.get(self.names.get(row["row"], ""), "") or for_all for row in self.refused
        }
