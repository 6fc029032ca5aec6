"""Forms for entering inspections, their limitations and observations, and for a defect that somebody rang about."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from inspections.choices import InspectionKind, Outcome
from inspections.forms.fields import PlacedForm, area, line, person, pick
from inspections.models import Inspection
from inspections.standards.editions import Edition
from jobsite.forms import CreateForm, DayField, PlainForm, number
from jobsite.premises.models import Board, Site, Unit

MOST_BYTES = 20 * 1024 * 1024
EDITIONS = [(edition.value, edition.label) for edition in Edition]
OUTCOMES = [(value, label) for value, label in Outcome.choices if value]
WHOLE = "Serving the whole site"
WHOSE = [("", "our own"), ("yes", "another firm's report")]


class _Particulars(PlainForm):
    """What is known of an inspection besides its observations."""

    kind = forms.ChoiceField(label="Kind", choices=InspectionKind.choices)
    inspected_on = DayField(label="Day of the inspection")
    edition = pick(
        "Edition of BS 7671",
        EDITIONS,
        first="choose",
        help_text="The one the report names: it is judged by that for good.",
    )
    units = forms.ModelMultipleChoiceField(  # type: ignore[assignment]
        label="Units covered", queryset=Unit.objects.none(), widget=forms.CheckboxSelectMultiple
    )
    boards = forms.ModelMultipleChoiceField(
        label="Boards covered", queryset=Board.objects.none(), widget=forms.CheckboxSelectMultiple, required=False
    )
    all_boards = forms.BooleanField(
        label="All boards of these units", required=False, help_text="Whatever is ticked above."
    )
    firm_name = line("Firm", needed=False, help_text="For our own, leave it empty.")
    inspector_name = line("Inspector", needed=False, help_text="For our own, empty means you.")
    qualified_person_name = line("Qualified person named in it", needed=False)
    reference = line("Its number or reference", needed=False)
    extent = area("Extent covered", needed=False)
    next_due_on = DayField(label="Next inspection, as it recommends", required=False)
    remedy_limit_days = forms.IntegerField(
        label="Limit for remedial work written in it", required=False, min_value=0, max_value=3650,
        help_text="0 means at once. Leave it empty where the report states none.",
    )  # fmt: skip
    outcome_written = pick("Overall assessment as written", OUTCOMES, needed=False, first="not stated")
    file = forms.FileField(
        label="The report itself", required=False, help_text="Kept byte for byte, at most 20 MB. A PDF as a rule."
    )

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["remedy_limit_days"].widget = number("days", whole=True)
        units: Any = self.fields["units"]
        units.queryset = Unit.objects.filter(site=site, retired_at__isnull=True).order_by("sort", "pk")
        self.only_unit = list(units.queryset[:2])
        if len(self.only_unit) == 1:
            del self.fields["units"]
        self._offer_boards(site)

    def _offer_boards(self, site: Site) -> None:
        """The boards of the site, where it has several units by the unit that they serve."""
        boards: Any = self.fields["boards"]
        boards.queryset = Board.objects.filter(site=site, retired_at__isnull=True).order_by("sort", "pk")
        rows = list(boards.queryset.prefetch_related("units"))
        self.serves = {board.pk: {unit.pk for unit in board.units.all()} for board in rows}
        if len(rows) < 2:
            del self.fields["all_boards"]
        groups: dict[str, list[tuple[Any, str]]] = {}
        for board in rows:
            names = ", ".join(unit.name for unit in board.units.all())
            groups.setdefault(f"Serving {names}" if names else WHOLE, []).append((board.pk, board.designation))
        if len(self.only_unit) > 1 and len(groups) > 1:
            boards.choices = sorted(groups.items(), key=lambda group: group[0] != WHOLE)

    def clean_file(self) -> UploadedFile | None:
        """The file, where it is not too large to keep."""
        file: UploadedFile | None = self.cleaned_data["file"]
        if file and (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError("This file is larger than 20 MB. Save the report in a smaller one.")
        return file

    def clean(self) -> dict[str, Any]:
        """The cleaned values, with the one unit where nobody was asked for it."""
        values = dict(super().clean() or self.cleaned_data)
        if len(self.only_unit) == 1:
            values["units"] = self.only_unit
        self._settle_boards(values)
        return values

    def _settle_boards(self, values: dict[str, Any]) -> None:
        """All boards of the units where that is said; one that serves none of them is asked about."""
        units, boards = {unit.pk for unit in values.get("units") or ()}, values.get("boards")
        whole = values.pop("all_boards", False)
        if boards is None or not units:
            return
        ours = {pk for pk, serves in self.serves.items() if not serves or serves & units}
        if strange := [board.designation for board in boards if board.pk not in ours]:
            names = ", ".join(strange)
            self.add_error("boards", f"{names} serves no unit that is covered: tick its unit as well, or leave it out.")
        if whole:
            field: Any = self.fields["boards"]
            values["boards"] = field.queryset.filter(pk__in=ours)


class InspectionForm(_Particulars, CreateForm):
    """The particulars of a new inspection, and whose it is."""

    other_firm = forms.ChoiceField(label="Whose inspection", choices=WHOSE, required=False, widget=forms.RadioSelect)
    field_order = ("other_firm",)

    def __init__(self, *args: Any, takes_in: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not takes_in:
            del self.fields["other_firm"]

    def clean(self) -> dict[str, Any]:
        """The cleaned values, whose it is as yes or no."""
        values = super().clean()
        return values | {"other_firm": values.get("other_firm") == "yes"}


class EditInspectionForm(_Particulars):
    """The particulars of a draft, with the version that this person saw."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def values_of(self, row: object) -> dict[str, Any]:
        """The values of an inspection; what it covers is shown by the page itself."""
        values = super().values_of(row)
        return {name: value for name, value in values.items() if name not in ("units", "boards", "file")}


class LimitationForm(CreateForm):
    """What an inspection did not cover."""

    what = area("What was not covered")
    why = line("Why", needed=False)
    agreed_with = line("Agreed with", needed=False, help_text="Whose agreement: a limitation is agreed by name.")
    unit = forms.ModelChoiceField(label="Unit", queryset=Unit.objects.none(), required=False, empty_label="all of them")
    board = forms.ModelChoiceField(label="Board", queryset=Board.objects.none(), required=False, empty_label="no board")

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        units: Any = self.fields["unit"]
        units.queryset = inspection.units.order_by("sort", "pk")
        boards: Any = self.fields["board"]
        boards.queryset = Board.objects.filter(site=inspection.site_id, retired_at__isnull=True).order_by("sort", "pk")
        if len(units.queryset[:2]) == 1:
            del self.fields["unit"]


class ReissueForm(CreateForm):
    """Why an issued report is corrected."""

    reason = area("What is wrong in the report as issued", help_text="It stands beside both reports.")


class DeleteForm(PlainForm):
    """Why a draft is deleted."""

    reason = area("Why", needed=False, help_text="Needed where it notes observations of its own.")


class CoverForm(PlainForm):
    """Which later inspection covered what an earlier one left out."""

    covered_by = forms.ModelChoiceField(label="Covered by", queryset=Inspection.objects.none(), empty_label="choose")

    def __init__(self, *args: Any, later: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        covering: Any = self.fields["covered_by"]
        covering.queryset = later


class RangForm(PlacedForm, CreateForm):
    """What somebody said about a defect, and who has it looked at."""

    reported_by = line("Who reported it", help_text="Name, and how to reach them.")
    text = area("What is wrong", help_text="In their words. A qualified person codes it later.")
    may_be_dangerous = forms.BooleanField(
        label="It may be dangerous now",
        required=False,
        help_text="No code: only what you were told. It is then to be looked at today and stands first among reports.",
    )
    owner = person("Who has it looked at", needed=False, empty_label="I do")
    step_by = DayField(label="By", required=False, help_text="Empty: today.")
    field_order = ("reported_by", "text", "may_be_dangerous", "unit", "board", "way", "place", "owner", "step_by")
