"""How figures are narrowed: period, nation, site, customer; everything in the address, so that it can be bookmarked."""

from datetime import date, timedelta

from django import forms
from django.http import QueryDict

from jobsite.fields import DayField
from jobsite.premises.choices import Nation
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.forms import WORDS, Narrowing

A_YEAR = timedelta(days=364)


class FiguresNarrowing(Narrowing):
    """Sites by nation and by words of the site and of its customer."""

    nation = forms.ChoiceField(label="Nation", required=False, choices=[("", "Every nation"), *Nation.choices])
    site = forms.CharField(label="Site", required=False, max_length=200, widget=forms.TextInput(WORDS))
    customer = forms.CharField(label="Customer", required=False, max_length=200, widget=forms.TextInput(WORDS))

    def __init__(self, data: QueryDict, *, today: date) -> None:
        """Reads the address. No statement."""
        self.today = today
        usual = {"since": (today - A_YEAR).isoformat(), "until": today.isoformat()}
        self.usual = {name: usual.get(name, "") for name in self.base_fields}
        super().__init__({name: data.get(name) or value for name, value in self.usual.items()})

    def in_address(self) -> dict[str, str]:
        """What was chosen, as an address says it; what is as usual is left out."""
        self.is_valid()
        found = {name: self.cleaned_data.get(name) or "" for name in self.fields}
        words = {name: value.isoformat() if isinstance(value, date) else value for name, value in found.items()}
        return {name: value for name, value in words.items() if value and value != self.usual[name]}

    def narrowed(self) -> Narrowed:
        """Which sites count."""
        chosen = self.chosen()
        return Narrowed(*(chosen[name] for name in ("nation", "site", "customer")))

    def has_changed(self) -> bool:
        """Whether it is narrowed at all."""
        return not self.narrowed().all


class PeriodNarrowing(FiguresNarrowing):
    """The same, and a period by its first and last day, both included; the last year where nothing readable is said."""

    since = DayField(label="From", required=False)
    until = DayField(label="To, included", required=False)
    field_order = ["since", "until", "nation", "site", "customer"]

    def period(self) -> tuple[date, date]:
        """Its first and last day, in that order."""
        self.is_valid()
        first = self.cleaned_data.get("since") or self.today - A_YEAR
        last = self.cleaned_data.get("until") or self.today
        return min(first, last), max(first, last)

    def has_changed(self) -> bool:
        """Whether it is narrowed, or of another period than the last year."""
        return super().has_changed() or self.period() != (self.today - A_YEAR, self.today)
