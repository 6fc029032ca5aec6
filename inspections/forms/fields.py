"""Fields that several forms here share: words, people of the firm, a photo, and where at a site something is."""

from typing import Any

from django import forms
from django.db.models import QuerySet
from django.urls import reverse

from inspections.queries.suggestions import places_at, ways_of
from inspections.rules import closest, read_way
from jobsite.forms import PlainForm
from jobsite.ids import key_in
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site, Unit
from jobsite.typed import PHOTOS, Suggested

CODES = [("C1", "C1 danger present"), ("C2", "C2 potentially dangerous"), ("FI", "FI further investigation")]
CODES += [("C3", "C3 improvement recommended")]
WAY_HELP = "5, 5L1, or what it supplies."
MOST_NAMED = 6


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


class BoardField(forms.Field):
    """A board of the site, chosen by typing its designation or as much of it as no other board shares."""

    widget = Suggested

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.boards: list[Board] = []

    def offer(self, boards: QuerySet[Board]) -> None:
        """Take these boards, in this order. One statement."""
        self.boards = list(boards)
        widget: Any = self.widget
        widget.options = [(b.designation, b.place) for b in self.boards]

    def prepare_value(self, value: Any) -> Any:
        """The designation, where `value` is a board or its key."""
        key = value.pk if isinstance(value, Board) else key_in(str(value or ""))
        return next((b.designation for b in self.boards if b.pk == key), value)

    def to_python(self, value: Any) -> Board | None:
        """The board, None for an empty field. ValidationError where none or several are meant."""
        typed = str(value or "").strip()
        if not typed:
            return None
        by_key = {str(b.pk): b for b in self.boards}
        found = [by_key[typed]] if typed in by_key else closest(typed, self.boards, name=lambda b: b.designation)
        if len(found) == 1:
            return found[0]
        if found:
            raise forms.ValidationError(f"“{typed}” may be {_named(found)}: type more of it.")
        there = f"Those here: {_named(self.boards)}." if self.boards else "No board is recorded here yet."
        raise forms.ValidationError(f"No board here is called “{typed}”. {there}")

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether another board is named."""
        return str(self.prepare_value(initial) or "") != str(self.prepare_value(data) or "")


def board_called(typed: Any, boards: list[Board]) -> Board | None:
    """The one of `boards` that `typed` (a key, a board, or as much of its designation as was typed) means, if any."""
    by_key = {str(b.pk): b for b in boards}
    key = str(typed.pk if isinstance(typed, Board) else typed or "")
    found = [by_key[key]] if key in by_key else closest(key, boards, name=lambda b: b.designation) if key else []
    return found[0] if len(found) == 1 else None


def _named(boards: list[Board]) -> str:
    more = len(boards) - MOST_NAMED
    return ", ".join(b.designation for b in boards[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


class PlacedForm(PlainForm):
    """A form that says where at `site` something is: unit (only where there are several), board, way and place.

    Board and way are typed, with suggestions; the way as it stands at the board, or what the circuit supplies. Cleaned,
    they are the `board` and the `circuit`.
    """

    unit = forms.ModelChoiceField(label="Unit", queryset=Unit.objects.none(), empty_label=None)
    board = BoardField(label="Board", required=False, help_text="Its first letters are enough.")
    way = line("Way", needed=False, help_text=WAY_HELP, max_length=80, widget=Suggested)
    place = line("Place", needed=False, help_text="Where somebody would look for it.", widget=Suggested)

    def __init__(self, *args: Any, site: Site, units: QuerySet[Unit] | None = None, **kwargs: Any) -> None:
        self.site = site
        super().__init__(*args, **kwargs)
        units = Unit.objects.filter(site=site, retired_at__isnull=True) if units is None else units
        self.offered = list(units.order_by("sort", "pk"))
        boards: Any = self.fields["board"]
        boards.offer(Board.objects.filter(site=site, retired_at__isnull=True).order_by("sort", "pk"))
        if len(self.offered) == 1:
            del self.fields["unit"]
        else:
            several: Any = self.fields["unit"]
            several.queryset = units.order_by("sort", "pk")
        self._suggest()

    def _suggest(self) -> None:
        """Offer the ways of the board that stands in the field, which follow it when another is typed, and the places."""
        board, way, place = (self.fields[name].widget for name in ("board", "way", "place"))
        offered: Any = self.fields["board"]
        board.attrs["data-ways"] = reverse("inspections:ways", args=[self.site.pk])
        way.options = ways_of(board_called(self["board"].value(), offered.boards))
        place.options = places_at(self.site)

    def clean(self) -> dict[str, Any]:
        """The cleaned values, the way as its circuit, the one unit where nobody was asked for it."""
        values = dict(super().clean() or self.cleaned_data)
        if len(self.offered) == 1:
            values["unit"] = self.offered[0]
        values["circuit"] = self._circuit(values.pop("way", ""), values.get("board"))
        return values

    def _circuit(self, way: str, board: Board | None) -> Circuit | None:
        if not way or "board" in self.errors:
            return None
        if board is None:
            self.add_error("board", "Choose the board that the way is on.")
            return None
        try:
            number, phase = read_way(way)
        except ValueError as wrong:
            return self._by_words(board, way, str(wrong))
        return self._on_board(board, number, phase)

    def _by_words(self, board: Board, typed: str, wrong: str) -> Circuit | None:
        """The one circuit of the board that is called so."""
        rows = Circuit.objects.filter(board=board, retired_at__isnull=True).order_by("way", "phase")
        found = closest(typed, [row for row in rows if row.designation or row.label_found], name=str)
        if len(found) == 1:
            return found[0]
        names = ", ".join(f"{row.way_name} {row}" for row in found[:MOST_NAMED])
        self.add_error("way", f"“{typed}” may be {names}: write the way." if found else wrong)
        return None

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
