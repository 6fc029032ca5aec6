"""What may be typed about the diary: what it shows, where a visit goes, which stretch is to be filled."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms

from jobsite.forms import DayField, MomentField, PlainForm, number
from jobsite.people.models import User
from jobsite.words import LONDON
from remedials.works.forms.fields import text

SHOWN = [("week", "week"), ("day", "day"), ("fortnight", "fortnight")]
MOST_MINUTES = 14 * 24 * 60


class DiaryForm(PlainForm):
    """Which days of whom the diary shows."""

    day = DayField(label="Around the day", required=False)
    show = forms.ChoiceField(label="Show a", choices=SHOWN, required=False)
    engineer = forms.ChoiceField(label="Of whom", required=False)

    def __init__(self, data: Any = None, *, people: Sequence[User], today: date) -> None:
        super().__init__(data, initial={"day": today})
        whom: Any = self.fields["engineer"]
        whom.choices = [("", "everybody"), *((str(person.pk), person.name) for person in people)]


class MoveForm(PlainForm):
    """Where a visit goes."""

    start = MomentField(label="From")
    minutes = forms.IntegerField(label="It lasts", min_value=5, max_value=MOST_MINUTES, widget=number("minutes"))
    engineers = forms.ModelMultipleChoiceField(
        User.objects.none(),
        label="Who goes",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose who goes."},
    )
    reason = text("Why it is moved", area=True)
    despite = text("Why it is moved there in spite of what is warned of", area=True)
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, people: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        who: Any = self.fields["engineers"]
        who.queryset = people

    def moved(self) -> dict[str, Any]:
        """What the operation takes."""
        facts = dict(self.cleaned_data)
        minutes = timedelta(minutes=facts.pop("minutes"))
        return facts | {"end": facts["start"] + minutes, "engineers": list(facts["engineers"])}


class GapForm(PlainForm):
    """A stretch of somebody's day: what fits there?"""

    who = forms.ChoiceField(label="Who")
    day = DayField(label="Day")
    start = forms.TimeField(label="From", widget=forms.TimeInput({"type": "time"}, format="%H:%M"))
    until = forms.TimeField(label="Until", widget=forms.TimeInput({"type": "time"}, format="%H:%M"))

    def __init__(self, data: Any = None, *, people: Sequence[User], **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.people = {str(person.pk): person for person in people}
        who: Any = self.fields["who"]
        who.choices = [(key, person.name) for key, person in self.people.items()]
        for name in ("start", "until"):
            self.fields[name].error_messages["invalid"] = "Write the time as 09:30."

    def clean(self) -> dict[str, Any]:
        """The stretch as instants."""
        facts: dict[str, Any] = super().clean() or {}
        if {"day", "start", "until"} <= facts.keys():
            facts["start_at"], facts["until_at"] = (self._at(facts["day"], facts[n]) for n in ("start", "until"))
            if facts["until_at"] <= facts["start_at"]:
                self.add_error("until", "It must end after it begins.")
        return facts

    @staticmethod
    def _at(on: Any, at: time) -> datetime:
        return datetime.combine(on, at, tzinfo=LONDON)

    @property
    def person(self) -> User:
        """Whose stretch it is; once the form is valid."""
        return self.people[self.cleaned_data["who"]]
