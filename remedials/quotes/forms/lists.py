"""How the lists of quotes are narrowed: everything in the address, so that it can be bookmarked."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.http import QueryDict

from jobsite.fields import DayField
from jobsite.forms import PlainForm
from jobsite.ids import keys_in
from jobsite.people.models import User
from jobsite.premises.models import Party, Site
from remedials.quotes.states import STANDING_WORDS, Standing

WORDS = {"type": "search", "maxlength": "200"}
STATES = [
    ("open", "Not at an end"),
    ("", "All"),
    *((s.value, STANDING_WORDS[s].capitalize()) for s in Standing if s != Standing.SUPERSEDED),
    ("questions", "With a question open"),
]
ORDERS = [
    ("number", "Newest first"),
    ("lapses", "Lapses first"),
    ("sent", "Longest out"),
    ("customer", "Customer"),
    ("value", "Largest first"),
]
A_YEAR = timedelta(days=364)


class QuotesNarrowing(PlainForm):
    """The list by words, state, owner, order, and by a customer or a site where the address names one."""

    q = forms.CharField(label="Words", required=False, max_length=200, widget=forms.TextInput(WORDS))
    state = forms.ChoiceField(label="State", required=False, choices=STATES)
    owner = forms.ChoiceField(label="Owner", required=False)
    sort = forms.ChoiceField(label="In the order of", required=False, choices=ORDERS)
    customer = forms.ChoiceField(label="Customer", required=False)
    site = forms.ChoiceField(label="Site", required=False)

    def __init__(self, data: QueryDict) -> None:
        """Reads the address. One statement for the people, one each for a customer and a site that it names."""
        self.usual = {"q": "", "state": "open", "owner": "", "sort": "number", "customer": "", "site": ""}
        super().__init__({name: data.get(name, value) for name, value in self.usual.items()})
        people = User.objects.filter(is_active=True).order_by("name", "pk").values_list("pk", "name")
        self._offer("owner", [("", "Anybody"), *((str(pk), name) for pk, name in people)])
        rows: Any
        for field, rows, any_one in (("customer", Party, "Any customer"), ("site", Site, "Any site")):
            chosen = rows.objects.filter(pk__in=keys_in([data.get(field, "")])).values_list("pk", "name")
            named = [(str(pk), name) for pk, name in chosen] if data.get(field) else []
            if named:
                self._offer(field, [("", any_one), *named])
            else:
                del self.fields[field]

    def _offer(self, field: str, choices: list[tuple[str, str]]) -> None:
        chosen: Any = self.fields[field]
        chosen.choices = choices

    def chosen(self) -> dict[str, str]:
        """What was chosen, field by field; what cannot be read counts as left out."""
        self.is_valid()
        return {name: self.cleaned_data.get(name) or "" for name in self.fields}

    def has_changed(self) -> bool:
        """Whether the list is narrowed otherwise than usual."""
        return any(value != self.usual[name] for name, value in self.chosen().items())

    def narrowing(self) -> dict[str, str]:
        """The arguments for `queries.lists.found_quotes`."""
        chosen = self.chosen()
        words = chosen.pop("q")
        if "state" in self.errors:
            chosen["state"] = "open"
        return {**chosen, "words": words}


class PeriodForm(PlainForm):
    """A period by its first and last day, both included; the last year where the address says nothing readable."""

    since = DayField(label="From", required=False)
    until = DayField(label="To, included", required=False)

    def __init__(self, data: QueryDict, *, today: date) -> None:
        self.today = today
        self.usual = {"since": (today - A_YEAR).isoformat(), "until": today.isoformat()}
        super().__init__({name: data.get(name) or value for name, value in self.usual.items()})

    def period(self) -> tuple[date, date]:
        """Its first and last day, in that order."""
        self.is_valid()
        first = self.cleaned_data.get("since") or self.today - A_YEAR
        last = self.cleaned_data.get("until") or self.today
        return min(first, last), max(first, last)

    def has_changed(self) -> bool:
        """Whether it is another period than the last year."""
        return self.period() != (self.today - A_YEAR, self.today)
