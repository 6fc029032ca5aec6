"""What may be typed about the terms of the diary."""

from decimal import Decimal
from typing import Any, ClassVar

from django import forms

from jobsite.forms import DayField, LineField, NumberField, PlainForm
from remedials.visits.rules.checks import FIXED, NEVER_SILENT, Check, Severity, severity_of

WORDS = {
    Check.HOURS: "Outside the engineer's hours",
    Check.LEAVE: "The engineer is away",
    Check.BANK_HOLIDAY: "On a bank holiday",
    Check.ACCESS: "Outside the times at which the customer lets people in",
    Check.SKILL: "Nobody who goes has the skill",
    Check.CREW: "Fewer go than the work takes at once",
    Check.ALONE: "An apprentice without somebody who is none",
    Check.INSURANCE: "A subcontractor's insurance has ended by then",
    Check.PARTS: "Parts are not there yet",
    Check.SEE_TO: "Something must be seen to first",
    Check.REMEDY_BY: "After the day by which it must be remedied",
    Check.TOO_SHORT: "The work takes longer than the visit",
    Check.LOCK_OFF: "Live tests below a lock-off of somebody else",
    Check.LOCKS: "Live tests where a lock-off is noted without its board",
    Check.OUTAGE: "Another visit has the power off, or needs it",
    Check.CANCELLATION: "In a consumer's days to cancel, not asked to begin at once",
    Check.DRIVING: "Too little time to drive from the visit before, or on to the next",
}
SEVERITIES = [
    (Severity.REFUSE.value, "refuse"),
    (Severity.WARN.value, "warn, and ask why all the same"),
    (Severity.SILENT.value, "say nothing"),
]
TIME = forms.TimeInput({"type": "time"}, format="%H:%M")


class TermsForm(PlainForm):
    """The terms of the diary from a day on."""

    units: ClassVar = {
        "speed_kmh": "km/h", "visit_minutes_least": "minutes", "confirm_days": "days", "letter_days": "days",
        "code_hours": "hours", "check_out_minutes": "minutes",
    }  # fmt: skip

    holds_from = DayField(label="From the day")
    day_start = forms.TimeField(label="Usual hours, from", widget=TIME, help_text="Of who has no hours of their own.")
    day_end = forms.TimeField(label="Usual hours, until", widget=TIME)
    winding_factor = NumberField(
        label="A road is longer than the straight line by the factor", max_digits=4, decimal_places=2,
        min_value=Decimal(1), max_value=Decimal(3),
    )  # fmt: skip
    speed_kmh = forms.IntegerField(label="Mean driving speed", min_value=5, max_value=120)
    matrix_address = LineField(
        label="Address of a routing server's table service", required=False,
        help_text="Empty: driving is reckoned from the map, or read from the table by district. It learns where your sites are.",
    )  # fmt: skip
    visit_minutes_least = forms.IntegerField(label="No visit is planned shorter than", min_value=5, max_value=480)
    confirm_days = forms.IntegerField(label="A visit should be confirmed before it by", min_value=0, max_value=60)
    letter_days = forms.IntegerField(label="Between one letter about access and the next", min_value=1, max_value=90)
    code_hours = forms.IntegerField(
        label="An alarm code is shown before and after a visit for", min_value=0, max_value=24
    )
    check_out_minutes = forms.IntegerField(label="Alarm for who works alone, after", min_value=0, max_value=240)
    reason = LineField(label="Why", required=False)
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, severities: dict[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for check in Check:
            if check not in FIXED:
                choices = SEVERITIES[:-1] if check in NEVER_SILENT else SEVERITIES
                field = forms.ChoiceField(label=WORDS[check], choices=choices)
                field.initial = severity_of(check, severities).value
                self.fields[f"how_{check.value}"] = field
        checks = [name for name in self.fields if name.startswith("how_")]
        self.order_fields(["holds_from", *checks])

    def clean(self) -> dict[str, Any]:
        """`severities` by check."""
        facts: dict[str, Any] = super().clean() or {}
        chosen = {name: facts.pop(name) for name in list(facts) if name.startswith("how_")}
        return facts | {"severities": {name.removeprefix("how_"): value for name, value in chosen.items()}}
