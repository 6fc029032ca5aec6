"""The forms' common ground: what may be typed, how it is read, and the templates that show it.

PlainForm    refuses text that no database can hold, gives every number a largest value, keeps what was typed.
CreateForm   a PlainForm with the hidden key of the row to be made: saving twice makes one row.
DayField     a day: from the browser's date field, or typed as 24/11/2026 or 24 Nov 2026.
MomentField  a day and time in London, kept as an instant in UTC.
NumberField  an exact decimal number; IntegerField and DecimalField of Django are dressed the same way.

Any field may name its unit: `NumberField(label="Ze", widget=number("Ω"))`, or `units = {"ze": "Ω"}` in the form.
"""

import re
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.forms.boundfield import BoundField
from django.forms.renderers import DjangoTemplates
from django.utils.datastructures import MultiValueDict
from django.utils.functional import cached_property

from jobsite import words
from jobsite.ids import new_id

UNKEEPABLE = re.compile("[\0\ud800-\udfff]")
LARGEST = 2**31 - 1  # what an integer column of PostgreSQL holds
LONGEST = 10_000
FIRST_YEAR, LAST_YEAR = 1900, 2199
DAY_SHAPES = ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d %b %Y", "%d %B %Y")
DAY_WRONG = "Write the date as day, month, year: 24 Nov 2026 or 24/11/2026."
DAY_FAR = f"The year must be between {FIRST_YEAR} and {LAST_YEAR}."
MOMENT_WRONG = "Write the day and the time as 24/11/2026 09:30."
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
    "The submitted file is empty.": "This file is empty.",
}


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

    def values_of(self, row: object) -> dict[str, Any]:
        """The values of `row` by the names of this form's fields."""
        return {name: getattr(row, name) for name in self.fields if hasattr(row, name)}

    def _in_words(self, name: str, value: Any) -> str:
        choices: Iterable[Any] = getattr(self.fields[name], "choices", ())
        labels = {} if isinstance(self.fields[name], forms.ModelChoiceField) else dict(choices)
        if value in labels:
            return str(labels[value])
        return words.plain(value)


class CreateForm(PlainForm):
    """A form that makes a row, whose key is settled when the form is opened: sending it twice makes one row."""

    id = forms.UUIDField(
        widget=forms.HiddenInput,
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
        field.validators.append(_not_longer(LONGEST))


def _plain_sentences(field: forms.Field) -> None:
    """Our sentences in place of Django's; those that a form wrote itself stay."""
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


def number(unit: str = "", *, whole: bool = False, attrs: dict[str, Any] | None = None) -> forms.TextInput:
    """A field for a number as text: a browser's number field forgets what it cannot read and turns with the wheel."""
    kept = {k: v for k, v in (attrs or {}).items() if k not in ("min", "max", "step")}
    widget = forms.TextInput({"inputmode": "numeric" if whole else "decimal", "autocomplete": "off"} | kept)
    widget.attrs.setdefault("class", "number")
    if unit:
        widget.attrs["data-unit"] = unit
    return widget


class NumberField(forms.DecimalField):
    """An exact decimal number, typed with or without its unit ("0.64", "0.64 Ω"); never "NaN" or infinite.

    `unit` is shown beside the field. At most 12 digits unless told otherwise.
    """

    widget = forms.TextInput

    def __init__(self, *, unit: str = "", max_digits: int = 12, **kwargs: Any) -> None:
        self.unit = unit
        kwargs.setdefault("widget", number())
        super().__init__(max_digits=max_digits, **kwargs)
        self.error_messages["invalid"] = "Write a number, such as 0.64."

    def to_python(self, value: Any) -> Any:
        """The Decimal, None for an empty field; ValidationError where it is no number."""
        if isinstance(value, str) and self.unit:
            value = value.strip().removesuffix(self.unit)
        return super().to_python(value)


class DayInput(forms.DateInput):
    """The browser's date field; a plain text field where what was typed is no date it could show."""

    input_type = "date"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs, format="%Y-%m-%d")

    shape: ClassVar[str] = "%Y-%m-%d"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """The widget's context, its type chosen by whether the browser could show the value."""
        context = super().get_context(name, value, attrs)
        shown = context["widget"]["value"]
        if shown and not _reads(shown, self.shape):
            context["widget"]["type"] = "text"
        return context


class MomentInput(DayInput):
    """The browser's field for a day and time, or plain text where it could not show what was typed."""

    input_type = "datetime-local"
    shape = "%Y-%m-%dT%H:%M"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        forms.DateInput.__init__(self, attrs, format=self.shape)


def _reads(text: str, shape: str) -> bool:
    try:
        datetime.strptime(text, shape)  # noqa: DTZ007 - only whether it reads
    except ValueError:
        return False
    return True


class DayField(forms.DateField):
    """A day. British order when typed: 3/2/2026 is 3 February."""

    widget = DayInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(input_formats=DAY_SHAPES, **kwargs)
        self.error_messages["invalid"] = DAY_WRONG

    def to_python(self, value: Any) -> date | None:
        """The date, None for an empty field; ValidationError where it is no date or far out of our time."""
        day = super().to_python(_spaced(value))
        if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValidationError(DAY_FAR, code="far")
        return day


class MomentField(forms.DateTimeField):
    """A day and time as the clock in London shows it; cleaned to an instant in UTC.

    The hour that the spring change skips and the one that the autumn change repeats are refused with a sentence.
    """

    widget = MomentInput

    def __init__(self, **kwargs: Any) -> None:
        times = [f"{day}{between}%H:%M" for day in DAY_SHAPES for between in ("T", " ", ", ")]
        super().__init__(input_formats=times, **kwargs)
        self.error_messages["invalid"] = MOMENT_WRONG

    def prepare_value(self, value: Any) -> Any:
        """The value for the field: London's clock for an instant, what was typed otherwise."""
        return words.london(value).replace(tzinfo=None) if isinstance(value, datetime) and value.tzinfo else value

    def to_python(self, value: Any) -> datetime | None:
        """The instant in UTC, None for an empty field; ValidationError where it is none."""
        if isinstance(value, str) and not value.strip():
            return None
        naive = self._naive(value)
        if naive is None or naive.tzinfo is not None:
            return naive
        if not FIRST_YEAR <= naive.year <= LAST_YEAR:
            raise ValidationError(DAY_FAR, code="far")
        return _instant(naive)

    def _naive(self, value: Any) -> datetime | None:
        if value in self.empty_values or isinstance(value, datetime):
            return value or None
        for shape in self.input_formats or ():
            if _reads(text := _spaced(str(value)), shape):
                return datetime.strptime(text, shape)  # noqa: DTZ007 - made aware by the caller
        raise ValidationError(self.error_messages["invalid"], code="invalid")


def _spaced(value: Any) -> Any:
    """Typed text with single spaces, and "Sept" as strptime knows it."""
    if not isinstance(value, str):
        return value
    return re.sub(r"\bsept\b", "Sep", " ".join(value.split()), flags=re.IGNORECASE)


def _instant(naive: datetime) -> datetime:
    """The instant in UTC at which London's clock shows `naive`; ValidationError where there is none or there are two."""
    early, late = (naive.replace(tzinfo=words.LONDON, fold=fold).astimezone(UTC) for fold in (0, 1))
    if early == late:
        return early
    if words.london(early).replace(tzinfo=None) != naive:
        raise ValidationError("The clocks go forward over this time: it does not exist on that day.", code="clock")
    raise ValidationError("The clocks go back over this time: it comes twice that day. Choose another.", code="clock")
