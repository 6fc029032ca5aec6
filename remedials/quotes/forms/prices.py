"""Forms of prices: what a remedial takes and is asked for, standard jobs, rates and terms."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms

from inspections.intake.archive import MOST_BYTES
from jobsite.forms import CreateForm, DayField, LineField, NumberField, PlainForm, number
from jobsite.typed import Suggested
from remedials.quotes.choices import Treatment
from remedials.quotes.forms.rows import Row, Rows
from remedials.quotes.models import Costing, StandardJob, Terms
from remedials.quotes.operations.book import Job
from remedials.quotes.operations.terms import MOST_RATES, Charge
from remedials.works.choices import ItemKind
from remedials.works.forms.fields import certificate_choices
from remedials.works.models import Remedial
from remedials.works.operations.taking import MOST_CREW, MOST_ITEMS, MOST_MINUTES, Take
from remedials.works.rules import RETESTS

AREA = forms.Textarea(attrs={"rows": 3})


class PoundsField(NumberField):
    """A sum in pounds, typed with or without the sign."""

    def to_python(self, value: Any) -> Any:
        """The Decimal; ValidationError where it is no number."""
        return super().to_python(value.strip().removeprefix("£") if isinstance(value, str) else value)


def pounds(label: str, **more: Any) -> PoundsField:
    """A field for pounds. What is too much, too exact or below nothing is told by the operation."""
    return PoundsField(label=label, unit="£", **more)


class ItemRow(Row):
    """One material, access equipment or fixed item."""

    usual = {"kind": ItemKind.MATERIAL.value, "quantity": "1"}
    kind = forms.ChoiceField(label="Kind", choices=ItemKind.choices, initial=ItemKind.MATERIAL.value)
    what = LineField(label="What", error_messages={"required": "Say what it is."})
    quantity = NumberField(label="Quantity", initial="1")
    unit = LineField(label="Unit", required=False)
    cost_each = pounds("Cost each")
    markup_percent = NumberField(label="Mark-up", unit="%", required=False)
    supplier = LineField(label="Supplier", required=False)
    reference = LineField(label="Reference", required=False)
    gone = forms.BooleanField(label="Take out", required=False)


class RateRow(Row):
    """What an hour of one skill costs and is charged at."""

    skill = LineField(label="Skill", required=False)
    cost_hour = pounds("An hour costs the firm")
    price_hour = pounds("An hour is charged at")
    gone = forms.BooleanField(label="Take out", required=False)


def item_rows(data: Any, items: Iterable[Any] = ()) -> Rows:
    """Rows for what work takes, beginning with `items`."""
    names = Take._fields
    initial = [{name: shown(getattr(one, name)) for name in names} for one in items]
    for one in initial:
        one["cost_each"] = f"{Decimal(one['cost_each']):.2f}"
    return Rows(ItemRow, data, initial, prefix="items", most=MOST_ITEMS)


def rate_rows(data: Any, terms: Terms | None) -> Rows:
    """Rows for the firm's rates, beginning with those of `terms`."""
    rates = terms.rates.all() if terms else ()
    initial = [
        {"skill": r.skill, "cost_hour": r.cost_hour, "price_hour": r.price_hour}
        for r in sorted(rates, key=lambda r: r.skill)
    ]
    return Rows(RateRow, data, initial, prefix="rates", most=MOST_RATES)


def shown(value: Any) -> Any:
    """A number as a person writes it: "2.5", not "2.500"; sums keep their pence."""
    if not isinstance(value, Decimal):
        return value
    plain = f"{value.normalize():f}"
    return plain if "." not in plain or len(plain.partition(".")[2]) != 1 else f"{value:.2f}"


def takes(rows: Rows) -> list[Take]:
    """What the rows say work takes."""
    return [Take(**values) for _, values in rows.filled()]


def charges(rows: Rows) -> list[Charge]:
    """What the rows say an hour costs and is charged at."""
    return [Charge(**values) for _, values in rows.filled()]


def minutes(label: str = "Time it takes") -> forms.IntegerField:
    """How long the crew is on site."""
    widget = number("minutes", whole=True)
    return forms.IntegerField(label=label, required=False, min_value=1, max_value=MOST_MINUTES, widget=widget)


def crew() -> forms.IntegerField:
    """How many people it takes at once."""
    return forms.IntegerField(label="People at once", min_value=1, max_value=MOST_CREW, initial=1)


class PriceForm(PlainForm):
    """What a remedial takes and what is asked for it; its items stand in rows of their own."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    minutes = minutes()
    crew = crew()
    skill = LineField(
        label="Skill", required=False, widget=Suggested(), help_text="Its rate counts; else that of any other."
    )
    treatment = forms.ChoiceField(label="VAT", choices=Treatment.choices)
    plain = LineField(
        label="In plain words for the customer",
        required=False,
        most=2_000,
        widget=AREA,
        help_text="What is done. Empty: the remedial's own words.",
    )
    call_out = forms.BooleanField(label="A call-out is charged for it, once a visit", required=False, initial=True)
    set_price = pounds("Price set by hand", required=False, help_text="Without VAT. Empty: as it is worked out.")
    set_why = LineField(label="Why it is set by hand", required=False)

    def __init__(self, *args: Any, skills: Iterable[str] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stands: list[str] = []  # the items as somebody else saved them meanwhile
        widget: Any = self.fields["skill"].widget
        widget.options = [(skill, "") for skill in skills if skill]

    def values_of(self, row: object) -> dict[str, Any]:
        """What somebody else saved meanwhile: on the remedial and in its costing."""
        return values_of(row) if isinstance(row, Remedial) else {}


def values_of(remedial: Remedial) -> dict[str, Any]:
    """What stands on a remedial and in its costing, by the names of the form's fields."""
    values = {name: getattr(remedial, name) for name in ("version", "minutes", "crew", "skill")}
    costing = Costing.objects.filter(remedial=remedial).first()
    if costing is None:
        return values | {
            "treatment": Treatment.STANDARD.value,
            "plain": "",
            "call_out": True,
            "set_price": None,
            "set_why": "",
        }
    return values | {
        name: getattr(costing, name) for name in ("treatment", "plain", "call_out", "set_price", "set_why")
    }


class JobChoice(forms.ModelChoiceField):
    """A standard job that is in use."""

    def __init__(self) -> None:
        super().__init__(
            StandardJob.objects.filter(retired_at=None).order_by("sort"), label="Standard job", empty_label="choose one"
        )


class FillForm(PlainForm):
    """Fill the costing of a remedial from the price book."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    job = JobChoice()
    times = forms.IntegerField(label="For how many of it", min_value=1, max_value=200, initial=1)


class PileForm(PlainForm):
    """Fill several remedials at once from the price book."""

    job = JobChoice()


class JobFields(PlainForm):
    """What the price book says of a job; its items stand in rows of their own."""

    name = LineField(label="Name", help_text="For the office. No two jobs have the same.")
    plain = LineField(label="In plain words for the customer", most=2_000, widget=AREA)
    minutes = minutes()
    crew = crew()
    skill = LineField(label="Skill", required=False, widget=Suggested())
    treatment = forms.ChoiceField(label="VAT", choices=Treatment.choices)
    certificate_kind = forms.ChoiceField(label="Certificate it needs", required=False)
    retests = forms.MultipleChoiceField(
        label="What is usually read again after it",
        required=False,
        choices=[(key, words) for key, (words, _) in RETESTS.items()],
        widget=forms.CheckboxSelectMultiple,
        help_text="Common practice: the standard and the work itself decide.",
    )

    def __init__(self, *args: Any, skills: Iterable[str] = (), kind: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = certificate_choices()
        field: Any = self.fields["certificate_kind"]
        field.choices = choices if kind in dict(choices) else [*choices, (kind, kind)]
        widget: Any = self.fields["skill"].widget
        widget.options = [(skill, "") for skill in skills if skill]

    def job(self, rows: Rows) -> Job:
        """The job as it was typed."""
        names = ("name", "plain", "minutes", "crew", "skill", "treatment", "certificate_kind")
        values = {name: self.cleaned_data[name] for name in names}
        return Job(**values, retests=tuple(self.cleaned_data["retests"]), items=tuple(takes(rows)))


class NewJobForm(JobFields, CreateForm):
    """A new standard job."""


class EditJobForm(JobFields):
    version = forms.IntegerField(widget=forms.HiddenInput)


class BookFilter(PlainForm):
    q = forms.CharField(label="Words", required=False, max_length=200)
    show = forms.ChoiceField(
        label="Show", required=False, choices=[("", "in use"), ("retired", "retired"), ("all", "all")]
    )


class BookFileForm(PlainForm):
    """A price book as a spreadsheet."""

    file = forms.FileField(
        label="The spreadsheet",
        help_text="XLSX with the sheets Jobs and Items, as it is taken away here; at most 10 MB.",
        widget=forms.FileInput(attrs={"accept": ".xlsx"}),
    )

    def clean_file(self) -> Any:
        """The file, where it isn't too large to be read into memory."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError("This file is larger than 10 MB.")
        return file


def days(label: str, least: int = 1, help_text: str = "") -> forms.IntegerField:
    """A number of days."""
    widget = number("days", whole=True)
    return forms.IntegerField(label=label, min_value=least, max_value=3650, widget=widget, help_text=help_text)


def own_words(label: str) -> LineField:
    """A text of the firm's own."""
    return LineField(
        label=label,
        required=False,
        most=5_000,
        widget=AREA,
        help_text="Empty: the default, marked as such. Settle your own with an adviser.",
    )


class TermsForm(PlainForm):
    """The firm's terms from a day on; its rates stand in rows of their own."""

    version = forms.IntegerField(widget=forms.HiddenInput, initial=0)
    holds_from = DayField(label="They hold from")
    call_out = pounds("Call-out, charged once a visit")
    call_out_cost = pounds("What a call-out costs the firm")
    markup_percent = NumberField(label="Mark-up on materials and equipment", unit="%")
    vat_registered = forms.BooleanField(label="The firm is registered for VAT", required=False)
    vat_number = LineField(label="VAT number", required=False)
    valid_days = days("How long a quote stands")
    lapse_notice_days = days("An answer is chased before it lapses", 0)
    answer_days = days("A customer's question is answered within", 0)
    again_c1_days = days("A refused C1 is offered again after")
    again_c2_days = days("A refused C2 is offered again after")
    again_fi_days = days("A refused FI is offered again after")
    again_other_days = days("Other refused work is offered again after")
    text_before = LineField(label="Text before the lines of a quote", required=False, most=5_000, widget=AREA)
    text_after = LineField(label="Text after them", required=False, most=5_000, widget=AREA)
    cancellation_text = own_words("A consumer's right to cancel")
    begin_text = own_words("A consumer's request to begin at once")
    reverse_charge_text = own_words("The reverse charge")
    reason = LineField(label="Why they change", required=False)


def take_of(initial: dict[str, Any]) -> Take:
    """What a row that nobody touched says work takes."""
    numbers = {
        n: None if initial[n] is None else Decimal(initial[n]) for n in ("quantity", "cost_each", "markup_percent")
    }
    return Take(**initial | numbers)
