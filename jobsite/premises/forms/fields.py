"""Fields that the forms of premises share: words, choices, numbers with their unit, phases."""

from typing import Any

from django import forms

from jobsite.forms import LineField, NumberField, PlainForm
from jobsite.premises import choices
from jobsite.premises.models import Site, Unit

PHASES = [(line, line) for line in choices.LINES]
HOUSE_PHASES = [("L1", "single-phase"), ("L1,L2,L3", "three-phase")]
BELIEVED = [("", "not verified: believed only"), *choices.HOW_OFFERED]
AREA = forms.Textarea(attrs={"rows": 3})


class EditForm(PlainForm):
    """A form over a row that two people may have open: it carries the version that this person saw."""

    version = forms.IntegerField(widget=forms.HiddenInput)


def text(label: str, *, needed: bool = False, help_text: str = "", area: bool = False) -> forms.CharField:
    """A field of words: one line, or several."""
    more: dict[str, Any] = {"label": label, "required": needed, "help_text": help_text}
    return LineField(widget=AREA, most=4000, **more) if area else LineField(**more)


def choice(label: str, pairs: Any, *, needed: bool = False, help_text: str = "", first: str = "not known") -> Any:
    """A field of one of `pairs`; where it isn't needed, nothing can be chosen under the name `first`.

    Where it is needed, nothing is chosen beforehand: a rule of law must not rest on what somebody passed over.
    """
    pairs = list(pairs)
    if not any(value == "" for value, _ in pairs):
        pairs = [("", "choose" if needed else first), *pairs]
    return forms.ChoiceField(label=label, choices=pairs, required=needed, help_text=help_text)


def whole(
    label: str,
    unit: str = "",
    *,
    least: int = 0,
    most: int | None = None,
    needed: bool = False,
    help_text: str = "",
) -> Any:
    """A field of a whole number with its unit."""
    field = forms.IntegerField(label=label, required=needed, min_value=least, max_value=most, help_text=help_text)
    field.widget.attrs["data-unit"] = unit
    return field


def decimal(label: str, unit: str, *, digits: int, places: int, help_text: str = "") -> NumberField:
    """A field of an exact number with its unit, never negative."""
    shape = {"max_digits": digits, "decimal_places": places}
    return NumberField(label=label, unit=unit, required=False, min_value=0, help_text=help_text, **shape)


def phases(help_text: str = "") -> forms.MultipleChoiceField:
    """Which of the three phases there are."""
    widget = forms.CheckboxSelectMultiple
    return forms.MultipleChoiceField(label="Phases", choices=PHASES, widget=widget, help_text=help_text)


class HousePhases(forms.ChoiceField):
    """Single-phase or three-phase, as a house has it; a list of phases as all rows have it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(label="Phases", choices=HOUSE_PHASES, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """The list of phases as one of the choices; an odd one is offered as it is."""
        if not isinstance(value, list):
            return value
        joined = ",".join(value)
        if joined not in dict(HOUSE_PHASES):
            self.choices = [*HOUSE_PHASES, (joined, ", ".join(value))]
        return joined

    def to_python(self, value: Any) -> Any:
        """The list of phases."""
        return value.split(",") if value else []

    def validate(self, value: Any) -> None:
        """Any phases of the three: an odd pair was offered because it is so recorded."""
        if not value or set(value) - set(choices.LINES):
            raise forms.ValidationError("Choose one.")


class OfSiteForm(PlainForm):
    """A form that offers what there is at `site`; without units where nobody needs the word."""

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        self.site = site
        super().__init__(*args, **kwargs)
        for name in {"unit", "units"} & set(self.fields):
            field: Any = self.fields[name]
            field.queryset = Unit.objects.filter(site=site, retired_at__isnull=True).order_by("sort")
            if not any(not unit.whole_site for unit in field.queryset):
                del self.fields[name]
