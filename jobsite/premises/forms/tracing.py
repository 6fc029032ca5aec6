"""What may be typed about tracing feeds: a switching test with what was seen at each board, why it doesn't count,
and what may feed a board."""

from typing import Any
from uuid import UUID

from django import forms
from django.forms.boundfield import BoundField

from jobsite.forms import CreateForm, MomentField, PlainForm
from jobsite.premises.choices import SeenState
from jobsite.premises.forms.fields import text
from jobsite.premises.models import Board, Circuit, Supply
from jobsite.premises.queries.tracing import boards_to_look_at, devices_to_switch
from jobsite.premises.queries.wiring import Ground

ONE_OF = {"invalid_choice": "Choose one of those offered."}
STATES = [(SeenState.DEAD.value, "Dead"), (SeenState.ALIVE.value, "Alive"), ("", "Not looked at")]


class SwitchingForm(CreateForm):
    """What was seen at each board while one device was off: `device`, where it is known already, else it is asked for."""

    off = forms.ChoiceField(
        label="What was switched off",
        error_messages={"invalid_choice": "What was chosen is no longer there: choose again."},
    )
    at = MomentField(label="When it was off", moves=True)
    others_off = forms.BooleanField(
        required=False,
        label="Second sources and other feeds were switched off as well, and changeovers stood on the normal feed",
    )
    together_with = text("Who else was there", help_text="Where two did it: one at the device, one at the boards.")
    note = text("Note", area=True)

    def __init__(self, *args: Any, ground: Ground, device: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ground = ground
        off: Any = self.fields["off"]
        off.choices = [("", "choose"), *devices_to_switch(ground)]
        if device:
            off.widget, off.initial = forms.HiddenInput(), device
        self.asked, self.verified = boards_to_look_at(ground)
        for key, name in (*self.asked, *self.verified):
            self.fields[f"seen-{key}"] = forms.ChoiceField(
                label=name, choices=STATES, required=False, widget=forms.RadioSelect, initial="", error_messages=ONE_OF
            )

    @property
    def asked_fields(self) -> list[BoundField]:
        """The boards in question, each with its three choices."""
        return [self[f"seen-{key}"] for key, _ in self.asked]

    @property
    def verified_fields(self) -> list[BoundField]:
        """The boards whose feed is verified."""
        return [self[f"seen-{key}"] for key, _ in self.verified]

    @property
    def plain_fields(self) -> list[BoundField]:
        """All that is not about a board."""
        return [self[name] for name in ("at", "others_off", "together_with", "note")]

    @property
    def device(self) -> Circuit | Supply:
        """What was switched off, of a form that is valid."""
        key = self.cleaned_data["off"]
        return self.ground.circuits.get(key) or self.ground.supplies[key]

    def test(self) -> dict[str, Any]:
        """What was typed, as the operation takes it."""
        typed = dict(self.cleaned_data)
        del typed["off"]
        seen: dict[Board, str] = {}
        for key, board in self.ground.boards.items():
            if state := typed.pop(f"seen-{key}", ""):
                seen[board] = state
        return {**typed, "seen": seen}


class WithdrawForm(PlainForm):
    why = text("Why it does not count", needed=True, help_text="Noted wrongly, or something was rewired since.")


class CandidatesForm(PlainForm):
    """What may feed a board: ways, supplies, or any way of a board."""

    feeders = forms.MultipleChoiceField(
        label="It may be fed from",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick one at least."},
    )

    def __init__(self, *args: Any, offered: list[dict[str, Any]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offered = offered
        pairs = [pair for group in offered for pair in (group["any"], *group["ways"]) if pair]
        self.fields["feeders"].choices = pairs  # type: ignore[attr-defined]

    @property
    def groups(self) -> list[dict[str, Any]]:
        """By board: its ways to tick, those ticked already marked, open where one is."""
        ticked = set(self["feeders"].value() or ())
        return [
            {
                "name": group["name"],
                "open": any(key in ticked for key, _ in filter(None, (group["any"], *group["ways"]))),
                "options": [
                    {"value": key, "label": label, "ticked": key in ticked}
                    for key, label in filter(None, (group["any"], *group["ways"]))
                ],
            }
            for group in self.offered
        ]

    def chosen(self, ground: Ground) -> list[Circuit | Supply]:
        """The circuits and supplies that were ticked, those of a whole board each."""
        keys: dict[str, None] = {}
        by_any = {group["any"][0]: group["ways"] for group in self.offered if group["any"]}
        for key in self.cleaned_data["feeders"]:
            keys |= dict.fromkeys(way for way, _ in by_any[key]) if key in by_any else {key: None}
        return [ground.circuits.get(key) or ground.supplies[key] for key in keys]


def pairs_of(values: list[str]) -> dict[UUID, UUID] | None:
    """What is to be taken over, as the page sends it: "BOARD:FEEDER" each. None where that was damaged on its way."""
    try:
        return {UUID(board): UUID(feeder) for board, _, feeder in (value.partition(":") for value in values)}
    except ValueError:
        return None
