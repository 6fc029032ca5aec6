"""Fields that read what people type: numbers with their unit, days in British order, times of London's clock."""

import re
from datetime import UTC, date, datetime
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from jobsite import words

FIRST_YEAR, LAST_YEAR = 1900, 2199
DAY_SHAPES = ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d %b %Y", "%d %B %Y")
DAY_WRONG = "Write the date as day, month, year: 24 Nov 2026 or 24/11/2026."
DAY_FAR = f"The year must be between {FIRST_YEAR} and {LAST_YEAR}."
MOST_BYTES = 20 * 1024 * 1024  # of a paper that is kept
MOMENT_WRONG = "Write the day and the time as 24/11/2026 09:30."


def number(unit: str = "", *, whole: bool = False, attrs: dict[str, Any] | None = None) -> forms.TextInput:
    """A field for a number as text: a browser's number field forgets what it cannot read and turns with the wheel."""
    kept = {k: v for k, v in (attrs or {}).items() if k not in ("min", "max", "step")}
    widget = forms.TextInput({"inputmode": "numeric" if whole else "decimal", "autocomplete": "off"} | kept)
    widget.attrs.setdefault("class", "number")
    if unit:
        widget.attrs["data-unit"] = unit
    return widget


class LineField(forms.CharField):
    """One line of words, such as a name or a place: at most `most` characters.

    The limit is told when the form is sent. A browser's own limit would cut off what is pasted without a word.
    """

    def __init__(self, *, most: int = 200, **kwargs: Any) -> None:
        self.most = most
        super().__init__(**kwargs)


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


class MovesWithTheClock:
    """A field of time whose first value is reckoned from now: on a page that is hours old (kept on a phone, left open)
    `jobsite/now.js` moves it on, unless somebody changed it.
    """

    moves = False

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """The mark by which the page's script finds it."""
        attrs: dict[str, Any] = super().widget_attrs(widget)  # type: ignore[misc]  # of the field beside this class
        return attrs | ({"data-now": ""} if self.moves else {})


class DayField(MovesWithTheClock, forms.DateField):
    """A day. British order when typed: 3/2/2026 is 3 February. `moves`: its first value is reckoned from today."""

    widget = DayInput

    def __init__(self, *, moves: bool = False, **kwargs: Any) -> None:
        self.moves = moves
        super().__init__(input_formats=DAY_SHAPES, **kwargs)
        self.error_messages["invalid"] = DAY_WRONG

    def to_python(self, value: Any) -> date | None:
        """The date, None for an empty field; ValidationError where it is no date or far out of our time."""
        day = super().to_python(_spaced(value))
        if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValidationError(DAY_FAR, code="far")
        return day


class MomentField(MovesWithTheClock, forms.DateTimeField):
    """A day and time as the clock in London shows it; cleaned to an instant in UTC. `moves`: first it says now.

    The hour that the spring change skips and the one that the autumn change repeats are refused with a sentence.
    """

    widget = MomentInput

    def __init__(self, *, moves: bool = False, **kwargs: Any) -> None:
        self.moves = moves
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


class PaperField(forms.FileField):
    """A certificate or a letter: a PDF of at most 20 MB."""

    def __init__(self, *, label: str, **more: Any) -> None:
        widget = forms.FileInput(attrs={"accept": "application/pdf"})
        super().__init__(label=label, required=False, widget=widget, help_text="A PDF of at most 20 MB.", **more)

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The uploaded file. ValidationError for what is too large or is no PDF."""
        file = super().clean(data, initial)
        if isinstance(file, UploadedFile):
            if (file.size or 0) > MOST_BYTES:
                raise ValidationError("This file is larger than 20 MB.")
            if file.read(5) != b"%PDF-":
                raise ValidationError("This file is not a PDF.")
            file.seek(0)
        return file
