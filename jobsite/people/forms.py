"""What may be typed about people, competence, instruments and the firm."""

from decimal import Decimal
from typing import Any

from django import forms

from jobsite.forms import CreateForm, DayField, LineField, NumberField, PlainForm
from jobsite.people.rights import Role

ROLES = [
    (Role.OFFICE.value, "office: takes in reports, plans, books"),
    (Role.ENGINEER.value, "engineer: inspects, does the work, closes it with proof"),
    (Role.MANAGER.value, "manager: also people, competence, the firm's limits"),
]


class PersonFields(PlainForm):
    name = LineField(label="Name")
    phone = LineField(label="Telephone", required=False)
    roles = forms.MultipleChoiceField(label="Roles", choices=ROLES, widget=forms.CheckboxSelectMultiple)
    subcontractor = forms.BooleanField(label="A subcontractor: sees only the sites of their own visits", required=False)

    def clean_roles(self) -> list[str]:
        """The roles in the order in which they are kept."""
        return sorted(self.cleaned_data["roles"])


class InviteForm(PersonFields, CreateForm):
    email = forms.EmailField(label="E-mail", max_length=254, help_text="They sign in with it.")

    field_order = ("name", "email")


class EditPersonForm(PersonFields):
    version = forms.IntegerField(widget=forms.HiddenInput)


class CompetenceForm(CreateForm):
    since = DayField(label="Since")
    until = DayField(label="Until", required=False, help_text="The last day; empty where no end is set.")
    evidence = LineField(label="What shows it", help_text="A certificate with its number, an assessment and by whom.")


class EndCompetenceForm(PlainForm):
    until = DayField(label="Last day")


class InstrumentForm(CreateForm):
    name = LineField(label="Name", help_text="What it measures: loop tester, insulation tester.")
    serial_number = LineField(label="Serial number")


class CheckForm(PlainForm):
    checked_on = DayField(label="Checked on")
    check_due = DayField(label="Next check due")


class FirmForm(PlainForm):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = LineField(label="Name of the firm")
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea(attrs={"rows": 3}))
    phone = LineField(label="Telephone", required=False)
    email = forms.EmailField(label="E-mail", required=False, max_length=254)


def days(label: str, help_text: str = "") -> Any:
    """A number of days, at least one."""
    field = forms.IntegerField(label=label, min_value=1, max_value=3650, help_text=help_text)
    field.widget.attrs["data-unit"] = "days"
    return field


# The keys are those that the published standards' room knows; that room is above this one.
ROUNDINGS = [
    ("exact", "the factor × the exact value, shown rounded down"),
    ("tabulated", "the factor × the value as printed, to 2 places"),
    ("down", "the factor × the exact value, rounded down to 2 places"),
    ("nearest", "the factor × the exact value, rounded to the nearest of 2 places"),
]


class PolicyForm(PlainForm):
    holds_from = DayField(label="Holds from")
    reason = forms.CharField(label="Why")
    c1_days = days(
        "A C1 is remedied within", "Starting with the day on which it was recorded. It is made safe at once."
    )
    c2_days = days("A C2 is remedied within")
    fi_days = days("An FI is investigated within")
    decide_days = days("It is decided what an observation needs within")
    step_days = days("The office takes a remedial's next step within")
    look_again_days = days("What was made safe is looked at again after")
    inspection_notice_days = days("An inspection is announced before it is due by")
    loop_factor = NumberField(
        label="A loop impedance on a cold conductor is judged against the limit times",
        max_digits=3,
        min_value=Decimal("0.01"),
        max_value=Decimal(1),
    )
    loop_rounding = forms.ChoiceField(label="Such a limit is", choices=ROUNDINGS)
    meter_tolerance_percent = NumberField(
        label="Two meters over the same interval agree within",
        unit="%",
        max_digits=4,
        decimal_places=2,
        min_value=Decimal("0.1"),
        max_value=Decimal(25),
    )
