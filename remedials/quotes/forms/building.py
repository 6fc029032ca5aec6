"""What may be typed while a quote is built."""

from typing import Any

from django import forms
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from jobsite.forms import CreateForm, DayField, NumberField, PlainForm
from jobsite.people.rights import Role
from remedials.quotes.choices import Certainty, LineKind, Treatment
from remedials.quotes.models import Line, Offer
from remedials.quotes.operations.lines import LONGEST, MOST_VISITS
from remedials.quotes.rules.vat import reverse_charge_missing
from remedials.works.forms.fields import PersonField, text
from remedials.works.models import Remedial

EACH, LIKE, TOGETHER = "each", "like", "together"
HOW = [
    (EACH, "one line for each"),
    (LIKE, "one line for those that are alike: the same standard job, or the same words"),
    (TOGETHER, "one line for all that are ticked"),
]
YES_NO = [("", "not recorded yet"), ("yes", "yes"), ("no", "no")]


def pounds(label: str, **more: Any) -> NumberField:
    """A sum in pounds and pence."""
    return NumberField(label=label, unit="£", max_digits=12, decimal_places=2, min_value=0, **more)


class Ticked(forms.ModelMultipleChoiceField):
    """The remedials that are ticked in a table of the page."""

    def __init__(self, **more: Any) -> None:
        wrong = {
            "invalid_choice": "Something else was ticked than is offered here: look again.",
            "required": "Tick at least one.",
        }
        super().__init__(Remedial.objects.none(), label="What is offered", error_messages=wrong, **more)


class _Ticking(CreateForm):
    """Forms with a table to tick; `offered` are the keys of the remedials that may be."""

    remedials = Ticked(required=False)
    how = forms.ChoiceField(label="As", choices=HOW, widget=forms.RadioSelect, initial=EACH)

    def __init__(self, *args: Any, offered: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ticked: Any = self.fields["remedials"]
        ticked.queryset = Remedial.objects.filter(pk__in=offered)

    @property
    def ticked(self) -> set[str]:
        """The keys that are ticked now."""
        return {str(getattr(one, "pk", one)) for one in self["remedials"].value() or []}

    def lines(self) -> dict[str, Any]:
        """What the operation is to know of the lines."""
        how = self.cleaned_data.pop("how")
        return {"like": how == LIKE, "together": how == TOGETHER}


class NewForm(_Ticking):
    """A new quote: to whom, what about, and the remedials in it."""

    party = forms.ChoiceField(label="Who it goes to", widget=forms.RadioSelect)
    name = text(
        "What it is about", needed=True, help_text="For the customer and the list, such as: works after the inspection."
    )
    owner = PersonField(label="Who follows it up", roles=(Role.OFFICE, Role.MANAGER))

    def __init__(self, *args: Any, parties: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chosen: Any = self.fields["party"]
        chosen.choices = parties
        self.order_fields(["party", "name", "owner", "remedials", "how"])


class VariationForm(NewForm):
    """What was found on site: a small quote of its own."""

    variation_why = text("What was found, and by whom", needed=True, area=True)


class AddForm(_Ticking):
    """More lines for remedials."""

    alternative = forms.BooleanField(
        label="As alternatives: what stands in this quote already gets a second line, and the two exclude each other",
        required=False,
    )


class FreeForm(CreateForm):
    """A line without a remedial."""

    words = text("What is done", needed=True, area=True, help_text="In plain words, for the customer.")
    price = pounds("Price without VAT")
    cost = pounds("What it costs us", required=False, help_text="For the office only.")
    treatment = forms.ChoiceField(label="VAT", choices=Treatment.choices)
    site = forms.ChoiceField(label="Where", required=False)

    def __init__(self, *args: Any, sites: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        where: Any = self.fields["site"]
        where.choices = sites if len(sites) == 1 else [("", "no one place"), *sites]


class ManyTicks(forms.CheckboxSelectMultiple):
    """Boxes to tick, folded away while none is: hundreds of them, so they are not rendered by a template each."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        """The boxes of all choices."""
        ticked = {str(one) for one in value or []}
        key = (attrs or {}).get("id", f"id_{name}")
        rows = format_html_join(
            "\n",
            '<div><label for="{}_{}"><input type="checkbox" name="{}" value="{}" id="{}_{}"{}> {}</label></div>',
            (
                (key, n, name, one, key, n, mark_safe(" checked") if str(one) in ticked else "", words)
                for n, (one, words) in enumerate(self.choices)
            ),
        )
        shown = mark_safe(" open") if ticked else ""
        return format_html("<details{}><summary>Lines that must be accepted with it</summary>{}</details>", shown, rows)


class LineForm(PlainForm):
    """A line of a draft; `others` are the lines that it may need."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    words = forms.CharField(
        label="What is done", max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 3, "autofocus": True})
    )
    danger = forms.CharField(
        label="The danger it removes", required=False, max_length=LONGEST, widget=forms.Textarea(attrs={"rows": 3})
    )
    visits = forms.IntegerField(label="Visits", min_value=1, max_value=MOST_VISITS)
    price = pounds("Price without VAT")
    cost = pounds("What it costs us", help_text="For the office only.")
    treatment = forms.ChoiceField(label="VAT", choices=Treatment.choices)
    certainty = forms.ChoiceField(label="How fixed the price is", choices=Certainty.choices)
    optional = forms.BooleanField(label="Optional: offered besides, a no needs no reason", required=False)
    either = forms.CharField(
        label="Either-or", required=False, max_length=1, help_text="A letter: lines with the same letter exclude each other.",
        widget=forms.TextInput(attrs={"size": "2"}),
    )  # fmt: skip
    needs = forms.MultipleChoiceField(label="Needs", required=False, widget=ManyTicks)

    def __init__(self, *args: Any, line: Line, others: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if line.kind == LineKind.CALL_OUT:
            for name in ("danger", "optional", "either", "needs"):
                del self.fields[name]
            return
        del self.fields["visits"]
        needs: Any = self.fields["needs"]
        needs.choices = others
        if not others:
            del self.fields["needs"]

    def values_of(self, row: Any) -> dict[str, Any]:
        """The values of a line, and the version that its offer has now."""
        found = super().values_of(row)
        return found | {"version": row.offer.version, "needs": [str(key) for key in row.needs]}


def initial_of(line: Line) -> dict[str, Any]:
    """What stands in the form of a line at first."""
    names = ("words", "danger", "visits", "price", "cost", "treatment", "certainty", "optional", "either")
    found = {name: getattr(line, name) for name in names}
    return found | {"needs": [str(key) for key in line.needs], "version": line.offer.version}


class YesNo(forms.ChoiceField):
    """Yes, no, or not recorded yet: True, False, None."""

    def __init__(self, label: str, **more: Any) -> None:
        super().__init__(label=label, choices=YES_NO, required=False, **more)

    def prepare_value(self, value: Any) -> Any:
        """The choice of a stored value."""
        return {True: "yes", False: "no", None: ""}.get(value, value) if not isinstance(value, str) else value

    def clean(self, value: Any) -> bool | None:
        """True, False or None."""
        return {"yes": True, "no": False}.get(super().clean(value))


class DescribeForm(PlainForm):
    """The particulars of a draft."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    name = text("What it is about", needed=True)
    owner = PersonField(label="Who follows it up", roles=(Role.OFFICE, Role.MANAGER))
    consumer = forms.TypedChoiceField(
        label="For",
        choices=[("yes", "a consumer: acting outside trade or business"), ("no", "a business, also a landlord's")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
        help_text="A consumer sees sums with VAT first and has a right to cancel.",
    )
    valid_until = DayField(label="Valid until", help_text="The last day, included.")
    work_until = DayField(
        label="Work expected to be done by", required=False, help_text="A rate of VAT may end before."
    )
    text_before = text("Text before the lines", area=True)
    text_after = text("Text after the lines", area=True)
    reverse_charge = forms.BooleanField(
        label="Domestic reverse charge: the customer accounts for the VAT", required=False,
        help_text="For building work between businesses registered for VAT. Ask the firm's adviser where you are not sure.",
    )  # fmt: skip
    customer_vat_number = text("Customer's VAT number", help_text="Needed for the reverse charge.")
    cis_reportable = YesNo("Is the payment reportable under the Construction Industry Scheme?")
    end_user = YesNo("Did the customer say in writing that it is an end user?")

    def __init__(self, *args: Any, offer: Offer, rates: list[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offer, self.rates = offer, rates

    def clean(self) -> dict[str, Any]:
        """The values; a sentence beside each condition of the reverse charge that is not recorded."""
        found = super().clean() or self.cleaned_data
        if found.get("reverse_charge"):
            for field, sentence in reverse_charge_missing(
                vat_registered=self.offer.vat_registered,
                consumer=bool(found.get("consumer")),
                customer_vat_number=found.get("customer_vat_number", ""),
                cis_reportable=found.get("cis_reportable"),
                end_user=found.get("end_user"),
                rates=self.rates,
            ):
                self.add_error(field if field in self.fields else "reverse_charge", sentence)
        return found

    def values_of(self, row: Any) -> dict[str, Any]:
        """The values of a draft and its quote."""
        return super().values_of(row) | {"name": row.quote.name, "owner": row.quote.owner}


def initial_of_offer(offer: Offer) -> dict[str, Any]:
    """What stands in the form of the particulars at first."""
    names = (
        "version", "valid_until", "work_until", "text_before", "text_after", "reverse_charge", "customer_vat_number",
        "cis_reportable", "end_user",
    )  # fmt: skip
    found: dict[str, Any] = {name: getattr(offer, name) for name in names}
    found |= {"name": offer.quote.name, "owner": offer.quote.owner_id, "consumer": "yes" if offer.consumer else "no"}
    return found
