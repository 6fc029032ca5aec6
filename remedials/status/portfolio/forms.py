"""What narrows the list of a customer's units: all of it stands in the address, so that it can be kept and sent on."""

from typing import Any

from django import forms

from jobsite.forms import LineField, PlainForm
from remedials.status.portfolio.rules import Danger, Dates

DANGER = [
    ("", "all"),
    (Danger.NOW.value, "danger now"),
    (Danger.OPEN.value, "C1 or C2 open"),
    (Danger.UNKNOWN.value, "not known: FI, not looked at, never inspected"),
    (Danger.NONE.value, "no dangerous item on record"),
]
DATES = [
    ("", "all"),
    (Dates.LATE.value, "something is past its date"),
    (Dates.SOON.value, "next inspection within 90 days"),
]
ACCESS = [("", "all"), ("shut-out", "not let in when we last came")]


class NarrowForm(PlainForm):
    q = LineField(label="Name or address holds", required=False)
    danger = forms.ChoiceField(label="Danger", choices=DANGER, required=False)
    dates = forms.ChoiceField(label="Dates", choices=DATES, required=False)
    access = forms.ChoiceField(label="Getting in", choices=ACCESS, required=False)

    def chosen(self) -> dict[str, Any]:
        """What was asked for; what cannot be read asks for nothing, and the form says so."""
        self.is_valid()
        data = self.cleaned_data
        return {
            "words": data.get("q", ""),
            "danger": data.get("danger", ""),
            "dates": data.get("dates", ""),
            "shut_out": data.get("access") == "shut-out",
        }
