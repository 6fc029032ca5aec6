"""Rows of a form that may be as many as needed: items, rates. "Another row" works without JavaScript and loses nothing."""

from collections.abc import Sequence
from typing import Any

from django.forms.utils import ErrorDict

from jobsite.forms import PlainForm
from jobsite.refused import Refused

ANOTHER = "another-row"
SPARE = 1


class Rows:
    """Forms of `form_class`, one a row; `words` fields decide whether a row was left empty.

    Posted with the hidden `rows`, how many stood on the page. A row of which "take out" is ticked, or in which nothing was
    written, counts for nothing.
    """

    def __init__(
        self, form_class: type[PlainForm], data: Any, initial: Sequence[dict[str, Any]], *, prefix: str, most: int
    ) -> None:
        self.prefix, self.most, self.posted = prefix, most, data is not None
        shown = _count(data, prefix, most) if data is not None else len(initial)
        shown = min(shown + (SPARE if data is None or ANOTHER in data else 0), most)
        self.forms: list[Any] = []
        for number in range(shown):
            mine = data if data is not None and number < _count(data, prefix, most) else None
            first = initial[number] if data is None and number < len(initial) else {}
            self.forms.append(_named(form_class(mine, prefix=f"{prefix}-{number}", initial=first), number + 1))
        if data is not None and ANOTHER in data:
            for form in self.forms:
                be_quiet(form)

    @property
    def shown(self) -> int:
        """How many rows stand on the page."""
        return len(self.forms)

    @property
    def errors(self) -> list[tuple[int, Any, str]]:
        """What is wrong: the row as it is counted on the page, the field, the sentence."""
        return [
            (number, form[name], error)
            for number, form in enumerate(self.forms, start=1)
            if form.is_bound
            for name, errors in form.errors.items()
            for error in errors
        ]

    def is_valid(self) -> bool:
        """Whether every row that counts says what can be used."""
        return all(form.is_valid() or form.empty for form in self.forms if form.is_bound)

    def filled(self) -> list[tuple[int, dict[str, Any]]]:
        """The rows that count: their number on the page, from 0, and what they say."""
        return [
            (number, {k: v for k, v in form.cleaned_data.items() if k != "gone"})
            for number, form in enumerate(self.forms)
            if form.is_bound and form.is_valid() and not form.empty
        ]

    def show(self, refused: Refused) -> bool:
        """Put a refusal of "PREFIX-row-field" beside its field; False where it is about no row."""
        parts = (refused.field or "").split("-")
        if len(parts) != 3 or parts[0] != self.prefix or not parts[1].isdigit():
            return False
        filled = self.filled()
        if int(parts[1]) >= len(filled):
            return False
        form = self.forms[filled[int(parts[1])][0]]
        form.add_error(parts[2] if parts[2] in form.fields else None, refused.sentence)
        return True


def be_quiet(form: Any) -> None:
    """Show what was typed without judging it yet: another row was asked for, nothing was to be saved."""
    form._errors = ErrorDict()  # noqa: SLF001
    form.cleaned_data = {}


def _named(form: Any, number: int) -> Any:
    """`form` with a name for each of its fields that says which row it is in: the visible heads are those of columns."""
    for field in form.fields.values():
        field.widget.attrs["aria-label"] = f"{field.label}, row {number}"
    return form


def _count(data: Any, prefix: str, most: int) -> int:
    typed = str(data.get(f"{prefix}-rows", "0"))
    return min(int(typed), most) if typed.isascii() and typed.isdigit() and len(typed) < 6 else 0


class Row(PlainForm):
    """One row; `usual` are values that say nothing by themselves."""

    use_required_attribute = False
    usual: dict[str, str] = {}

    @property
    def empty(self) -> bool:
        """Whether it counts for nothing: taken out, or nothing written in it."""
        if self.data.get(self.add_prefix("gone")):
            return True
        names = [name for name in self.fields if name != "gone"]
        return all(
            str(self.data.get(self.add_prefix(name), "")).strip() in {"", self.usual.get(name, "")} for name in names
        )

    def clean(self) -> dict[str, Any]:
        """An empty row is never wrong."""
        values = dict(super().clean() or self.cleaned_data)
        if self.empty:
            self._errors: Any = type(self.errors)()
        return values
