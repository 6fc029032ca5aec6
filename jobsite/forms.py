"""The forms' common ground: what may be typed, how it is read, and the templates that show it.

PlainForm    refuses text that no database can hold, gives every number a largest value, keeps what was typed.
CreateForm   a PlainForm with the hidden key of the row to be made: saving twice makes one row.
DayField     a day: from the browser's date field, or typed as 24/11/2026 or 24 Nov 2026.
MomentField  a day and time in London, kept as an instant in UTC.
LineField    a name, a place: one line of at most 200 characters, told and not cut off when it is longer.
NumberField  an exact decimal number; IntegerField and DecimalField of Django are dressed the same way.

Any field may name its unit: `NumberField(unit="Ω")`, `IntegerField(widget=number("A"))`, or `units = {"fuse": "A"}` in the form.
"""

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.forms.boundfield import BoundField
from django.forms.renderers import DjangoTemplates
from django.utils.choices import flatten_choices
from django.utils.datastructures import MultiValueDict
from django.utils.functional import cached_property

from jobsite import words
from jobsite.fields import DAY_FAR, DAY_WRONG, DayField, LineField, MomentField, NumberField, number
from jobsite.ids import new_id

__all__ = [
    "DAY_FAR",
    "DAY_WRONG",
    "CreateForm",
    "DayField",
    "LineField",
    "MomentField",
    "NumberField",
    "PlainBoundField",
    "PlainForm",
    "Renderer",
    "number",
]

UNKEEPABLE = re.compile("[\0\ud800-\udfff]")
LARGEST = 2**31 - 1  # what an integer column of PostgreSQL holds
LONGEST = 10_000
UNKEEPABLE_WORDS = (
    "There is a character in this that cannot be kept. It is shown as \N{REPLACEMENT CHARACTER}: type it again."
)


NEEDED = "Needed: fill this in."
PLAINER = {
    "This field is required.": NEEDED,
    "Enter a whole number.": "Write a whole number, such as 32.",
    "Enter a number.": "Write a number, such as 0.64.",
    "Select a valid choice. %(value)s is not one of the available choices.": "Choose one of those offered.",
    "Select a valid choice. That choice is not one of the available choices.": "Choose one of those offered.",
    "No file was submitted.": "Choose a file.",
    "No file was submitted. Check the encoding type on the form.": "The file did not arrive: choose it again.",
    "The submitted file is empty.": "This file is empty.",
    "Enter a valid time.": "Write the time as 09:30.",
    "Enter a list of values.": "Choose from those offered.",
    "“%(pk)s” is not a valid value.": "Choose from those offered.",
    "Enter a valid UUID.": "This form was damaged on its way: open it again.",
}
# Sentences for what the validators of Django find, by their code.
FOUND = {
    "min_length": "This is too short: at least %(limit_value)d characters.",
    "max_length": "This is too long: at most %(limit_value)d characters, and it has %(show_value)d.",
    "max_digits": "This has too many digits: at most %(max)s.",
    "max_decimal_places": "Write at most %(max)s digits after the point.",
    "max_whole_digits": "Write at most %(max)s digits before the point.",
}
LEAST, MOST = "Write %(limit_value)s or more.", "Write %(limit_value)s or less."
NO_EMAIL = "Write an e-mail address, such as name@example.com."


class PlainBoundField(BoundField):
    """A field as the templates show it: with its unit, whether it is needed, and the other person's value."""

    @property
    def unit(self) -> str:
        """The unit that stands beside the field, "" where it has none."""
        named = getattr(self.form, "units", {}).get(self.name) or getattr(self.field, "unit", "")
        return named or self.field.widget.attrs.get("data-unit", "")

    @property
    def theirs(self) -> str:
        """What somebody else saved meanwhile, in words; "" where it is what stands here or nobody did."""
        return getattr(self.form, "theirs", {}).get(self.name, "")

    @property
    def single_tick(self) -> bool:
        """Whether it is one box to tick, whose label follows it."""
        return isinstance(self.field.widget, forms.CheckboxInput)


class Renderer(DjangoTemplates):
    """Forms, fields and groups of forms by the templates below `jobsite/templates`, Django's own elsewhere."""

    form_template_name = "forms/form.html"
    formset_template_name = "forms/formset.html"
    field_template_name = "forms/field.html"
    bound_field_class = PlainBoundField

    @cached_property
    def engine(self) -> Any:
        """Our folder before Django's, so that `as_p` and the widgets too can be dressed."""
        ours = Path(__file__).parent / "templates"
        django = Path(forms.__file__).parent / "templates"
        return self.backend({"APP_DIRS": True, "DIRS": [ours, django], "NAME": "forms", "OPTIONS": {}})


class PlainForm(forms.Form):
    """A form that can be shown again with nothing lost and saves nothing that breaks further down."""

    units: ClassVar[dict[str, str]] = {}
    use_required_attribute = True

    def __init__(self, data: Any = None, *args: Any, **kwargs: Any) -> None:
        self.theirs: dict[str, str] = {}
        data, self._unkeepable = keepable(data)
        super().__init__(data, *args, **kwargs)
        for field in self.fields.values():
            _cap(field)
            _plain_sentences(field)

    def _clean_fields(self) -> None:
        super()._clean_fields()  # type: ignore[misc]  # the stubs do not know it
        for name in self.fields:
            if self.add_prefix(name) in self._unkeepable:
                self.add_error(name, UNKEEPABLE_WORDS)

    def meet(self, theirs: object) -> None:
        """Somebody else saved `theirs` meanwhile: show it beside what was typed, and take over its version.

        Saving again is then this person's decision, knowingly over the other's. A form whose fields are named
        otherwise than the row's columns overrides `values_of`.
        """
        values = self.values_of(theirs)
        mine = {name: self.cleaned_data.get(name, self[name].value()) for name in self.fields}
        shown = (n for n in values if n in self.fields and not self[n].is_hidden)
        self.theirs = {n: self._in_words(n, values[n]) for n in shown if values[n] != mine[n]}
        if "version" in self.fields and "version" in values:
            data: Any = self.data
            self.data = data = data.copy()
            data[self.add_prefix("version")] = str(values["version"])

    @property
    def in_words(self) -> str:
        """What is chosen, for the head of a folded filter: "Mine, C1, loft"."""
        return ", ".join(self._in_words(name, value) for name in self.fields if (value := self[name].value()))

    def values_of(self, row: object) -> dict[str, Any]:
        """The values of `row` by the names of this form's fields."""
        return {name: getattr(row, name) for name in self.fields if hasattr(row, name)}

    def _in_words(self, name: str, value: Any) -> str:
        choices: Iterable[Any] = getattr(self.fields[name], "choices", ())
        labels = {} if isinstance(self.fields[name], forms.ModelChoiceField) else dict(flatten_choices(choices))
        if isinstance(value, list | tuple):
            return ", ".join(str(labels.get(one, one)) for one in value) or words.plain("")
        if value in labels:
            return str(labels[value])
        return words.plain(value)


class CreateForm(PlainForm):
    """A form that makes a row, whose key is settled when the form is opened: sending it twice makes one row.

    A page that a phone keeps is opened more than once: `jobsite/now.js` then gives each opening a key of its own.
    """

    id = forms.UUIDField(
        widget=forms.HiddenInput(attrs={"data-fresh": ""}),
        initial=new_id,
        error_messages={"invalid": "This form was damaged on its way: open it again.", "required": "Open it again."},
    )


def keepable(data: Any) -> tuple[Any, frozenset[str]]:
    """`data` with the characters that no text column holds replaced, and the names of the fields they were in."""
    if not data:
        return data, frozenset()
    lists = data.lists() if isinstance(data, MultiValueDict) else ((k, [v]) for k, v in data.items())
    wrong = {n: v for n, v in lists if any(isinstance(x, str) and UNKEEPABLE.search(x) for x in v)}
    if not wrong:
        return data, frozenset()
    data = data.copy()
    for name, values in wrong.items():
        mended = [UNKEEPABLE.sub("\N{REPLACEMENT CHARACTER}", x) if isinstance(x, str) else x for x in values]
        if isinstance(data, MultiValueDict):
            data.setlist(name, mended)
        else:
            data[name] = mended[0]
    return data, frozenset(wrong)


def _cap(field: forms.Field) -> None:
    """Gives `field` the limits that its form left open, and its number the phone's number pad."""
    if isinstance(field, forms.IntegerField):
        _limit(field)
        if isinstance(field.widget, forms.NumberInput):
            field.widget = number("", whole=type(field) is forms.IntegerField, attrs=field.widget.attrs)
    elif isinstance(field, forms.CharField) and field.max_length is None:
        field.validators.append(_not_longer(getattr(field, "most", LONGEST)))


def _plain_sentences(field: forms.Field) -> None:
    """Our sentences in place of Django's; those that a form wrote itself stay."""
    found: dict[str, Any] = FOUND | ({"invalid": NO_EMAIL} if isinstance(field, forms.EmailField) else {})
    if isinstance(field, forms.IntegerField):  # its limits; those that `_limit` sets bring their own sentences
        found |= {"min_value": LEAST} if field.min_value is not None else {}
        found |= {"max_value": MOST} if field.max_value is not None else {}
    field.error_messages = found | field.error_messages
    for code, sentence in field.error_messages.items():
        field.error_messages[code] = PLAINER.get(str(sentence), sentence)
    if isinstance(field, forms.ChoiceField) and field.error_messages["required"] == NEEDED:
        field.error_messages["required"] = "Choose one."


def _limit(field: forms.IntegerField) -> None:
    if getattr(field, "max_value", None) is None:
        field.validators.append(MaxValueValidator(LARGEST, "This number is too large."))
    if getattr(field, "min_value", None) is None:
        field.validators.append(MinValueValidator(-LARGEST, "This number is too small."))


def _not_longer(most: int) -> Callable[[Any], None]:
    def check(value: Any) -> None:
        if isinstance(value, str) and len(value) > most:
            raise ValidationError(f"This is longer than {most} characters.")

    return check
