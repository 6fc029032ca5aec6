"""On site: a photograph, a reading, closing with proof."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inspections.queries.situations import HowTested
from inspections.standards.limits import Entered
from inspections.standards.quantities import Quantity
from inspections.standards.readings import Value, read
from jobsite.forms import CreateForm, NumberField, number
from jobsite.people.models import Instrument
from jobsite.typed import PhotosField
from remedials.works.forms.fields import PaperField, text
from remedials.works.forms.spent import SpentForm
from remedials.works.models import PowerStep, Remedial


class PhotoForm(CreateForm):
    """Photographs after the work, from the camera or the album."""

    photo = PhotosField(label="Photo after the work")
    observation = forms.ChoiceField(label="It shows", required=False)

    def __init__(self, *args: Any, items: list[dict[str, Any]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = {item["id"]: item["row"] for item in items}
        choices = [(item["id"], f"{item['code']} {item['number']}: {item['text']}"[:80]) for item in items]
        field: Any = self.fields["observation"]
        field.choices = [("", "all of it"), *choices]
        if len(items) < 2:
            del self.fields["observation"]

    def clean_photo(self) -> list[Any]:
        """The pictures; at least one. A phone sends each on its own."""
        found: list[Any] = self.cleaned_data["photo"]
        if not found:
            raise ValidationError("Choose a photo.")
        return found

    def shows(self) -> Any:
        """The observation chosen; None for all of it."""
        return self.rows.get(self.cleaned_data.get("observation", ""))


class ReadField(forms.CharField):
    """A reading as the instrument shows it: "0.35", "350 mΩ", ">200", "no trip"."""

    quantity = Quantity.LOOP

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=20, widget=number(), **kwargs)
        self.widget.attrs["inputmode"] = "text"  # a phone's number pad has neither ">" nor "no trip"

    def clean(self, value: Any) -> Value | None:
        """What the instrument showed."""
        return read_typed(self.quantity, super().clean(value))


class AnswerField(forms.ChoiceField):
    """A check that is answered OK or not OK."""

    quantity = Quantity.POLARITY

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=[("", "choose"), ("OK", "OK"), ("not OK", "not OK")], **kwargs)

    def clean(self, value: Any) -> Value | None:
        """The answer."""
        return read_typed(self.quantity, super().clean(value))


def read_typed(quantity: Quantity, typed: str) -> Value | None:
    """What was typed as a reading. Raises ValidationError with the sentence for what is none."""
    try:
        return read(quantity, typed) if typed else None
    except ValueError as wrong:
        raise ValidationError(str(wrong)) from wrong


class ReadingForm(CreateForm):
    """One reading on one circuit. `instruments`: (key, name) of those that may be chosen."""

    value: Any = ReadField()
    instrument = forms.ChoiceField(label="Instrument")
    limit_entered = NumberField(label="Limit", required=False, min_value=0, max_digits=10, decimal_places=4)
    limit_source = text("Where the limit is from", help_text="The standard and its table, or the maker's data.")
    already_corrected = forms.BooleanField(label="This limit is already corrected for a cold conductor", required=False)
    as_read = forms.BooleanField(label="The instrument showed exactly this", required=False)

    def __init__(
        self,
        *args: Any,
        quantity: Quantity,
        instruments: list[tuple[str, str]],
        enter: bool,
        judge: dict[str, str],
        **kwargs: Any,
    ) -> None:
        """`judge`: the attributes by which a phone judges what is typed (`phone_limits`)."""
        super().__init__(*args, **kwargs)
        value: Any = self.fields["value"]
        value.widget.attrs["data-judge"] = judge["data-judge"]
        value.quantity, value.label = quantity, quantity.label[0].upper() + quantity.label[1:]
        for name in ("value", "limit_entered"):
            self.fields[name].widget.attrs["data-unit"] = quantity.unit
        if "instrument" in self.fields:
            field: Any = self.fields["instrument"]
            field.widget.attrs["data-tools"] = judge["data-tools"]
            field.choices = instruments if len(instruments) == 1 else [("", "choose"), *instruments]
        if not self.is_bound:
            del self.fields["as_read"]  # asked only when an unlikely value was refused
        if not enter:
            for name in ("limit_entered", "limit_source", "already_corrected"):
                del self.fields[name]

    def clean_instrument(self) -> Instrument:
        """The instrument's row."""
        return Instrument.objects.get(pk=self.cleaned_data["instrument"])

    def reading(self) -> dict[str, Any]:
        """What was typed, as the operation takes it."""
        given = dict(self.cleaned_data)
        limit, source = given.pop("limit_entered", None), given.pop("limit_source", "")
        corrected = given.pop("already_corrected", False)
        return given | ({"test": HowTested(entered=Entered(limit, source, corrected))} if limit is not None else {})


class CheckForm(ReadingForm):
    """A check on one circuit, answered OK or not OK: no instrument shows it."""

    value = AnswerField()
    instrument = None  # type: ignore[assignment]  # Django documents it: no such field here


class PowerForm(CreateForm):
    """Power is off, with where and which locks; or on again."""

    kind = forms.ChoiceField(choices=PowerStep.Kind.choices, widget=forms.HiddenInput)
    where = text("Off and locked at", help_text="Which points, which locks, who has the keys.")

    def __init__(self, *args: Any, kind: str = PowerStep.Kind.OFF.value, **kwargs: Any) -> None:
        """`kind`: which of the two an empty form is for."""
        super().__init__(*args, auto_id=f"power-{kind}-%s", initial={"kind": kind}, **kwargs)
        if kind == PowerStep.Kind.ON:
            self.fields["where"].label = "Anything to say of it"
            self.fields["where"].help_text = ""
        else:
            self.fields["where"].required = True


class CloseForm(SpentForm):
    certificate_number = text("Certificate number")
    certificate_file = PaperField(label="The certificate itself")
    no_photo_reason = text("No photo because", help_text="Where the site allows none, or a reading proves it better.")
    exception_reason = text(
        "Why a reading is put up that fails, or is from an instrument out of its check",
        help_text="A qualified person then accepts it or sends it back.",
    )
    supervisor_name = text("Supervised by", help_text="For an apprentice: the supervisor's name.")
    note = text("Note", area=True)

    def __init__(self, *args: Any, remedial: Remedial, reads: bool, closed: str = "", **kwargs: Any) -> None:
        """`closed`: that the same engineer closed it already, in words; what is added must then be meant so."""
        super().__init__(*args, items=remedial.items.all(), **kwargs)
        if closed:
            asked = f"{closed} What you add is filed beside it."
            self.fields["beside"] = forms.BooleanField(
                label="File what I add beside the first closing",
                help_text=asked,
                error_messages={"required": f"{asked} Tick this if you mean it."},
            )
        kind = remedial.certificate_kind
        if kind:
            self.fields["certificate_number"].label = f"Number of the {kind}"
        for name in ("certificate_number", "certificate_file"):
            if not kind:
                del self.fields[name]
        if not remedial.photo_required:
            del self.fields["no_photo_reason"]
        if not reads:
            del self.fields["exception_reason"]
