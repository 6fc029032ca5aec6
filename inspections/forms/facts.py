"""Published facts: narrowing their list, correcting one, putting it back."""

from typing import Any

from django import forms

from inspections.forms.fields import area, line
from inspections.queries.facts import CORRECTED, UNSURE
from inspections.standards.registry import AnyFact
from jobsite.forms import CreateForm, DayField, PlainForm

ONLY = [("", "all"), (UNSURE, "those to look up"), (CORRECTED, "those the firm corrected")]
FROM_HELP = "What was judged before keeps its limit. A day that has passed counts for dates that are counted again."


class FactsForm(PlainForm):
    """Narrows the list; what cannot be read narrows nothing."""

    q = forms.CharField(label="Words", required=False, max_length=100)
    only = forms.ChoiceField(label="Which", choices=ONLY, required=False)


class CorrectForm(CreateForm):
    """What a qualified person looked up."""

    value = line("Value")
    source = area(
        "Where it is from", help_text="The standard with edition and table, the regulation, or the maker.", rows=2
    )
    reason = area("Why", rows=2)
    holds_from = DayField(label="Used from", help_text=FROM_HELP)

    def __init__(self, *args: Any, fact: AnyFact, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        value: Any = self.fields["value"]
        if fact.shown in ("yes", "no"):
            self.fields["value"] = forms.ChoiceField(label="Value", choices=[("yes", "yes"), ("no", "no")])
        else:
            value.widget.attrs |= {"class": "number", "data-unit": fact.unit}
            value.help_text = "As year, month, day: 2026-04-15." if not fact.unit and "-" in str(fact.value) else ""
            value.help_text = f"0 stands for “{fact.zero}”." if fact.zero else value.help_text


class PutBackForm(CreateForm):
    """That a fact is used again as the program has it."""

    reason = area("Why", rows=2)
    holds_from = DayField(label="From", help_text=FROM_HELP)
