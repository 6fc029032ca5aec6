"""What may be typed about times offered."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobsite.fields import DayField, MomentField
from jobsite.forms import NEEDED, CreateForm, PlainForm
from jobsite.premises.models import Site
from remedials.visits.forms.booking import RemedialsField
from remedials.visits.forms.getting_in import AtSiteForm, engineers, unit_field
from remedials.works.forms.fields import text
from remedials.works.models import Remedial

LINES = 6


class OfferForm(AtSiteForm):
    """Up to six times: those left empty are not offered."""

    unit = unit_field()
    remedials = RemedialsField(Remedial.objects.none(), label="Remedials to do", widget=forms.CheckboxSelectMultiple)
    engineers = forms.ModelMultipleChoiceField(engineers(), label="Who goes", widget=forms.CheckboxSelectMultiple)
    access = text("Access")
    outage = text("What goes off", area=True)
    answer_by = DayField(label="Answer by")
    despite = text("Offer them all the same, because", area=True, help_text="Only where you were warned of a time.")

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        work: Any = self.fields["remedials"]
        work.queryset = Remedial.objects.filter(site=site, stage="approved").order_by("number")
        for number in range(1, LINES + 1):
            more: dict[str, Any] = {"required": number == 1, "error_messages": {"required": NEEDED}}
            self.fields[f"start_{number}"] = MomentField(label=f"Time {number} from", **more)
            self.fields[f"end_{number}"] = MomentField(label=f"Time {number} until", **more)
        self.fields["despite"] = self.fields.pop("despite")  # after the times that it is about

    def clean(self) -> dict[str, Any]:
        """The times as pairs, half ones refused."""
        data = super().clean() or self.cleaned_data
        times = []
        for number in range(1, LINES + 1):
            start, end = data.pop(f"start_{number}", None), data.pop(f"end_{number}", None)
            if start and end:
                times.append((start, end))
            elif (start or end) and not self.errors:
                self.add_error(
                    f"end_{number}" if start else f"start_{number}", ValidationError("Say from when until when.")
                )
        data["times"] = times
        return data


class HandOverForm(CreateForm):
    """To whom a link goes: handed over by the office, or e-mailed."""

    sent_to = text("Who is to choose", needed=True)
    how = forms.ChoiceField(
        label="How they get it",
        choices=[("hand", "I pass it on myself"), ("email", "By e-mail")],
        widget=forms.RadioSelect,
    )
    email = forms.EmailField(label="E-mail address", required=False, max_length=254)

    def clean(self) -> dict[str, Any]:
        """An address where it is to be e-mailed."""
        data = super().clean() or self.cleaned_data
        if data.get("how") == "email" and not data.get("email") and "email" not in self.errors:
            self.add_error(
                "email", ValidationError("There is no e-mail address: enter one, or pass the link on yourself.")
            )
        return data


def box(label: str, *, needed: bool = False) -> forms.CharField:
    """A field of words that is no wider than a small phone."""
    field = text(label, needed=needed, area=True)
    field.widget = forms.Textarea(attrs={"rows": 3, "cols": 26})
    return field


class AnswerForm(PlainForm):
    """What a customer types with a chosen time."""

    name = text("Your name", needed=True)
    words = box("Anything we should know")


class NoneForm(PlainForm):
    """What a customer types where none suits."""

    name = text("Your name", needed=True)
    words = box("None suits, because", needed=True)
