"""Forms for observations of a draft, made to be typed one after another."""

from typing import Any

from django import forms
from django.db.models import Q

from inspections.forms.fields import CODES, PlacedForm, area, line
from inspections.models import Inspection, Observation
from jobsite.forms import CreateForm
from jobsite.typed import PhotosField

MOST_EARLIER = 300
MOST_PHOTOS = 12
KEYS = "Keys: 1 2 3 for C1 C2 C3, F for FI"
OWN = ("unit", "board", "way", "place", "text", "code", "photos", "item", "continues")
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

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, site=inspection.site, units=inspection.units.all(), **kwargs)
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
        field: Any = self.fields["continues"]
        labels = [(key, f"{o.number} · {o.code or 'not coded'} · {o.text[:80]}") for key, o in earlier.items()]
        field.choices, field.coerce = [("", "no, a new one"), *labels], earlier.__getitem__


class ChangeObservationForm(ObservationForm):
    """An observation of a draft again, with the version that this person saw."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["id"]
