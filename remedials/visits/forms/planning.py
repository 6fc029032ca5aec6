"""What may be typed about plans."""

from datetime import date
from typing import Any

from django import forms

from jobsite.forms import CreateForm, DayField, PlainForm
from jobsite.people.models import User
from jobsite.people.rights import Role
from remedials.visits.choices import Effort
from remedials.visits.models import Plan
from remedials.visits.operations.planning import MOST_DAYS
from remedials.works.forms.fields import text

MOST_BYTES = 5_000_000
EFFORTS = [
    (Effort.QUICK.value, "Quick: a few seconds, enough to see what fits"),
    (Effort.NORMAL.value, "Normal: about ten seconds for eight engineers and 120 visits"),
    (Effort.THOROUGH.value, "Thorough: about a minute for as much, with a little less driving"),
]


class PlanForm(CreateForm):
    """Which days, whom, and how hard to search. `before`: a plan that this one may begin from."""

    first = DayField(label="First day")
    days = forms.IntegerField(label="How many days", min_value=1, max_value=MOST_DAYS, initial=7)
    engineers = forms.ModelMultipleChoiceField(
        User.objects.none(),
        label="Who can be sent",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose who can be sent."},
    )
    effort = forms.ChoiceField(
        label="How long it searches", choices=EFFORTS, widget=forms.RadioSelect, initial=Effort.NORMAL.value
    )
    after = forms.BooleanField(required=False)
    seed = forms.IntegerField(
        label="Number that the search begins with",
        min_value=0,
        max_value=1_000_000,
        initial=1,
        required=False,
        help_text="Leave it. With the same number the same work gives the same plan; another may find a different one.",
    )

    def __init__(self, *args: Any, before: Plan | None, first: date, **kwargs: Any) -> None:
        people = User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value]).order_by("name", "pk")
        usual = {"first": first, "engineers": [user.pk for user in people], "after": before is not None}
        kwargs["initial"] = usual | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        chosen: Any = self.fields["engineers"]
        chosen.queryset = people
        self.before = before
        if before is None:
            del self.fields["after"]
        else:
            self.fields["after"].label = f"Begin from plan {before.number} and change as little of it as possible"

    def clean_seed(self) -> int:
        """The number; the usual one where the field was emptied."""
        seed = self.cleaned_data["seed"]
        return 1 if seed is None else int(seed)

    def clean_after(self) -> Plan | None:
        """The plan to begin from, where that is wanted."""
        return self.before if self.cleaned_data["after"] else None


class AcceptForm(PlainForm):
    despite = text(
        "Why in spite of that",
        area=True,
        help_text="Needed where the booking warns of something. It stays on the visit.",
    )


class RefuseForm(PlainForm):
    why = text("Why it is refused", needed=True, area=True)


class TableForm(PlainForm):
    """A table of driving times as a spreadsheet."""

    file = forms.FileField(
        label="The table",
        help_text="CSV or XLSX with the columns From district, To district, Minutes, Kilometres; at most 5 MB.",
        widget=forms.FileInput(attrs={"accept": ".csv,.xlsx"}),
    )

    def clean_file(self) -> Any:
        """The file, where it isn't too large to be read into memory."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError("This file is larger than 5 MB.")
        return file
