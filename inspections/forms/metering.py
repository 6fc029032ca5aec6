"""Two meters over the same interval, as they are typed."""

from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from inspections.choices import MeterUnit
from inspections.forms.fields import area, line, pick
from inspections.models import MeterComparison
from inspections.operations import Counted
from jobsite.forms import CreateForm, MomentField, NumberField
from jobsite.people.models import Instrument
from jobsite.people.queries import instrument_choice, instruments_in_use

EITHER = "Enter start and end of the register, or the energy that it shows."


def _amount(label: str, help_text: str = "") -> NumberField:
    return NumberField(label=label, required=False, max_digits=12, decimal_places=6, help_text=help_text)


def _instrument() -> forms.ModelChoiceField:
    return forms.ModelChoiceField(
        label="Instrument of the firm's", queryset=Instrument.objects.none(), required=False, empty_label="none of ours"
    )


class MetersForm(CreateForm):
    """What two meters counted from one moment to another."""

    began_at = MomentField(label="Both read from")
    ended_at = MomentField(label="to")
    three_phase = forms.BooleanField(label="They measure three phases", required=False)
    relied_what = line("Which, and where it measures", help_text="Such as: the supplier's meter at the intake.")
    relied_instrument = _instrument()
    relied_unit = pick("In", MeterUnit.choices, first="choose")
    relied_start, relied_end = _amount("Register at the start"), _amount("Register at the end")
    relied_energy = _amount("Or the energy it shows", "With its sign: negative where it counts as export.")
    doubt_what = line("Which, and where it measures", help_text="Such as: the monitor's clamps behind the main switch.")
    doubt_instrument = _instrument()
    doubt_unit = pick("In", MeterUnit.choices, first="choose")
    doubt_start, doubt_end = _amount("Register at the start"), _amount("Register at the end")
    doubt_energy = _amount("Or the energy it shows", "With its sign: negative where it counts as export.")
    source_kwh = NumberField(
        label="A second source gave", unit="kWh", required=False, max_digits=12, decimal_places=6,
        help_text="Where there is PV or a battery and you read it over the same interval.",
    )  # fmt: skip
    note = area("Remark", needed=False, rows=2)
    answers = forms.ModelChoiceField(queryset=MeterComparison.objects.none(), required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, earlier: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ours = instruments_in_use()
        for name, queryset in (("relied_instrument", ours), ("doubt_instrument", ours), ("answers", earlier)):
            field: Any = self.fields[name]
            field.queryset = queryset
            if queryset is ours:
                field.label_from_instance = instrument_choice

    def clean(self) -> dict[str, Any]:
        """The two meters as `Counted`, the second source in Wh."""
        values = dict(super().clean() or self.cleaned_data)
        for meter in ("relied", "doubt"):
            self._either(meter, values)
        source = values.pop("source_kwh", None)
        values["source_wh"] = None if source is None else source * 1000
        values["relied_on"], values["in_doubt"] = self._counted("relied", values), self._counted("doubt", values)
        return values

    def _either(self, meter: str, values: dict[str, Any]) -> None:
        start, end, energy = (values.get(f"{meter}_{name}") for name in ("start", "end", "energy"))
        wrong = any(f"{meter}_{name}" in self.errors for name in ("start", "end", "energy"))
        registers = start is not None and end is not None
        some = start is not None or end is not None
        if not wrong and (registers == (energy is not None) or (some and not registers)):
            self.add_error(f"{meter}_energy", EITHER if energy is None else f"{EITHER} Not both.")

    @staticmethod
    def _counted(meter: str, values: dict[str, Any]) -> Counted:
        names = ("what", "unit", "start", "end", "energy", "instrument")
        found = {name: values.pop(f"{meter}_{name}", None) for name in names}
        return Counted(**found | {"what": found["what"] or "", "unit": found["unit"] or ""})

    @property
    def groups(self) -> list[tuple[str, list[BoundField]]]:
        """The fields of each meter under its heading."""
        heads = (("relied", "The meter you rely on"), ("doubt", "The meter in doubt"))
        return [(head, [self[name] for name in self.fields if name.startswith(f"{meter}_")]) for meter, head in heads]

    @property
    def before(self) -> list[BoundField]:
        """What is asked before the two meters."""
        return [self[name] for name in ("began_at", "ended_at", "three_phase")]

    @property
    def after(self) -> list[BoundField]:
        """What is asked after them."""
        return [self[name] for name in ("source_kwh", "note")]
