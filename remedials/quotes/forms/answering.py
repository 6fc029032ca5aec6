"""What a customer types on the page of a quote, and what the office writes down of an answer it was told."""

import re
from collections.abc import Iterable
from typing import Any, TypeVar
from uuid import UUID

from django import forms

from jobsite.forms import CreateForm, LineField, MomentField, PlainForm
from remedials.quotes.choices import AnsweredHow, Says, WhyNot
from remedials.quotes.operations.answering import LONGEST, Said

ASK = "ask"
CHOICES = [(str(Says.YES), "Yes"), (str(Says.NO), "No"), (ASK, "Ask first")]
WHY = [("", "no reason given"), *WhyNot.choices]
OF_LINE = re.compile(r"(?:says|why|no|ask)-(.+)", re.DOTALL)
GONE = "A line that you answered is not one of this quote's: look at the lines below, nothing was sent."
PARTS = ("says", "why", "no", "ask")
ASK_WHAT = "Write your question."
CHOOSE = "Choose yes, no or ask first."


class LongField(forms.CharField):
    """A few sentences; too long is said, not cut off."""

    def __init__(self, *, most: int = LONGEST, rows: int = 3, **kwargs: Any) -> None:
        self.most = most
        super().__init__(required=False, widget=forms.Textarea(attrs={"rows": rows}), **kwargs)


class LinesForm(CreateForm):
    """What is said to each line, by the key that the line keeps in every version; `form_for` gives it its lines."""

    keys: tuple[str, ...] = ()
    choices = CHOICES
    confirming = False
    fingerprint = forms.CharField(widget=forms.HiddenInput, required=False)
    name = LineField(label="Your name", required=False)
    order_number = LineField(label="Your order number, if you have one", required=False)
    note = LongField(label="Anything else we should know")
    begin = forms.BooleanField(required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in self.data:
            found = OF_LINE.fullmatch(name)
            if found and found[1] not in self.keys:
                raise forms.ValidationError(GONE)
        for key in self.keys:
            if data.get(f"says-{key}") == ASK and not data.get(f"ask-{key}") and f"ask-{key}" not in self.errors:
                self.add_error(f"ask-{key}", ASK_WHAT)
        if self.confirming and not data.get("name") and "name" not in self.errors:
            self.add_error("name", "Write your name: who says this.")
        return data

    def of_line(self, key: str) -> dict[str, Any]:
        """The fields of one line, for the office's page."""
        return {part: self[f"{part}-{key}"] for part in PARTS} if key in self.keys else {}

    def plain_line(self, key: str) -> dict[str, Any]:
        """The fields of one line as plain values, for a page of hundreds of lines: Django's own drawing takes seconds."""
        if key not in self.keys:
            return {}
        given = (
            {part: self.data.get(f"{part}-{key}", "") for part in PARTS} if self.is_bound else dict.fromkeys(PARTS, "")
        )
        errors = (
            {part: " ".join(map(str, self.errors.get(f"{part}-{key}", []))) for part in PARTS} if self.is_bound else {}
        )
        return {
            "says": [(value, label, given["says"] == value) for value, label in self.choices],
            "why": [(value, label, given["why"] == value) for value, label in WHY],
            "no": given["no"],
            "ask": given["ask"],
            "errors": errors,
        }

    def answers(self, ids: dict[str, UUID]) -> dict[UUID, Said]:
        """Yes and no by the lines' ids in the version that is answered."""
        data = self.cleaned_data
        found = {}
        for key in self.keys:
            says = data.get(f"says-{key}")
            if says in (Says.YES, Says.NO):
                no = says == Says.NO
                why, words = (data[f"why-{key}"], data[f"no-{key}"]) if no else ("", "")
                found[ids[key]] = Said(says, why, words)
        return found

    def questions(self) -> dict[str, str]:
        """What is asked about lines, by their key."""
        return {key: text for key in self.keys if (text := self.cleaned_data.get(f"ask-{key}"))}

    def words_for(self, names: dict[str, str]) -> str:
        """What was chosen, as words that can be sent as a question where it cannot be taken as an answer."""
        said = []
        for key in self.keys:
            chosen = self[f"says-{key}"].value()
            text = [names.get(key, "a line"), ": ", dict(CHOICES).get(chosen, "")]
            more = [self[f"{part}-{key}"].value() or "" for part in ("no", "ask")]
            if chosen or any(more):
                said.append("".join(text) + "".join(f" ({one})" for one in more if one))
        return "\n".join(said)

    @property
    def hidden_rows(self) -> list[tuple[str, str]]:
        """What was said to the lines, as hidden fields of the page that asks to confirm it."""
        names = [f"{part}-{key}" for key in self.keys for part in ("says", "why", "no", "ask")]
        rows = [(name, self[name].value() or "") for name in ["id", "fingerprint", *names]]
        return [(name, str(value)) for name, value in rows if value]


Form = TypeVar("Form", bound=LinesForm)


def form_for(keys: Iterable[str], base: type[Form], *, confirming: bool = False) -> type[Form]:
    """A form of `base` with the fields of the lines with these keys; `confirming`: it must say who."""
    keys = tuple(keys)
    fields: dict[str, Any] = {"keys": keys, "confirming": confirming}
    for key in keys:
        fields[f"says-{key}"] = forms.ChoiceField(
            choices=base.choices, required=False, widget=forms.RadioSelect, error_messages={"invalid_choice": CHOOSE}
        )
        fields[f"why-{key}"] = forms.ChoiceField(choices=WHY, required=False, label="Why not, if you like")
        fields[f"no-{key}"] = LongField(label="In your words, if you like", rows=2)
        fields[f"ask-{key}"] = LongField(label="Your question", rows=3)
    return type("FormForLines", (base,), fields)


class AskForm(CreateForm):
    """A question about the whole quote, or more in a thread."""

    question = forms.UUIDField(required=False, widget=forms.HiddenInput)
    name = LineField(label="Your name")
    text = LongField(label="Your question", most=5_000, rows=4)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # It stands on one page with the answering form, and each key of a page is there once.
        super().__init__(*args, **{"auto_id": "id_about_%s"} | kwargs)

    def clean_text(self) -> str:
        """The question. ValidationError where there is none."""
        text = str(self.cleaned_data["text"]).strip()
        if not text:
            raise forms.ValidationError(ASK_WHAT)
        return text


class HeardForm(LinesForm):
    """What the office was told of an answer: to which lines, by whom, how and when."""

    choices = CHOICES[:2]
    confirming = True
    name = LineField(label="Who said it")
    party = forms.ChoiceField(label="For whom")
    how = forms.ChoiceField(label="How", choices=[c for c in AnsweredHow.choices if c[0] != AnsweredHow.LINK])
    given_at = MomentField(label="When")
    begin = forms.ChoiceField(  # type: ignore[assignment]
        label="Did they ask expressly that work begins within the time to cancel?",
        choices=[("", "that was not asked"), ("yes", "yes, expressly"), ("no", "no")],
        required=False,
    )
    field_order = ("name", "party", "how", "given_at", "order_number", "begin", "note")

    @property
    def begin_at_once(self) -> bool | None:
        """What they said about beginning at once; None where nobody asked."""
        return {"yes": True, "no": False}.get(self.cleaned_data["begin"])

    def own_fields(self) -> list[Any]:
        """The fields that are not of one line."""
        return [self[name] for name in self.field_order if name in self.fields]


class ReplyForm(CreateForm):
    """A reply to a customer's question."""

    text = LongField(label="Reply", most=5_000, rows=6)


class ReasonForm(PlainForm):
    """Why something is so, in a sentence."""

    reason = LongField(label="Why", rows=3)
