"""What may be typed about how people are reminded."""

from dataclasses import astuple
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobsite.forms import LineField, PlainForm
from remedials.due.models import Reminding
from remedials.due.rules.figures import FIGURES, faults_of
from remedials.due.rules.quieter import BOUNDS, FIELDS, FIXED, NEVER, WEEKDAYS, WORDS, fault
from remedials.due.rules.sorts import Days, Sort

HEADS = {
    "before": "First, before it is due",
    "every": "Once late, again every",
    "qualified_after": "To a qualified person, late by",
    "manager_after": "To the managers, late by",
}
SORTS = tuple(sort for sort in Sort if sort is not FIXED)
TIME = forms.TimeInput({"type": "time"}, format="%H:%M")


class DaysListField(forms.CharField):
    """Numbers of days, typed as "90, 30, 7": a list of whole numbers, the largest first."""

    def to_python(self, value: Any) -> Any:
        """The list; ValidationError where something in it is no number."""
        parts = str(value or "").replace(";", ",").replace(",", " ").split()
        if not all(part.isascii() and part.isdigit() and len(part) < 5 for part in parts):
            raise ValidationError("Write whole numbers of days with commas between, such as 90, 30, 7.")
        return sorted({int(part) for part in parts}, reverse=True)

    def prepare_value(self, value: Any) -> Any:
        """As it is typed."""
        return ", ".join(map(str, value)) if isinstance(value, list) else value


class RemindingForm(PlainForm):
    """All figures of reminding: four numbers of days a sort of row, hours, days of the week, letters about inspections."""

    units = {"inspection_days": "days before", "inspection_overdue_every": "days"}

    digest_at = forms.TimeField(
        label="Digest at",
        widget=TIME,
        help_text="One a person and working day. Danger is said again each day from then.",
    )
    working_days = forms.TypedMultipleChoiceField(
        label="Working days",
        coerce=int,
        choices=list(enumerate(WEEKDAYS, start=1)),
        widget=forms.CheckboxSelectMultiple,
    )
    bank_holidays_off = forms.BooleanField(label="No digest on bank holidays", required=False)
    quiet_from = forms.TimeField(
        label="Quiet hours, from",
        widget=TIME,
        help_text="Customers get no polite messages then. Both alike: no quiet hours.",
    )
    quiet_until = forms.TimeField(label="Quiet hours, until", widget=TIME)
    inspection_days = DaysListField(
        label="Letters to the customer before an inspection is due",
        help_text="By advance notice customers can arrange it. At most once a week, and not where a visit is booked.",
    )
    inspection_overdue_every = forms.IntegerField(label="Once it is overdue, a letter every", min_value=7, max_value=90)
    reason = LineField(label="Why", required=False, help_text="Needed where danger becomes quieter than shipped.")
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def clean(self) -> dict[str, Any]:
        """Besides each figure by itself: those of a sort among each other, the hours of the day."""
        facts: dict[str, Any] = super().clean() or self.cleaned_data
        for sort in SORTS:
            if all(field_of(sort, name) in facts for name in FIELDS) and (
                wrong := fault(sort, self._days(facts, sort))
            ):
                self.add_error(field_of(sort, wrong[0]), wrong[1])
        for name, sentence in faults_of({name: facts[name] for name in FIGURES if name in facts}).items():
            self.add_error(name, sentence)
        return facts

    def _days(self, facts: dict[str, Any], sort: Sort) -> Days:
        return Days(*(facts[field_of(sort, name)] for name in FIELDS))

    @property
    def rules(self) -> dict[Sort, Days]:
        """The days by sort, once valid."""
        return {sort: self._days(self.cleaned_data, sort) for sort in SORTS}

    @property
    def figures(self) -> dict[str, Any]:
        """The other figures, once valid."""
        return {name: self.cleaned_data[name] for name in FIGURES}

    def values_of(self, row: Any) -> dict[str, Any]:
        """What somebody else saved (a `Standing`), by the names of the fields."""
        return values_of(row.reminding, row.rules) | {"version": row.reminding.version}


def field_of(sort: Sort, name: str) -> str:
    """The field of a figure of `sort`."""
    return f"{sort.value}-{name}"


def values_of(reminding: Reminding, rules: dict[Sort, Days]) -> dict[str, Any]:
    """The values of the form's fields for these figures."""
    days = {field_of(s, name): value for s in SORTS for name, value in zip(FIELDS, astuple(rules[s]), strict=True)}
    return {name: getattr(reminding, name) for name in FIGURES} | days


def _number(sort: Sort, name: str) -> forms.IntegerField:
    least, most = BOUNDS[name]
    words = f"{WORDS[sort]}: {HEADS[name].lower()}"
    field = forms.IntegerField(
        label=words, min_value=least, max_value=most, required=name not in NEVER,
        widget=forms.NumberInput({"aria-label": f"{words}, days"}),
    )  # fmt: skip
    field.error_messages["invalid"] = "Write a whole number of days" + (
        ", or nothing for never." if name in NEVER else "."
    )
    return field


# Named by sort, so that they stand in no class body; in front of the others, as on the page.
RemindingForm.base_fields = {
    field_of(sort, name): _number(sort, name) for sort in SORTS for name in FIELDS
} | RemindingForm.base_fields
