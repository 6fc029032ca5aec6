"""Yes, no, not at all, done by others, who has the next step, waiting on somebody."""

from typing import Any

from django import forms

from inspections.models import Observation
from jobsite.forms import CreateForm, DayField, NumberField, PlainForm
from jobsite.premises.models import Party
from remedials.works.forms.fields import ObservationsField, PaperField, PersonField, text
from remedials.works.models import Approval, Remedial


class OnWhatWasSeen(PlainForm):
    """A decision on a remedial as the person saw it: its version goes along."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)


class ApproveForm(OnWhatWasSeen):
    given_by = text("Who said yes", needed=True)
    how = forms.ChoiceField(label="How", choices=Approval.How.recorded())
    given_on = DayField(label="On")
    pounds = NumberField(label="To what sum", unit="£", required=False, min_value=0, max_digits=10, decimal_places=2)
    party = forms.ModelChoiceField(
        Party.objects.none(),
        label="Whose standing limit",
        required=False,
        help_text="Only for a standing limit: the sum must lie within it.",
    )
    reference = text("Their order number")

    def __init__(self, *args: Any, remedial: Remedial, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parties: Any = self.fields["party"]
        held = Party.objects.filter(roles__unit=remedial.unit_id, roles__limit_pounds__isnull=False)
        parties.queryset = held.distinct().order_by("sort", "pk")


class DeclineForm(OnWhatWasSeen):
    who = text("Who said no", needed=True)
    reason = text("Why", area=True)
    offer_again_on = DayField(
        label="Offer it again on", required=False, help_text="Needed while a C1, C2, FI or uncoded item is open."
    )


class CancelForm(OnWhatWasSeen):
    reason = text("Why", needed=True, area=True)
    who = text("Who asked for it", help_text="Empty: you.")
    nothing_more = forms.BooleanField(
        label="Nothing more is needed: other closed remedials have put its observations right", required=False
    )


class OthersForm(PlainForm):
    who = text("Who did the work", needed=True)
    on = DayField(label="On")
    reference = text("Their certificate or letter", help_text="Needed for a C1, C2, FI or uncoded item, or the file.")
    file = PaperField(label="The paper itself")
    items = ObservationsField(
        Observation.objects.none(), label="What their paper covers", widget=forms.CheckboxSelectMultiple,
        help_text="Item by item. What it does not cover stays open, and the remedial goes on for it.",
    )  # fmt: skip
    looked_by = PersonField(
        label="Looked at since by", needed=False, empty_label="nobody: accepted on their paper alone",
        help_text="A qualified person of ours who inspected the others' work.",
    )  # fmt: skip
    looked_on = DayField(label="On which day", required=False)
    reason = text("Remarks", area=True)

    def __init__(self, *args: Any, remedial: Remedial, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        still_open = Observation.objects.filter(remedies__remedial=remedial, ended="").order_by("number")
        field: Any = self.fields["items"]
        field.queryset, found = still_open.select_related("board"), list(still_open)
        field.initial = [observation.pk for observation in found]
        if len(found) < 2:
            del self.fields["items"]


class ReopenForm(PlainForm):
    reason = text("Why", needed=True, area=True)


class PartsForm(OnWhatWasSeen):
    on = DayField(
        label="All its parts are there on",
        required=False,
        help_text="Nobody is booked for it before that day. A day past: they are there. Empty: none is waited for.",
    )


class TakeOnForm(PlainForm):
    owner = PersonField(label="Who has the next step")
    step_by = DayField(label="By")


class WaitForm(CreateForm):
    on_whom = text("Waits on", needed=True, help_text="Network operator, supplier, asbestos surveyor, customer …")
    for_what = text("For what", needed=True)
    reference = text("Their reference")
    asked_on = DayField(label="Asked on")
    promised_for = DayField(label="Promised for", required=False)
    chase_on = DayField(label="Chase on")
    owner = PersonField(label="Who of us chases", needed=False, empty_label="me")


class ChaseForm(CreateForm):
    said = text("What they said", area=True)
    chase_on = DayField(label="Chase next on")


class EndWaitingForm(PlainForm):
    how = text("What came, or why we wait no more", needed=True, area=True)


class ConfirmForm(PlainForm):
    """Nothing to type: the button alone."""

    sure = forms.BooleanField(widget=forms.HiddenInput, initial=True, required=False)
