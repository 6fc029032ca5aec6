"""Forms for how long what is kept, and for a customer's request."""

from django import forms

from jobsite.forms import CreateForm, DayField, PlainForm, number
from remedials.status.privacy.rules import LEAST, MOST

WHY_ERASED = [
    ("asked", "they asked for it"),
    ("objected", "they object to its being kept"),
    ("not-needed", "it is no longer needed"),
]


class RetentionForm(PlainForm):
    """How many months one kind of data is kept, and why."""

    months = forms.IntegerField(
        label="Kept for", required=False, min_value=LEAST, max_value=MOST, widget=number("months"),
        help_text="Leave it empty to keep it until somebody asks.",
    )  # fmt: skip
    why = forms.CharField(
        label="Why", widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In plain words: anybody may read it on the page about what is kept.",
    )  # fmt: skip
    version = forms.IntegerField(widget=forms.HiddenInput)


class ExportForm(CreateForm):
    """That a customer asked for their data, and when."""

    asked_on = DayField(label="They asked on")


class ErasureForm(CreateForm):
    """That a customer's data are to be erased: when they asked, why, and that it is meant."""

    asked_on = DayField(label="They asked on")
    why = forms.ChoiceField(label="Why", choices=WHY_ERASED, widget=forms.RadioSelect)
    sure = forms.BooleanField(
        label="I have read what is erased and what stays. It cannot be undone.",
        error_messages={"required": "Read the lists first, then say so here."},
    )
