"""What may be typed about boards, feeds, circuits, links between them, and second sources."""

from typing import Any

from django import forms

from jobsite.forms import CreateForm
from jobsite.ids import new_id
from jobsite.premises import choices, queries
from jobsite.premises.forms.fields import BELIEVED, EditForm, OfSiteForm, choice, decimal, phases, text, whole
from jobsite.premises.models import Board, Circuit, Unit


class BoardFields(OfSiteForm):
    designation = text("Designation", needed=True, help_text="What the firm calls it.")
    verified_how = choice("How the designation was verified", BELIEVED)
    label_found = text("Label found on it", help_text="As written there, even where it is wrong.")
    place = text("Place")
    phases = phases("A board has no phase that its feed lacks.")
    main_switch = text("Main switch")
    main_switch_kind = choice(
        "What the main switch disconnects",
        choices.SwitchKind.choices,
        help_text="What is not known is not relied on when something is to be isolated.",
    )
    own_earthing = choice("Its own earthing, where it differs", choices.Earthing.choices, first="as what feeds it")
    zdb_ohm = decimal("Zdb", "Ω", digits=7, places=3)
    fault_current_ka = decimal("Prospective fault current", "kA", digits=6, places=2)
    units = forms.ModelMultipleChoiceField(  # type: ignore[assignment]  # the metaclass takes it off the class
        Unit.objects.none(), label="Units it serves", required=False, widget=forms.CheckboxSelectMultiple
    )
    notes = text("Notes", area=True)

    def clean_units(self) -> list[Unit]:
        """The units as a list, comparable with another."""
        return list(self.cleaned_data["units"])

    def values_of(self, row: Any) -> dict[str, Any]:
        """The board's values, its units as a list."""
        values = super().values_of(row)
        if "units" in values:
            values["units"] = list(row.units.order_by("sort"))
        return values


class NewBoardForm(BoardFields, CreateForm):
    feed_id = forms.UUIDField(widget=forms.HiddenInput, initial=new_id)
    feeder = choice("Fed from", (), first="not known yet")
    feed_verified_how = choice("How the feed was verified", BELIEVED)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_feeders(self, None)


class EditBoardForm(BoardFields, EditForm):
    pass


def offer_feeders(form: Any, board: Board | None) -> None:
    """Offers in the field `feeder` what can feed `board`."""
    field = form.fields["feeder"]
    groups = queries.feeders_for_choice(form.site, without=board)
    field.choices = groups if field.required else [*field.choices[:1], *groups]


def feeder_of(form: Any) -> dict[str, Any]:
    """Takes the chosen feeder out of what was typed: {"from_circuit": …} or {"from_supply": …}, {} for none."""
    chosen = form.cleaned_data.pop("feeder")
    if not chosen:
        return {}
    kind, _, key = chosen.partition(":")
    if kind == "supply":
        return {"from_supply": form.site.supplies.get(pk=key)}
    return {"from_circuit": form.site.circuits.get(pk=key)}


class FeedFields(OfSiteForm):
    feeder = choice("Fed from", (), needed=True)
    kind = choice("Kind of feed", choices.FeedKind.choices, needed=True)
    verified_how = choice("How it was verified", BELIEVED)
    changeover = text("How it takes over, and where", area=True, help_text="For an alternative feed.")

    def __init__(self, *args: Any, board: Board, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer_feeders(self, board)


class NewFeedForm(FeedFields, CreateForm):
    pass


class EditFeedForm(FeedFields, EditForm):
    def values_of(self, row: Any) -> dict[str, Any]:
        """The feed's values, the feeder as this form writes it."""
        circuit = row.from_circuit_id
        feeder = f"circuit:{circuit}" if circuit else f"supply:{row.from_supply_id}"
        return super().values_of(row) | {"feeder": feeder}


class CircuitFields(OfSiteForm):
    way = whole("Way", least=1, most=999, needed=True)
    phase = choice("Phase", choices.Phase.choices, needed=True)
    label_found = text("Label found", help_text="As written at the board, even where it is wrong.")
    designation = text("Designation")
    verified_how = choice("How the designation was verified", BELIEVED)
    unit = forms.ModelChoiceField(
        Unit.objects.none(), label="Unit it serves", required=False, empty_label="the board's"
    )
    device_standard = choice("Protective device", choices.DeviceStandard.choices)
    device_type = text("Type or kind of the device", help_text="B, C, D; 1 to 4; gG.")
    rating_a = decimal("Rating", "A", digits=6, places=1)
    poles = whole("Poles", least=1, most=4, help_text="Conductors that the device disconnects, the neutral counted.")
    breaking_capacity_ka = decimal(
        "Breaking capacity", "kA", digits=5, places=1,
        help_text="As printed on the device; more only where its maker gives it behind the fuse that stands before it.",
    )  # fmt: skip
    rcd_kind = choice("RCD", choices.RcdKind.choices, first="none recorded")
    rcd_ma = whole("Rated residual current", "mA", least=1, most=30000)
    rcd_shared = forms.BooleanField(label="This RCD is shared with other circuits", required=False)
    arrangement = choice("Arrangement", choices.Arrangement.choices)
    line_mm2 = decimal("Line conductor", "mm²", digits=6, places=2)
    cpc_mm2 = decimal("Circuit protective conductor", "mm²", digits=6, places=2)
    length_m = decimal(
        "Length", "m", digits=6, places=1,
        help_text="From the board to the furthest point, one way. R1+R2 is laid beside what it should read.",
    )  # fmt: skip
    points = whole("Points served", most=9999)
    must_not_lose_power = text("Must not lose power", help_text="Medical equipment, alarms, freezers, servers.")
    spare = forms.BooleanField(label="This way is spare", required=False)
    blanked = forms.BooleanField(label="It is blanked", required=False)


class NewCircuitForm(CircuitFields, CreateForm):
    pass


class EditCircuitForm(CircuitFields, EditForm):
    pass


class VerifyForm(CreateForm):
    """What a board or a circuit is, and how that is known; `id` is the verification's."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    designation = text("What it is", needed=True)
    verified_how = choice("How you know", choices.HOW_OFFERED, needed=True)


class SpareForm(EditForm):
    """Whether a way is spare, and blanked."""

    spare = forms.BooleanField(label="This way is spare", required=False)
    blanked = forms.BooleanField(label="It is blanked", required=False)


class NextWayForm(CreateForm):
    """The few things to enter way after way, in front of an open board."""

    way = whole("Way", least=1, most=999, needed=True)
    phase = choice("Phase", choices.Phase.choices, needed=True)
    label_found = text("Label found")
    device_type = text("Device type")
    rating_a = decimal("Rating", "A", digits=6, places=1)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["way"].widget.attrs["data-counts"] = ""  # the next empty form goes on from here
        self.fields["phase"].widget.attrs["data-stays"] = ""


class CircuitChoice(forms.ModelChoiceField):
    """One of some circuits, named with its board."""

    def label_from_instance(self, obj: Circuit) -> str:
        """ "Board 1, 4L2 · Boiler · B32"."""
        return f"{obj.board}, {queries.circuit_label(obj)}"


class LinkForm(CreateForm):
    kind = choice("This circuit", choices.LinkKind.choices, needed=True)
    other = CircuitChoice(Circuit.objects.none(), label="the circuit", empty_label="choose")

    def __init__(self, *args: Any, circuit: Circuit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["other"]
        others = Circuit.objects.current().filter(site=circuit.site_id).exclude(pk=circuit.pk)
        field.queryset = others.select_related("board").order_by("board__sort", "way", "phase")


class SourceFields(OfSiteForm):
    name = text("Name", needed=True)
    kind = choice("Kind", choices.SourceKind.choices, needed=True)
    board = forms.ModelChoiceField(Board.objects.none(), label="Comes in at the board", empty_label="choose")
    circuit = CircuitChoice(
        Circuit.objects.none(), label="on the circuit", required=False, empty_label="at the board itself, or not known"
    )
    rating_kw = decimal("Rating", "kW", digits=7, places=2)
    phases = phases()
    isolate_supply_side = text("Isolated from the supply at", help_text="Empty where no isolator is known.")
    isolate_source_side = text("Isolated from the source at", help_text="For solar: the direct-current isolator.")
    wait_minutes = whole("Wait after isolating", "min", most=1440)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        board: Any = self.fields["board"]
        board.queryset = Board.objects.filter(site=self.site, retired_at__isnull=True).order_by("sort")
        circuit: Any = self.fields["circuit"]
        circuits = Circuit.objects.current().filter(site=self.site, board__retired_at__isnull=True)
        circuit.queryset = circuits.select_related("board").order_by("board__sort", "way", "phase")


class NewSourceForm(SourceFields, CreateForm):
    pass


class EditSourceForm(SourceFields, EditForm):
    pass
