"""What may be typed about visits."""

from typing import Any

from django import forms

from jobsite.forms import CreateForm, MomentField, PlainForm
from jobsite.people.models import User
from jobsite.people.rights import Role
from jobsite.words import day
from remedials.works.forms.fields import text
from remedials.works.models import Remedial


class RemedialsField(forms.ModelMultipleChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        """The remedial as it stands in the list to tick."""
        time = f", {obj.minutes} minutes" if obj.minutes else ""
        parts = f", parts ready on {day(obj.parts_ready_on)}" if obj.parts_ready_on else ""
        off = {True: ", power off", None: ", not known yet whether power goes off"}.get(obj.power_off, "")
        return f"{obj.number} · {obj.work} ({obj.get_stage_display()}{time}{off}{parts})"


class BookForm(CreateForm):
    """A visit. `offered` are the remedials of the site that can be booked, `chosen` those ticked at first."""

    remedials = RemedialsField(
        Remedial.objects.none(),
        label="Remedials to do",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one."},
    )
    engineers = forms.ModelMultipleChoiceField(
        User.objects.none(),
        label="Who goes",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose who goes."},
    )
    start = MomentField(label="From")
    end = MomentField(label="Until")
    access = text("Access", area=True, help_text="Who lets them in, keys, parking.")
    outage = text("What goes off", area=True, help_text="What, from when until when, agreed with whom.")
    move = forms.BooleanField(label="Take what is booked already off its other visit", required=False)

    def __init__(self, *args: Any, offered: list[Remedial], chosen: list[Remedial], **kwargs: Any) -> None:
        kwargs.setdefault("initial", {})["remedials"] = [remedial.pk for remedial in chosen]
        super().__init__(*args, **kwargs)
        work: Any = self.fields["remedials"]
        work.queryset = Remedial.objects.filter(pk__in=[remedial.pk for remedial in offered]).order_by("number")
        people: Any = self.fields["engineers"]
        engineers = User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value])
        people.queryset = engineers.order_by("name", "pk")
        if all(remedial.stage != "booked" for remedial in offered):
            del self.fields["move"]


class CancelForm(PlainForm):
    reason = text("Why", needed=True, area=True)
