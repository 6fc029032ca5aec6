"""Forms for observations of a draft, made to be typed one after another."""

from typing import Any

from django import forms
from django.db.models import Q

from inspections.forms.fields import CODES, PlacedForm, area, line
from inspections.models import Inspection, Observation
from inspections.queries import alike
from jobsite.forms import CreateForm
from jobsite.typed import PhotosField

MOST_EARLIER = 300
MOST_PHOTOS = 12
FEWEST = 4  # letters that say something
KEYS = "Keys: 1 2 3 for C1 C2 C3, F for FI"
OWN = ("unit", "board", "way", "place", "text", "code", "photos", "item", "continues")
PLACED = ("unit", "board", "circuit")
UNSAID = (("", "not said"), ("new", "no, a new one"))
THEIRS = ("item", "code", "code_written", "text", "unit", "board", "way", "place", "photos", "continues")


class ObservationForm(PlacedForm, CreateForm):
    """One observation of a draft. For another firm's report also the code as it is written there.

    Of our own the place comes first, as one stands before it; of another firm's the order is that of the paper.
    """

    item = line("Item", needed=False, help_text="Its number in the report.", max_length=40)
    text = area("What was observed")
    code = forms.ChoiceField(label="Code", choices=CODES, widget=forms.RadioSelect(attrs={"data-code": ""}))
    code_written = line("Code as written, if otherwise", needed=False, max_length=40)
    photos = PhotosField(label="Photos", most=MOST_PHOTOS, help_text="Saved together with the observation.")
    continues = forms.TypedChoiceField(
        label="Same as an earlier one",
        required=False,
        empty_value=None,
        help_text="Its age then runs from the first record, and the earlier one ends here.",
    )
    asks = True  # whether one in like words is asked about where nothing was said

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, site=inspection.site, units=inspection.units.all(), **kwargs)
        self.inspection = inspection
        code: Any = self.fields["code"]
        code.help_text = KEYS
        if inspection.other_firm:
            code.required, code.choices = False, [*CODES, ("", "none that can be read")]
            code.help_text = f"{KEYS}, 0 for none"
        else:
            del self.fields["code_written"]
        self.order_fields(THEIRS if inspection.other_firm else OWN)
        self._offer_earlier(inspection)
        for name in ("unit", "board"):  # the next observation is mostly on the same
            if name in self.fields:
                self.fields[name].widget.attrs["data-stays"] = ""
        self.fields["item"].widget.attrs["data-counts"] = ""

    def _offer_earlier(self, inspection: Inspection) -> None:
        """The open observations of the site that this one may continue; the field goes where there are none."""
        rows = Observation.objects.filter(
            site=inspection.site_id, draft=False, recorded_on__lte=inspection.inspected_on
        )
        may_be = Q(ended="") | Q(pk=self.initial.get("continues"))
        earlier = {str(row.pk): row for row in rows.filter(may_be).order_by("number")[:MOST_EARLIER]}
        if not earlier:
            del self.fields["continues"]
            return
        self.earlier = earlier
        field: Any = self.fields["continues"]
        field.choices, field.coerce = [*UNSAID, *map(_choice, earlier.values())], earlier.get

    def clean(self) -> dict[str, Any]:
        """The cleaned values; where nothing was said of earlier ones in like words, that is asked."""
        values = super().clean()
        said = self.data.get(self.add_prefix("continues"), "")
        if self.asks and not said and "continues" in self.fields and values.get("text"):
            self._ask(values)
        return values

    def _ask(self, values: dict[str, Any]) -> None:
        asked = alike.asked_of(Observation(**{name: values.get(name) or None for name in PLACED}, **_words(values)))
        found = [
            self.earlier[str(one.id)] for one in alike.in_draft(self.inspection, asked) if str(one.id) in self.earlier
        ]
        if not found:
            return
        rest = [row for row in self.earlier.values() if row not in found]
        field: Any = self.fields["continues"]
        groups = [("In like words", list(map(_choice, found))), ("Others", list(map(_choice, rest)))]
        field.choices = [*UNSAID, *((head, pairs) for head, pairs in groups if pairs)]
        numbers = ", ".join(f"{row.number} “{row.text[:60]}”" for row in found)
        self.add_error(
            "continues", f"Is it one of these? {numbers}. Say which, or that it is a new one, and save again."
        )


def _choice(row: Observation) -> tuple[str, str]:
    return str(row.pk), f"{row.number} · {row.code or 'not coded'} · {row.text[:80]}"


def _words(values: dict[str, Any]) -> dict[str, str]:
    return {name: values.get(name) or "" for name in ("text", "place")}


class ChangeObservationForm(ObservationForm):
    """An observation of a draft again, with the version that this person saw."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    asks = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["id"]


class LikeForm(PlacedForm):
    """What was typed so far of an observation: enough to ask which earlier ones are like it."""

    text = area("What was observed")

    def asked(self) -> alike.Asked | None:
        """What to ask about; None while too little is typed, or where it is not to be read."""
        self.is_valid()
        values = self.cleaned_data
        if len(values.get("text", "")) < FEWEST or not values.get("unit"):
            return None
        return alike.asked_of(Observation(**{name: values.get(name) or None for name in PLACED}, **_words(values)))
