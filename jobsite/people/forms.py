"""What may be typed about people, competence, instruments and the firm."""

from decimal import Decimal
from typing import Any

from django import forms

from jobsite.fields import PaperField
from jobsite.firm.models import SecondStep
from jobsite.forms import CreateForm, DayField, LineField, NumberField, PlainForm
from jobsite.people.models import AccessToken, InstrumentCheck
from jobsite.people.rights import Role

ROLES = [
    (Role.OFFICE.value, "office: takes in reports, plans, books"),
    (Role.ENGINEER.value, "engineer: inspects, does the work, closes it with proof"),
    (Role.MANAGER.value, "manager: also people, competence, the firm's limits"),
]

# As premises' Nation spells them; that room is above this one.
NATIONS = [
    ("england", "England"),
    ("wales", "Wales"),
    ("scotland", "Scotland"),
    ("northern-ireland", "Northern Ireland"),
]
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
TIME = forms.TimeInput({"type": "time"}, format="%H:%M")


def degrees(label: str, most: int) -> NumberField:
    """A latitude or longitude in degrees, exact to about a metre."""
    return NumberField(
        label=label,
        required=False,
        unit="°",
        max_digits=8,
        decimal_places=5,
        min_value=Decimal(-most),
        max_value=Decimal(most),
    )


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
    insured_until = DayField(label="A subcontractor's insurance: its last day", required=False)
    apprentice = forms.BooleanField(label="An apprentice: is never sent alone", required=False)
    home_postcode = LineField(
        label="Post code where their day begins", required=False, help_text="For driving times. Only managers see it."
    )
    home_latitude = degrees("Latitude of that place", 90)
    home_longitude = degrees("Longitude of that place", 180)


class SkillForm(CreateForm):
    """What somebody can do. `known` are the names that others have already: the same name, the same skill."""

    name = LineField(label="Skill", help_text="As remedials name it.")
    since = DayField(label="Since")
    until = DayField(label="Until", required=False, help_text="The last day; empty where it doesn't expire.")
    evidence = LineField(
        label="What shows it", required=False, help_text="A certificate with its number, an assessment."
    )

    def __init__(self, *args: Any, known: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if known:
            self.fields["name"].help_text = f"As remedials name it. Known: {', '.join(known)}."


class WeekForm(CreateForm):
    """The hours of the week: seven pairs of times; a day left empty is not worked."""

    holds_from = DayField(label="From the day")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, name in enumerate(WEEKDAYS):
            for part, label in (("start", f"{name}, from"), ("end", f"{name}, until")):
                field = forms.TimeField(label=label, required=False, widget=TIME)
                field.error_messages["invalid"] = "Write the time as 08:00."
                self.fields[f"{part}_{number}"] = field

    def clean(self) -> dict[str, Any]:
        """`shifts`: (weekday, from, until) of each day that is worked."""
        facts: dict[str, Any] = super().clean() or {}
        shifts = []
        for number, name in enumerate(WEEKDAYS):
            start, end = facts.pop(f"start_{number}", None), facts.pop(f"end_{number}", None)
            if (start is None) != (end is None):
                missing = "end" if end is None else "start"
                self.add_error(f"{missing}_{number}", f"{name} has both times, or neither.")
            elif start and end and end <= start:
                self.add_error(f"end_{number}", f"{name} must end after it begins.")
            elif start:
                shifts.append((number, start, end))
        if not shifts and not self.errors:
            self.add_error("start_0", "Enter the hours of at least one day.")
        facts["shifts"] = shifts
        return facts


class LeaveForm(CreateForm):
    """Days away, both included; why is not asked."""

    first = DayField(label="First day")
    last = DayField(label="Last day")
    what = forms.ChoiceField(label="What", choices=[("leave", "leave"), ("training", "training"), ("away", "away")])


class TokenForm(CreateForm):
    """A token for another program."""

    name = LineField(label="Program", help_text="Which program has it, so that you know it again in this list.")
    scope = forms.ChoiceField(
        label="What it may", choices=AccessToken.Scope.choices, widget=forms.RadioSelect, initial="read"
    )
    days = forms.ChoiceField(
        label="It ends after",
        choices=[("30", "30 days"), ("90", "90 days"), ("180", "180 days"), ("365", "a year")],
        initial="90",
    )


class CompetenceForm(CreateForm):
    since = DayField(label="Since")
    until = DayField(label="Until", required=False, help_text="The last day; empty where no end is set.")
    evidence = LineField(label="What shows it", help_text="A certificate with its number, an assessment and by whom.")


class EndCompetenceForm(PlainForm):
    until = DayField(label="Last day")


class InstrumentForm(CreateForm):
    name = LineField(label="Name", help_text="What it measures: loop tester, insulation tester.")
    serial_number = LineField(label="Serial number")


class CheckForm(CreateForm):
    """An accuracy check. `calibrates`: whether this person records calibrations too; else it is a comparison."""

    kind = forms.ChoiceField(
        label="What it was",
        choices=InstrumentCheck.Kind.choices,
        help_text="A comparison, with a check box or another instrument, extends nothing: it shows that it is still right.",
    )
    checked_on = DayField(label="Checked on")
    result = forms.ChoiceField(label="It was", choices=InstrumentCheck.Result.choices)
    by_whom = LineField(label="By whom", help_text="The laboratory; or who compared it, with what.")
    due = DayField(label="Next calibration due", required=False, help_text="Of a calibration that it passed.")
    certificate = LineField(label="Number of the calibration certificate", required=False)
    file = PaperField(label="The certificate itself")
    last_good_on = DayField(
        label="Last known to be right on",
        required=False,
        help_text="Where it failed, or came in wrong and was adjusted: what it has shown since that day is doubtful.",
    )
    note = forms.CharField(
        label="Note", required=False, widget=forms.Textarea(attrs={"rows": 3}), help_text="Where it was wrong: how."
    )

    def __init__(self, *args: Any, calibrates: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not calibrates:
            for name in ("kind", "due", "certificate", "file"):
                del self.fields[name]
            field: Any = self.fields["result"]
            field.choices = [one for one in field.choices if one[0] != InstrumentCheck.Result.ADJUSTED]


class FirmForm(PlainForm):
    version = forms.IntegerField(widget=forms.HiddenInput)
    name = LineField(label="Name of the firm")
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea(attrs={"rows": 3}))
    phone = LineField(label="Telephone", required=False)
    email = forms.EmailField(label="E-mail", required=False, max_length=254)
    nation = forms.ChoiceField(label="Bank holidays of", choices=NATIONS)
    surnames = forms.BooleanField(
        label="Customers read the surnames of our people",
        required=False,
        help_text="Without it they read first names only: on their pages, in letters, quotes, notices and other documents "
        "that are made from then on. What was handed out stays as it is.",
    )


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


class SecondStepForm(PlainForm):
    of = forms.ChoiceField(label="A second step must be used by", choices=SecondStep.choices)


class SecondStepAwayForm(PlainForm):
    how = LineField(
        label="How you made sure that it is them",
        help_text="Such as: stood before me in the office; rang the number on their contract. It stands in the record.",
    )
