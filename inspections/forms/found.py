"""The form of "found something else": one phone page, big choices, what follows from a danger only where there is one."""

from datetime import date
from typing import Any

from django import forms
from django.utils.html import format_html

from inspections.choices import MadeSafeHow, NoticeHow
from inspections.forms.fields import area, line
from inspections.forms.noting import MOST_PHOTOS
from inspections.operations import MadeSafeFacts, NoticeFacts
from inspections.queries.found import Places
from jobsite.forms import CreateForm, DayField
from jobsite.marks import code_mark
from jobsite.premises.models import Board, Circuit
from jobsite.typed import PHOTOS, PhotosField

UNSURE = "unsure"
# The classification codes of BS 7671's condition report; what follows the colon is said in our own words.
MEANING = (
    ("C1", "Danger present: somebody can be hurt now"),
    ("C2", "Potentially dangerous: one more fault or mistake and somebody can be hurt"),
    ("FI", "Further investigation without delay: it cannot be told here"),
    ("C3", "Improvement recommended: no danger"),
)
ADVISED = "Do not use it and do not switch it on until a competent person has put it right."
SAFE_NEEDED = {"safe_how": "Say how.", "safe_what": "Say what exactly was done, and where."}
SAFE_NEEDED |= {"agreed_with": "Say which duty-holder agreed to it.", "look_again_on": "Say when somebody looks again."}


def code_choices() -> list[tuple[str, Any]]:
    """Each code as its mark with what it means, and that one is not sure."""
    coded: list[tuple[str, Any]] = [(code, format_html("{} {}", code_mark(code), words)) for code, words in MEANING]
    return [*coded, (UNSURE, "Not sure: a qualified person codes it; until then it counts as perhaps dangerous")]


class FoundForm(CreateForm):
    """What was found, where, its code; what was made safe and who was told where it is dangerous."""

    template_name = "inspections/forms/found.html"

    photos = PhotosField(label="Photo", most=MOST_PHOTOS)
    text = area("What is wrong")
    unit = forms.ChoiceField(label="Unit")
    board = forms.ChoiceField(label="Board", required=False)
    circuit = forms.ChoiceField(label="Circuit", required=False)
    place = line("Where exactly", needed=False, max_length=200)
    code = forms.ChoiceField(
        label="How dangerous",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose one, or that you are not sure."},
    )
    made_safe = forms.BooleanField(label="I made it safe for now", required=False)
    safe_how = forms.ChoiceField(
        label="How", choices=MadeSafeHow.choices, required=False, widget=forms.RadioSelect, initial=MadeSafeHow.LOCKED
    )
    safe_what = area("What exactly, and where", needed=False, rows=2)
    agreed_with = line(
        "Agreed with", needed=False, help_text="The duty-holder: nothing is taken out of use without them."
    )
    lock = line("Lock", needed=False, help_text="Its number or mark.")
    key_holder = line("Who holds the key", needed=False)
    look_again_on = DayField(label="Look again on", required=False, moves=True)
    safe_photo = forms.FileField(
        label="Photo of it made safe", required=False,
        widget=forms.FileInput(attrs={"accept": PHOTOS, "capture": "environment", "data-hold-here": ""}),
    )  # fmt: skip
    no_photo = line("Or why there can be no photo", needed=False)
    notice = forms.BooleanField(label="I told them in writing: danger notice", required=False)
    given_to = line("Given to", needed=False, help_text="Left open: whoever agreed to making it safe.")
    advised = area("What was advised", needed=False, rows=2, initial=ADVISED)
    notice_how = forms.ChoiceField(
        label="How it was given", choices=NoticeHow.choices, required=False, initial=NoticeHow.HAND
    )
    visit = forms.UUIDField(required=False, widget=forms.HiddenInput)
    remedial = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, places: Places, said: dict[str, str], **kwargs: Any) -> None:
        self.places, self.said = places, said
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        fields["code"].choices = code_choices()
        fields["board"].choices = [("", "no board, or not known"), *places.board_choices()]
        fields["circuit"].choices = [("", "no circuit, or not known"), *places.circuit_choices()]
        if len(places.units) == 1:
            del self.fields["unit"]
        else:
            fields["unit"].choices = [(str(unit.pk), unit.name) for unit in places.units]

    def get_context(self) -> dict[str, Any]:
        """What the form's template is given: the cautions too, which stand where they belong."""
        return super().get_context() | self.said

    def clean(self) -> dict[str, Any]:
        """The cleaned values with unit, board and circuit as rows, "not sure" as no code."""
        values = dict(super().clean() or self.cleaned_data)
        units = {str(unit.pk): unit for unit in self.places.units}
        only = self.places.units[0] if self.places.units else None
        values["unit"] = units.get(values.get("unit", ""), only)
        values["board"], values["circuit"] = self._where(values.get("board", ""), values.get("circuit", ""))
        if values.get("code") == UNSURE:
            values["code"] = ""
        if values.get("made_safe"):
            self._must_say(SAFE_NEEDED, values)
        return values

    def _where(self, board_key: str, circuit_key: str) -> tuple[Board | None, Circuit | None]:
        board = next((row for row in self.places.boards if str(row.pk) == board_key), None)
        circuit = next((row for row in self.places.circuits if str(row.pk) == circuit_key), None)
        if circuit and board and circuit.board_id != board.pk:
            there = next(row for row in self.places.boards if row.pk == circuit.board_id)
            self.add_error("circuit", f"This circuit is on {there}: choose that board, or leave the circuit open.")
        return board, circuit

    def _must_say(self, needed: dict[str, str], values: dict[str, Any]) -> None:
        for name, sentence in needed.items():
            if not values.get(name) and name not in self.errors:
                self.add_error(name, sentence)

    def facts(self) -> dict[str, Any]:
        """What the operation takes, apart from who, when and where it came from. Reads the photographs."""
        said = self.cleaned_data
        kept = {name: said[name] for name in ("id", "unit", "board", "circuit", "text", "code", "place")}
        return kept | {
            "photos": [photo.read() for photo in said["photos"]],
            "made_safe": self._safe() if said["made_safe"] else None,
            "notice": self._notice() if said["notice"] else None,
        }

    def _safe(self) -> MadeSafeFacts:
        said = self.cleaned_data
        photo, again = said["safe_photo"], said["look_again_on"]
        assert isinstance(again, date)  # noqa: S101 - clean() asked for it
        return MadeSafeFacts(
            how=said["safe_how"], what=said["safe_what"], agreed_with=said["agreed_with"], look_again_on=again,
            lock=said["lock"], key_holder=said["key_holder"], photo=photo.read() if photo else None,
            no_photo=said["no_photo"],
        )  # fmt: skip

    def _notice(self) -> NoticeFacts:
        said = self.cleaned_data
        to = said["given_to"] or (said["agreed_with"] if said["made_safe"] else "")
        return NoticeFacts(given_to=to, advised=said["advised"], how=said["notice_how"])
