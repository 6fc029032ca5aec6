"""What may be typed about a closing letter and its delivery."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile

from jobsite.fields import MOST_BYTES, DayField
from jobsite.forms import CreateForm, PlainForm
from jobsite.people.rights import Role
from remedials.due.models import Leaving
from remedials.due.rules.closing import HOW
from remedials.works.forms.fields import PersonField, text


class LetterForm(CreateForm):
    why = forms.ChoiceField(label="Why our part here ends", choices=Leaving.Why.choices, widget=forms.RadioSelect)
    reason = text(
        "How we know", needed=True, area=True, help_text="Who said so, when, how. For our record: it is not printed."
    )
    to_name = text(
        "The letter goes to", needed=True, help_text="The customer, their estate, their agent, the new owner."
    )
    to_address = text("Their address", area=True)
    owner = PersonField(label="Who sees that it is delivered", roles=(Role.OFFICE, Role.MANAGER))
    deliver_by = DayField(label="By")


class SendForm(PlainForm):
    email = forms.EmailField(label="Send it to this e-mail address")


class ProofField(forms.FileField):
    """What proves a delivery: a PDF, or a photograph, of at most 20 MB."""

    def __init__(self, *, label: str, help_text: str) -> None:
        widget = forms.FileInput(attrs={"accept": "application/pdf,image/jpeg,image/png,image/webp"})
        super().__init__(label=label, required=False, widget=widget, help_text=help_text)

    def clean(self, data: Any, initial: Any = None) -> Any:
        """The uploaded file. ValidationError for one that is too large."""
        file = super().clean(data, initial)
        if isinstance(file, UploadedFile) and (file.size or 0) > MOST_BYTES:
            raise ValidationError("This file is larger than 20 MB.")
        return file


class DeliveredForm(PlainForm):
    how = forms.ChoiceField(
        label="How it was delivered", choices=[(key, words) for key, words in HOW.items()], widget=forms.RadioSelect,
        help_text="By e-mail: only once it was sent from here. Refused: it was held out to them and they would not take it.",
    )  # fmt: skip
    on = DayField(label="On")
    to = text("To whom", needed=True, help_text="Who took or refused it, or where it was left.")
    proof = ProofField(
        label="Proof", help_text="Needed when posted: the receipt or the confirmation, as a PDF or a photograph."
    )
    version = forms.IntegerField(widget=forms.HiddenInput)
