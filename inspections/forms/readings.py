"""Readings as they are typed: the settings of the test, and a cell for each value."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms

from inspections.models import Inspection
from inspections.operations.reading import NotTaken, Taken, Unlikely
from inspections.queries.phone_limits import tool_words
from inspections.queries.sheets import Cell
from inspections.queries.situations import HowTested
from inspections.standards.limits import Entered
from inspections.standards.readings import read
from jobsite.forms import UNKEEPABLE_WORDS, CreateForm
from jobsite.ids import part_of
from jobsite.people.models import Instrument
from jobsite.people.queries import instrument_choice, wrong_words
from jobsite.refused import Refused

VOLTS = [("", "as the table asks"), ("250", "250 V d.c."), ("500", "500 V d.c."), ("1000", "1000 V d.c.")]
LIMIT = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)")
MARKED = "Nothing was kept yet: look at the readings that are marked."


class ReadingsForm(CreateForm):
    """Values typed into `cells`, all taken with one instrument; `taken` is what they say once the form is valid."""

    instrument = forms.ModelChoiceField(
        label="Instrument", queryset=Instrument.objects.none(), required=False, empty_label="choose",
        help_text="Not needed for polarity and functional checks.",
    )  # fmt: skip
    test_volts = forms.TypedChoiceField(
        label="Insulation tested at", choices=VOLTS, required=False, coerce=int, empty_value=None
    )
    equipment_connected = forms.BooleanField(label="Equipment was connected during the insulation test", required=False)
    inspection = forms.ModelChoiceField(
        label="For the report", queryset=Inspection.objects.none(), required=False,
        empty_label="none: judged by the edition in force",
    )  # fmt: skip

    def __init__(self, *args: Any, cells: Sequence[Cell], drafts: Any, tools: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.cells = list(cells)
        self.taken: list[Taken] = []
        for name, queryset in (("instrument", tools), ("inspection", drafts)):
            field: Any = self.fields[name]
            field.queryset = queryset
        instrument: Any = self.fields["instrument"]
        instrument.label_from_instance = instrument_choice
        instrument.widget.attrs["data-tools"] = tool_words(tools)
        inspection: Any = self.fields["inspection"]
        inspection.label_from_instance = lambda row: f"{row} ({row.edition})"
        if self.is_bound:
            self._type()

    def _type(self) -> None:
        data: Any = self.data
        for cell in self.cells:
            cell.typed = str(data.get(cell.name, ""))[:40].strip()
            cell.as_read = bool(data.get(f"{cell.name}-as-read"))
            cell.limit_typed = str(data.get(f"{cell.name}-limit", ""))[:20].strip()
            cell.limit_source = str(data.get(f"{cell.name}-source", ""))[:200].strip()
            cell.corrected = bool(data.get(f"{cell.name}-corrected"))

    def clean(self) -> dict[str, Any]:
        """The settings; the cells that say something as `taken`, the others left out."""
        values = dict(super().clean() or self.cleaned_data)
        volts, connected = values.pop("test_volts", None), values.pop("equipment_connected", False)
        key = values.pop("id", None)
        for cell in self.cells:
            if cell.typed and key:
                self._read(cell, key, volts, connected)
        if any(cell.error for cell in self.cells):
            self.add_error(None, MARKED)
        return values

    def _read(self, cell: Cell, key: UUID, volts: int | None, connected: bool) -> None:
        if self._unkeepable & {cell.name, f"{cell.name}-source"}:
            cell.error = UNKEEPABLE_WORDS
            return
        insulates = cell.quantity.value == "insulation-resistance"
        try:
            value = read(cell.quantity, cell.typed)
            test = HowTested(cell.multiple, volts if insulates else None, insulates and connected, entered_at(cell))
        except ValueError as wrong:
            cell.error = str(wrong)
        else:
            taken = Taken(part_of(key, cell.name), cell.place, cell.quantity, value, test, cell.as_read)
            self.taken.append(taken)

    def mark(self, refused: NotTaken) -> None:
        """Puts each refusal on the cell that it is about."""
        by_key = {part_of(self.cleaned_id, cell.name): cell for cell in self.cells}
        for key, problem in refused.problems.items():
            mark(by_key[key], problem)

    @property
    def doubt(self) -> str:
        """What speaks against the instrument that was chosen; "" for nothing. The form was cleaned."""
        return wrong_words(self.cleaned_data.get("instrument"))

    @property
    def cleaned_id(self) -> UUID:
        """The key of the form, as it was sent."""
        return UUID(str(self["id"].value()))

    @property
    def wrong(self) -> list[Cell]:
        """The cells that have something to be put right."""
        return [cell for cell in self.cells if cell.error]


def mark(cell: Cell, problem: Refused) -> None:
    """Puts a refusal on its cell; an unlikely value may be said to be as read."""
    cell.error, cell.doubt = problem.sentence, isinstance(problem, Unlikely)


def entered_at(cell: Cell) -> Entered | None:
    """The limit that was typed beside a cell. Raises ValueError for what is no number."""
    if not cell.limit_typed:
        return None
    if not LIMIT.fullmatch(cell.limit_typed):
        raise ValueError("Write the limit as a number, such as 1.09.")
    return Entered(Decimal(cell.limit_typed), cell.limit_source, cell.corrected)
