"""What may be typed of whether the time of a visit suits, and of what came of it."""

from collections.abc import Sequence
from typing import Any

from django import forms

from jobsite.forms import CreateForm, LineField, PlainForm
from remedials.visits.choices import Answered, AskedHow
from remedials.works.forms.fields import text

SUITS = [
    (Answered.CONFIRMED.value, "It suits"),
    (Answered.CANNOT.value, "It does not"),
]
NOT_LINK = [choice for choice in AskedHow.choices if choice[0] != AskedHow.LINK]


class AskForm(CreateForm):
    """The office asks: by e-mail with a private link, or it says how it asked. `email` is the customer's address."""

    how = forms.ChoiceField(label="How", choices=AskedHow.choices, widget=forms.RadioSelect)
    whom = LineField(
        label="Whom", help_text="By private link: the e-mail address that it goes to. Otherwise who was asked."
    )
    words = text("What else is said", area=True)

    def __init__(self, *args: Any, email: str, **kwargs: Any) -> None:
        how = AskedHow.LINK if email else AskedHow.PHONE
        kwargs.setdefault("initial", {}).update({"whom": email, "how": how.value})
        super().__init__(*args, **kwargs)


class AnswerForm(CreateForm):
    """What the office was told."""

    answered = forms.ChoiceField(label="What they say", choices=SUITS, widget=forms.RadioSelect)
    how = forms.ChoiceField(label="How", choices=NOT_LINK)
    whom = LineField(label="Who answered")
    words = text("In their words", area=True)


class SuitsForm(PlainForm):
    """The customer's own answer behind a private link."""

    answered = forms.ChoiceField(label="Does it suit?", choices=SUITS, widget=forms.RadioSelect)
    name = LineField(label="Your name")
    words = text("If not, why, or which times would suit", area=True)


class NoAccessForm(CreateForm):
    """Nobody let us in."""

    whom = LineField(label="Whose door", initial="the occupier")
    note = text("What you found", needed=True, area=True, help_text="Who was rung, what was said, how long you waited.")
    photo = forms.FileField(label="Photograph", required=False)

    def facts(self) -> dict[str, Any]:
        """What the operation takes."""
        photo = self.cleaned_data["photo"]
        return self.cleaned_data | {"photo": photo.read() if photo else None}


class SettleForm(CreateForm):
    """One of the other things of a visit was done; `lines` are those that may be, as key and words.

    Its `id` makes nothing: by it a phone without signal tells two of them apart.
    """

    line = forms.ChoiceField(label="What was done", widget=forms.RadioSelect)
    how = text("What came of it", needed=True, area=True)

    def __init__(self, *args: Any, lines: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        which: Any = self.fields["line"]
        which.choices = lines
