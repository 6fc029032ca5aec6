"""What may be typed about visits."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django import forms

from jobsite.forms import CreateForm, MomentField, PlainForm
from jobsite.ids import keys_in
from jobsite.people.models import User
from jobsite.words import day
from remedials.visits.models import Visit
from remedials.visits.queries.booking import Other, engineers, in_the_way
from remedials.works.forms.fields import text
from remedials.works.models import Remedial


class RemedialsField(forms.ModelMultipleChoiceField):
    """Remedials to tick; `notes` says more about some of them."""

    notes: Mapping[UUID, str] = {}

    def label_from_instance(self, obj: Any) -> str:
        """The remedial as it stands in the list to tick."""
        time = f", {obj.minutes} minutes" if obj.minutes else ""
        off = {True: ", power off", None: ", not known yet whether power goes off"}.get(obj.power_off, "")
        parts = f", parts ready {day(obj.parts_ready_on)}" if obj.parts_ready_on else ""
        note = f": {self.notes[obj.pk]}" if obj.pk in self.notes else ""
        return f"{obj.number} · {obj.work} ({obj.get_stage_display()}{time}{off}{parts}){note}"


class PeopleField(forms.ModelMultipleChoiceField):
    """Engineers to tick, with what `notes` says of each."""

    notes: Mapping[UUID, str] = {}

    def label_from_instance(self, obj: Any) -> str:
        """The engineer, with skill and day."""
        return f"{obj.name} ({self.notes[obj.pk]})" if self.notes.get(obj.pk) else obj.name


class BookForm(CreateForm):
    """A visit. `offered` are the remedials of the site that can be booked, `chosen` those ticked at first."""

    remedials = RemedialsField(
        Remedial.objects.none(), label="Remedials to do", widget=forms.CheckboxSelectMultiple, required=False
    )
    others = forms.MultipleChoiceField(label="Also to do there", widget=forms.CheckboxSelectMultiple, required=False)
    engineers = PeopleField(
        User.objects.none(),
        label="Who goes",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose who goes."},
    )
    start = MomentField(label="From")
    end = MomentField(label="Until")
    access = text("Access", area=True, help_text="Who lets them in, keys, parking. Never a code.")
    outage = text("What goes off", area=True, help_text="What, and who loses it.")
    outage_with = text("Agreed with", help_text="With whom the outage is agreed.")
    outage_start = MomentField(label="Off from", required=False)
    outage_end = MomentField(label="Back by", required=False)
    permits = text("Permits", help_text="Permit to work, its number, who gives it.")
    locks = text("Other firms' locks", help_text="What stands locked off there, by whom, and whose key it is.")
    move = forms.BooleanField(label="Take what is booked already off its other visit", required=False)
    emergency = forms.BooleanField(
        label="It is an emergency", required=False, help_text="It goes outside hours and the customer's times."
    )
    displace = forms.MultipleChoiceField(
        label="Displace these visits",
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="Their work goes back to the office, due today, and those concerned are told.",
    )
    confirm = forms.BooleanField(label="The customer is to confirm the time", required=False, initial=True)
    despite = text("Book it all the same, because", area=True)

    def __init__(
        self, *args: Any, offered: list[Remedial], chosen: list[Remedial], others: list[Other] = (),  # type: ignore[assignment]
        notes: Mapping[UUID, str] | None = None, people: Mapping[UUID, str] | None = None, length: str = "", **kwargs: Any,
    ) -> None:  # fmt: skip
        ticked = [remedial.pk for remedial in chosen] + list(notes or {})
        kwargs.setdefault("initial", {}).setdefault("remedials", ticked)
        super().__init__(*args, **kwargs)
        work, who, also = (self.fields[name] for name in ("remedials", "engineers", "others"))
        work.queryset = Remedial.objects.filter(pk__in=[r.pk for r in offered]).order_by("number")  # type: ignore[attr-defined]
        work.notes, who.notes = notes or {}, people or {}  # type: ignore[attr-defined]
        who.queryset = engineers()  # type: ignore[attr-defined]
        also.choices = [(other.value, other.label) for other in others]  # type: ignore[attr-defined]
        self.fields["end"].help_text = length
        if not others:
            del self.fields["others"]
        if all(remedial.stage != "booked" for remedial in offered):
            del self.fields["move"]
        self.ask_despite(warned=bool(self.data.get("despite")))
        # What was ticked may have gone meanwhile: the operation looks at what is in the way, and takes no other than these.
        named = self.data.getlist("displace") if hasattr(self.data, "getlist") else []
        self.offer_to_displace(in_the_way(Visit.objects.filter(pk__in=keys_in(named)).select_related("site")))

    def ask_despite(self, *, warned: bool) -> None:
        """Whether the reason for booking in spite of a warning is asked for: only once there was one."""
        hidden = forms.HiddenInput() if not warned else forms.Textarea(attrs={"rows": 3})
        self.fields["despite"].widget = hidden

    def offer_to_displace(self, visits: Sequence[tuple[str, str]]) -> None:
        """The visits in the way of an emergency, to be ticked one by one; none: nothing is asked."""
        which: Any = self.fields["displace"]
        which.choices = visits
        which.widget = forms.CheckboxSelectMultiple(choices=visits) if visits else forms.MultipleHiddenInput()

    def clean(self) -> dict[str, Any]:
        """Something must be done there."""
        facts: dict[str, Any] = super().clean() or {}
        facts["displace"] = keys_in(facts.get("displace") or [])
        if "remedials" in facts and not facts["remedials"] and not facts.get("others"):
            self.add_error("remedials", "Choose at least one.")
        return facts


class CancelForm(PlainForm):
    reason = text("Why", needed=True, area=True)
