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

MOST_PASTED = 500_000
"""Letters of pasted text: a report of some thousand observations."""
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


class PastedForm(ReportForm):
    """The observations of another firm's report as text, and the report's particulars."""

    text = area(
        "The observations, as text",
        rows=14,
        max_length=MOST_PASTED,
        help_text="Copied out of a PDF or an e-mail, with their numbers and codes. It is kept as you paste it.",
        strip=False,
    )
    field_order = ("id", "unit", "text")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["file"]
        self.fields["text"].widget.attrs["class"] = "tall"

    def clean_text(self) -> str:
        """The text with its lines ended as files end them. At least a word of it."""
        text = typed_text(self.cleaned_data["text"])
        if not text.strip():
            raise forms.ValidationError("Paste the observations here.")
        return text

    def header(self) -> dict[str, Any]:
        """The particulars, and that it came as text."""
        return super().header() | {"pasted": True}


class ReasonForm(PlainForm):
    """Why one row that could be taken in is left out."""

    reason = line("Why it is left out", max_length=500)


class LookOverForm(PlainForm):
    """The refused rows of a page: each wrong cell as it stands, to be corrected, and why a row is left out instead.

    A row without a reason of its own, on this page or another, takes the one for all when the file is taken in.
    """

    reason_for_all = line(
        "Why all other refused rows are left out",
        needed=False,
        max_length=500,
        help_text="For every row without a reason of its own.",
    )

    def __init__(
        self, *args: Any, refused: Sequence[dict[str, Any]], decided: Mapping[str, str] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.refused, self.decided = refused, decided or {}
        self.names = {row["row"]: f"row_{place}" for place, row in enumerate(refused)}
        for row in refused:
            name = self.names[row["row"]]
            self.fields[name] = line(f"Why {row['row']} is left out", needed=False, max_length=500)
            self.fields[name].initial = self.decided.get(row["row"], "")
            for key, (head, text) in wrong_cells(row).items():
                self.fields[f"{name}_{key}"] = cell_field(f"{head} of {row['row']}", text)

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The refused rows of the page, each with its fields; the cells that aren't wrong as they stand."""
        return [self._row(row, self.names[row["row"]]) for row in self.refused]

    def _row(self, row: dict[str, Any], name: str) -> dict[str, Any]:
        wrong = wrong_cells(row)
        cells = [{"head": head, "field": self[f"{name}_{key}"]} for key, (head, _) in wrong.items()]
        others = [(head, text) for head, text, key in row["cells"] if key not in wrong]
        decided = row["row"] in self.decided
        return row | {"field": self[name], "wrong": cells, "others": others, "decided": decided}

    def reasons(self) -> dict[str, str]:
        """The reason for each refused row of the page, by the row's name."""
        return {row: self.cleaned_data.get(name, "") for row, name in self.names.items()}

    def cells(self) -> dict[str, dict[str, str]]:
        """What was typed into the wrong cells of each row of the page, by the row's name and the key of the column."""
        found = {}
        for row in self.refused:
            fields = {key: f"{self.names[row['row']]}_{key}" for key in wrong_cells(row)}
            typed = {key: name for key, name in fields.items() if name in self.data}
            found[row["row"]] = {key: typed_text(self.cleaned_data.get(name, "")) for key, name in typed.items()}
        return found

    @property
    def corrects(self) -> bool:
        """Whether a cell was changed on the page."""
        stands = {row["row"]: {key: text for key, (_, text) in wrong_cells(row).items()} for row in self.refused}
        return any(
            text.strip() != stands[row][key].strip()
            for row, cells in self.cells().items()
            for key, text in cells.items()
        )


def typed_text(value: str) -> str:
    """What was typed into a field, its lines ended as files end them, not as browsers send them."""
    return value.replace("\r\n", "\n")


def wrong_cells(row: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """Head and text of each cell of a refused row that something is wrong with, by the key of its column."""
    said = {key: text for _, text, key in row["cells"]}
    return {one["key"]: (one["column"], said.get(one["key"], "")) for one in row["troubles"] if one["key"]}


def cell_field(label: str, text: str) -> forms.CharField:
    """A field for a cell: one line, several where the text is long."""
    if len(text) > 80 or "\n" in text:
        return area(label, needed=False, max_length=4_000, initial=text)
    return line(label, needed=False, max_length=4_000, initial=text)


class RowForm(PlainForm):
    """Every cell of one row, to be corrected."""

    def __init__(self, *args: Any, cells: Sequence[Mapping[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for cell in cells:
            field = cell_field(cell["head"], cell["said"])
            field.help_text = f"In the file: {cell['was'] or 'nothing'}" if cell["said"] != cell["was"] else ""
            self.fields[cell["key"]] = field

    def cells(self) -> dict[str, str]:
        """What stands in each cell now, by the key of the column."""
        return {key: typed_text(text) for key, text in self.cleaned_data.items()}
