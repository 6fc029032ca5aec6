"""Fields that several forms here share: words, people of the firm, a photo, and where at a site something is."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from inspections.rules import read_way
from jobsite.forms import PlainForm
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site, Unit

CODES = [("C1", "C1 danger present"), ("C2", "C2 potentially dangerous"), ("FI", "FI further investigation")]
CODES += [("C3", "C3 improvement recommended")]
PHOTOS = "image/jpeg,image/png,image/webp"
WAY_HELP = "As it stands at the board: 5, or 5L1."


def line(label: str, *, needed: bool = True, **kwargs: Any) -> forms.CharField:
    """One line of words."""
    return forms.CharField(label=label, required=needed, **kwargs)


def area(label: str, *, needed: bool = True, rows: int = 3, **kwargs: Any) -> forms.CharField:
    """Several lines of words."""
    return forms.CharField(label=label, required=needed, widget=forms.Textarea(attrs={"rows": rows}), **kwargs)


def pick(label: str, pairs: Any, *, needed: bool = True, first: str = "", **kwargs: Any) -> forms.ChoiceField:
    """One of `pairs`; `first` names the empty choice."""
    return forms.ChoiceField(label=label, required=needed, choices=[("", first), *pairs], **kwargs)


def staff() -> QuerySet[User]:
    """The people of the firm who can be given a next step."""
    return User.objects.filter(is_active=True).order_by("name", "pk")


def person(label: str, *, needed: bool = True, **kwargs: Any) -> forms.ModelChoiceField:
    """A person of the firm."""
    return forms.ModelChoiceField(label=label, queryset=staff(), required=needed, **kwargs)


def photo(label: str, *, needed: bool = True) -> forms.FileField:
    """A photograph from the phone's camera or its album."""
    widget = forms.FileInput(attrs={"accept": PHOTOS})
    return forms.FileField(label=label, required=needed, widget=widget, help_text="JPEG, PNG or WebP, at most 20 MB.")


class PlacedForm(PlainForm):
    """A form that says where at `site` something is: unit (only where there are several), board, way and place.

    The way is typed as it stands at the board; cleaned, it is the `circuit`.
    """

    unit = forms.ModelChoiceField(label="Unit", queryset=Unit.objects.none(), empty_label=None)
    board = forms.ModelChoiceField(label="Board", queryset=Board.objects.none(), required=False, empty_label="no board")
    way = line("Way", needed=False, help_text=WAY_HELP, max_length=20)
    place = line("Place", needed=False, help_text="Where exactly, as somebody would look for it.")

    def __init__(self, *args: Any, site: Site, units: QuerySet[Unit] | None = None, **kwargs: Any) -> None:
        self.site = site
        super().__init__(*args, **kwargs)
        units = Unit.objects.filter(site=site, retired_at__isnull=True) if units is None else units
        self.offered = list(units.order_by("sort", "pk"))
        boards: Any = self.fields["board"]
        boards.queryset = Board.objects.filter(site=site, retired_at__isnull=True).order_by("sort", "pk")
        if len(self.offered) == 1:
            del self.fields["unit"]
        else:
            several: Any = self.fields["unit"]
            several.queryset = units.order_by("sort", "pk")
        self.fields["way"].widget.attrs["class"] = "number"

    def clean(self) -> dict[str, Any]:
        """The cleaned values, the way as its circuit, the one unit where nobody was asked for it."""
        values = dict(super().clean() or self.cleaned_data)
        if len(self.offered) == 1:
            values["unit"] = self.offered[0]
        values["circuit"] = self._circuit(values.pop("way", ""), values.get("board"))
        return values

    def _circuit(self, way: str, board: Board | None) -> Circuit | None:
        if not way:
            return None
        if board is None:
            self.add_error("board", "Choose the board that the way is on.")
            return None
        try:
            number, phase = read_way(way)
        except ValueError as wrong:
            self.add_error("way", str(wrong))
            return None
        return self._on_board(board, number, phase)

    def _on_board(self, board: Board, number: int, phase: str) -> Circuit | None:
        rows = Circuit.objects.filter(board=board, way=number, retired_at__isnull=True).order_by("phase")
        found = [row for row in rows if not phase or row.phase == phase]
        if len(found) == 1:
            return found[0]
        if found:
            names = ", ".join(row.way_name for row in found)
            self.add_error("way", f"Way {number} of {board} is there more than once: write {names}.")
        else:
            sentence = (
                f"{board} has no way {number}{phase} on record. Enter it at the board first, or leave the way empty."
            )
            self.add_error("way", sentence)
        return None

    def values_of(self, row: object) -> dict[str, Any]:
        """The values of an observation, its circuit as the way is written."""
        circuit = getattr(row, "circuit", None)
        return super().values_of(row) | {"way": circuit.way_name if circuit else ""}
