"""What an engineer's time came to: minutes, what was used, and why it was left."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobsite.fields import LineField
from jobsite.forms import CreateForm, NumberField
from remedials.works.choices import ItemKind
from remedials.works.forms.fields import text
from remedials.works.models import Item, Stint
from remedials.works.operations.leaving import LINE, MOST_MINUTES, Material

# "2.5 m cable", "3 clips", "3 x clips", "clips"; the units that are told apart from a word are few.
USED = re.compile(
    r"(?:(?P<quantity>[0-9]{1,6}(?:[.,][0-9]{1,3})?)\s*(?:[x×]\s+)?(?:(?P<unit>mm|m|kg|g|l|ml)\b\s+)?)?(?P<what>\S.*)",
    re.IGNORECASE,
)
MOST_LINES = 40


def read_used(line: str) -> Material:
    """What one line says was used, one of it where it says no number. Raises ValidationError with a sentence."""
    found = USED.fullmatch(" ".join(line.split()))
    if found is None or len(found["what"]) > LINE:
        raise ValidationError("Write one material a line, such as “2.5 m cable 2.5 mm²” or “3 clips”.")
    quantity = Decimal((found["quantity"] or "1").replace(",", "."))
    if not quantity:
        raise ValidationError(f"How much of it was used? “{line.strip()[:60]}” says 0.")
    return Material(found["what"], quantity, (found["unit"] or "").lower())


class UsedField(LineField):
    """Materials as one types them on a phone, one a line."""

    def __init__(self, **kwargs: Any) -> None:
        area = forms.Textarea(attrs={"rows": 2})
        super().__init__(required=False, widget=area, most=4000, **kwargs)

    def clean(self, value: Any) -> list[Material]:
        """What was used. ValidationError for a line that says nothing."""
        lines = [line for line in str(super().clean(value) or "").splitlines() if line.strip()]
        if len(lines) > MOST_LINES:
            raise ValidationError(f"At most {MOST_LINES} lines.")
        return [read_used(line) for line in lines]


class SpentForm(CreateForm):
    """The minutes, and what was used: each material that was planned, with as much of it, and whatever else."""

    minutes = NumberField(
        label="Your minutes on site", unit="min", required=False, min_value=1, max_value=MOST_MINUTES, decimal_places=0
    )
    used = UsedField(label="Used besides", help_text="One a line: “2.5 m cable 2.5 mm²”, “3 clips”.")

    def __init__(self, *args: Any, items: Iterable[Item] = (), planned: bool = True, **kwargs: Any) -> None:
        """`items`: what the remedial takes. `planned`: whether as much as was planned stands in the fields beforehand."""
        super().__init__(*args, **kwargs)
        self.items = [item for item in items if item.kind == ItemKind.MATERIAL]
        for item in self.items:
            self.fields[f"used-{item.pk}"] = NumberField(
                label=f"{item.what[:80]}, used",
                unit=item.unit,
                required=False,
                min_value=0,
                max_digits=9,
                decimal_places=3,
                initial=f"{item.quantity.normalize():f}" if planned else None,
            )
        self.order_fields([*(f"used-{item.pk}" for item in self.items), "used", "minutes"])

    def spent(self) -> dict[str, Any]:
        """What was typed, as the operations take it; the fields of the materials are taken out of `cleaned_data`."""
        given = dict(self.cleaned_data)
        besides = given.pop("used")
        amounts = [(item, given.pop(f"used-{item.pk}")) for item in self.items]
        used = [Material(item.what, amount, item.unit) for item, amount in amounts if amount]
        minutes = given.pop("minutes")
        return given | {"minutes": None if minutes is None else int(minutes), "used": [*used, *besides]}


class LeaveForm(SpentForm):
    """It is not finished: what came of it, why, and what is left."""

    came = forms.ChoiceField(
        label="What came of it",
        choices=[(came.value, came.label) for came in (Stint.Came.PART_DONE, Stint.Came.COULD_NOT)],
        widget=forms.RadioSelect,
    )
    because = text("Because", needed=True, area=True, help_text="Why, and what is left to do.")

    field_order = ("came", "because")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, planned=False, **kwargs)
        self.order_fields(["came", "because", *(name for name in self.fields if name not in ("came", "because"))])
