"""Looking a copy over, and handing it out."""

from datetime import date
from typing import Any

from django import forms

from jobsite.forms import CreateForm
from jobsite.premises.forms.links import LinkForm
from jobsite.premises.models import Site
from remedials.status.copies.rules import surely_in, without


class LookOverForm(CreateForm):
    """The free text of a copy, a field each; what is sure to be personal is left out of what is offered.

    Where somebody typed such a thing, it is asked for once more: a firm's or a street's name may look like a person's.
    """

    seen = forms.CharField(widget=forms.HiddenInput)
    looked = forms.BooleanField(
        label="I have read all of it: no name, telephone number or other personal word stands in it that should not.",
        error_messages={"required": "Read it through first, then say so here."},
    )

    stays = forms.BooleanField(
        label="I have looked again: what is named beside the texts above may be read by anybody.", required=False
    )

    def __init__(self, *args: Any, texts: list[tuple[str, str, str]], names: tuple[str, ...], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        looked, stays = self.fields.pop("looked"), self.fields.pop("stays")
        self.names = names
        for key, label, words in texts:
            rows = min(8, max(2, len(words) // 70 + 1 + words.count("\n")))
            self.fields[key] = forms.CharField(
                label=label, required=False, initial=without(words, names), widget=forms.Textarea(attrs={"rows": rows})
            )
        self.fields["looked"] = looked
        self.fields["stays"] = stays
        self.keys = [key for key, _, _ in texts]
        self.sure = dict[str, list[str]]()

    @property
    def asks_again(self) -> bool:
        """Whether something personal stands in what was typed, so that `stays` is asked for."""
        return bool(self.sure)

    def now_seen(self, state: str) -> None:
        """Take over the state of the record as it is shown now; all that was typed stays."""
        data: Any = self.data
        self.data = data = data.copy()
        data[self.add_prefix("seen")] = state

    def clean(self) -> dict[str, Any]:
        """The cleaned values as the operation takes them."""
        values = dict(super().clean() or self.cleaned_data)
        texts = {key: values.get(key, "") for key in self.keys}
        self.sure = {key: found for key, words in texts.items() if (found := surely_in(words, self.names))}
        if not values.get("stays"):
            for key, found in self.sure.items():
                self.add_error(key, f"Leave this out: {', '.join(found)}. If it may stand there, say so at the end.")
        return {"id": values.get("id"), "seen": values.get("seen", ""), "texts": texts}


class CopyLinkForm(LinkForm):
    """Whom the private link to a copy is for: also a tenant who is yet to move in, who is to have it before that."""

    before_their_day = True

    def __init__(self, *args: Any, site: Site, today: date, **kwargs: Any) -> None:
        super().__init__(*args, site=site, today=today, **kwargs)
        for name in ("unit", "all_units"):
            self.fields.pop(name, None)
