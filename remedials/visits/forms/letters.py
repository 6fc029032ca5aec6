"""What may be typed about a letter that asks to be let in."""

from typing import Any

from django import forms

from jobsite.fields import DayField
from jobsite.premises.models import Site
from remedials.visits.choices import AttemptHow
from remedials.visits.forms.booking import RemedialsField
from remedials.visits.forms.getting_in import AtSiteForm, unit_field
from remedials.visits.operations.letters import SENT
from remedials.works.forms.fields import text
from remedials.works.models import Remedial

WHICH = [AttemptHow.FIRST_LETTER, AttemptHow.SECOND_LETTER, AttemptHow.FINAL_LETTER]


def open_work(site: Site) -> Any:
    """The remedials of a site that are still to be done."""
    rows = Remedial.objects.filter(site=site, stage__in=["to-price", "quoted", "approved", "booked"])
    return rows.order_by("number")


class LetterForm(AtSiteForm):
    which = forms.ChoiceField(label="Letter", choices=[(w.value, w.label) for w in WHICH], widget=forms.RadioSelect)
    unit = unit_field()
    to = text("To", needed=True)
    to_address = text("Their address", area=True)
    remedials = RemedialsField(
        Remedial.objects.none(), label="Work to name", required=False, widget=forms.CheckboxSelectMultiple
    )
    times = text(
        "Times to choose from", area=True, help_text="One on each line, such as: Mon 2 Mar 2026, 09:00 to 12:00."
    )
    answer_by = DayField(label="Answer asked for by")
    sent = forms.ChoiceField(label="How it goes", choices=list(SENT.items()), widget=forms.RadioSelect)
    email = forms.EmailField(label="E-mail address", required=False)

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, site=site, **kwargs)
        work: Any = self.fields["remedials"]
        work.queryset = open_work(site)

    def clean_times(self) -> list[str]:
        """The lines, without empty ones."""
        return [line.strip() for line in self.cleaned_data["times"].splitlines() if line.strip()]
