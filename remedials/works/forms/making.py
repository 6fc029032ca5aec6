"""Making and changing a remedial; narrowing the list."""

from collections.abc import Iterable
from typing import Any

from django import forms

from inspections.choices import Quantity
from inspections.models import Observation
from jobsite.forms import CreateForm, DayField, PlainForm
from jobsite.people.models import User
from jobsite.premises.models import Circuit, Site, Unit
from remedials.works.choices import Network
from remedials.works.forms.fields import ObservationsField, PersonField, PowerField, certificate_choices, text
from remedials.works.models import Remedial
from remedials.works.operations import Required
from remedials.works.rules import RETESTS
from remedials.works.states import WORDS, Stage

TO_ASK = (
    Quantity.R1_R2, Quantity.R2, Quantity.INSULATION, Quantity.POLARITY, Quantity.LOOP, Quantity.RCD_TIME,
    Quantity.FUNCTIONAL,
)  # fmt: skip
READING_HELP = "A remedial closes only when each passes its limit, or a qualified person accepts why it does not."


class What(PlainForm):
    """What a remedial asks for."""

    work = text("Work", needed=True, area=True, help_text="What is to be done, in words that the customer understands.")
    minutes = forms.IntegerField(label="Time it takes", required=False, min_value=1, max_value=100_000)
    skill = text("Skill needed")
    power_off = PowerField()
    see_to_first = text("See to first", help_text="Asbestos register, height, permit, plan.")
    photo_required = forms.BooleanField(label="A photo after the work is needed", required=False, initial=True)
    circuits = forms.MultipleChoiceField(
        label="Circuits to read again after it",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=READING_HELP,
    )
    quantities = forms.MultipleChoiceField(
        label="What is read on them",
        required=False,
        choices=[(quantity.value, quantity.label) for quantity in TO_ASK],
        widget=forms.CheckboxSelectMultiple,
        initial=[Quantity.LOOP.value],
    )
    retest = forms.ChoiceField(
        label="And what is usually read again after",
        required=False,
        choices=[("", "nothing more"), *((key, words) for key, (words, _) in RETESTS.items())],
        help_text="Common practice: the standard and the work itself decide. An RCD's time only where one is recorded.",
    )
    certificate_kind = forms.ChoiceField(label="Certificate it needs", required=False)
    notifiable = forms.BooleanField(label="Notifiable to building control", required=False)
    network = forms.ChoiceField(
        label="What it connects that the network operator is told of", required=False, choices=Network.choices
    )
    units = {"minutes": "minutes"}

    def offer(self, circuits: list[Circuit], remedial: Remedial | None = None) -> None:
        """Offers the circuits, by board, and the kinds of certificate."""
        self.by_key = {str(circuit.pk): circuit for circuit in circuits}
        groups: dict[str, list[tuple[str, str]]] = {}
        for key, circuit in self.by_key.items():
            name = f"{circuit.way_name} {circuit} {circuit.device}".strip()
            groups.setdefault(circuit.board.designation, []).append((key, name))
        field: Any = self.fields["circuits"]
        field.choices = list(groups.items())
        if not groups:
            for name in ("circuits", "quantities", "retest"):
                del self.fields[name]
        kinds: Any = self.fields["certificate_kind"]
        kinds.choices = certificate_choices(remedial)

    def clean(self) -> dict[str, Any]:
        """The cleaned values; circuits to read need something to read on them."""
        values = dict(super().clean() or self.cleaned_data)
        if values.get("circuits") and not values.get("quantities") and not values.get("retest"):
            self.add_error("quantities", "Choose what is read on these circuits, or none of them.")
        return values

    def readings(self, asked: Iterable[Required] = ()) -> list[Required]:
        """What must pass, as an operation takes it: their limits are computed, or entered at the reading.

        `asked`: what was asked for before. What is still ticked of it stays as it is; on a circuit or for a quantity that
        is ticked newly, everything ticked is asked for.
        """
        circuits = self.cleaned_data.pop("circuits", [])
        ticked = [Quantity(value) for value in self.cleaned_data.pop("quantities", [])]
        usual = RETESTS.get(self.cleaned_data.pop("retest", ""), ("", ()))[1]
        before = {(str(one.circuit.pk), one.quantity): one for one in asked}
        was = {circuit for circuit, _ in before}, {quantity for _, quantity in before}
        found = []
        for key in circuits:
            circuit = self.by_key[key]
            fitting = [q for q in usual if q is not Quantity.RCD_TIME or circuit.rcd_ma]
            for quantity in dict.fromkeys([*ticked, *fitting]):
                known = before.get((key, quantity))
                stayed_out = key in was[0] and quantity in was[1] and quantity not in fitting
                if known or not stayed_out:
                    found.append(known or Required(circuit, quantity=quantity))
        return found


class MakeForm(What, CreateForm):
    observations = ObservationsField(
        Observation.objects.none(),
        label="Observations it puts right",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one."},
    )
    unit = forms.ModelChoiceField(
        Unit.objects.none(), label="Unit", required=False, help_text="Needed where the observations are of several."
    )
    owner = PersonField(label="Who has the next step", needed=False, empty_label="me")
    step_by = DayField(label="Next step by", required=False, help_text="Empty: by the firm's policy.")
    field_order = ("id", "observations", "unit", "work", "owner", "step_by")

    def __init__(
        self, *args: Any, site: Site, observations: list[Observation], circuits: list[Circuit], **kw: Any
    ) -> None:
        kw.setdefault("initial", {})["observations"] = [o.pk for o in observations]
        super().__init__(*args, **kw)
        field: Any = self.fields["observations"]
        rows = Observation.objects.filter(pk__in=[o.pk for o in observations]).select_related("board")
        field.queryset = rows.order_by("number")
        self.offer(circuits)
        units: Any = self.fields["unit"]
        units.queryset = Unit.objects.filter(site=site, retired_at=None).order_by("sort")
        if len({o.unit_id for o in observations}) < 2:
            del self.fields["unit"]


class EditForm(What):
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, remedial: Remedial, circuits: list[Circuit], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer(circuits, remedial)
        if self.initial.get("power_off") is None:
            self.initial["power_off"] = "unknown"
        if self.fields.get("circuits") and not self.initial.get("circuits"):
            asked = list(remedial.required_readings.values_list("circuit", "quantity"))
            self.initial["circuits"] = sorted({str(pk) for pk, _ in asked})
            self.initial["quantities"] = sorted({quantity for _, quantity in asked}) or [Quantity.LOOP.value]


STAGES = [("open", "still to do"), ("", "all"), *((stage.value, WORDS[stage]) for stage in Stage)]


class FilterForm(PlainForm):
    """Narrows the list; what cannot be read narrows nothing."""

    q = forms.CharField(label="Words", required=False, max_length=200)
    stage = forms.ChoiceField(label="Stage", choices=STAGES, required=False, initial="open")
    owner = forms.ChoiceField(label="Owner", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = User.objects.filter(is_active=True).order_by("name", "pk").values_list("pk", "name")
        owner: Any = self.fields["owner"]
        owner.choices = [("", "anybody"), ("nobody", "nobody"), *((str(pk), name) for pk, name in people)]
