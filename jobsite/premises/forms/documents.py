"""What is chosen for a document of a board."""

from typing import Any

from django import forms

from jobsite.forms import CreateForm
from jobsite.premises.charts import Sheet, sheet_of
from jobsite.premises.forms.fields import whole
from jobsite.premises.models import Circuit

PAPERS = [("a4", "A4"), ("a5", "A5, half of it")]
TURNS = [("", "as fits"), ("landscape", "landscape"), ("portrait", "portrait")]


class ChartForm(CreateForm):
    """The paper of a circuit chart."""

    paper = forms.ChoiceField(label="Paper", choices=PAPERS, widget=forms.RadioSelect, initial="a4")
    turned = forms.ChoiceField(label="Turned", choices=TURNS, widget=forms.RadioSelect, required=False, initial="")

    def clean_turned(self) -> bool | None:
        """Landscape or not; None: as fits."""
        return {"landscape": True, "portrait": False}.get(self.cleaned_data["turned"])


def sizes(*pairs: tuple[int, int]) -> list[tuple[str, str]]:
    """Sizes of labels, millimetres, as choices."""
    return [(f"{width}x{height}", f"{width} × {height} mm") for width, height in pairs]


CIRCUIT_SIZES = sizes((18, 9), (36, 9), (38, 21), (50, 15), (64, 34), (70, 37), (99, 38))
BOARD_SIZES = sizes((70, 37), (99, 57), (148, 105))


def in_mm(size: str) -> tuple[int, int]:
    """Width and height of one of those choices."""
    width, height = size.split("x")
    return int(width), int(height)


class LabelsForm(CreateForm):
    """Which ways get a label, and the sheet they are printed on."""

    circuits = forms.ModelMultipleChoiceField(
        label="Ways", queryset=Circuit.objects.none(), widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one way."},
    )  # fmt: skip
    size = forms.ChoiceField(label="Size of a label", choices=CIRCUIT_SIZES, initial="38x21")
    columns = whole("Labels beside each other", least=1, most=20)
    rows = whole("Labels below each other", least=1, most=40)
    gap_across = whole("Gap between columns", "mm", most=50)
    gap_down = whole("Gap between rows", "mm", most=50)
    start = whole("Begin at label", least=1, most=800, needed=True)
    outlined = forms.BooleanField(label="Draw outlines, to cut along", required=False, initial=True)

    def __init__(self, *args: Any, verified: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["circuits"]
        field.queryset = verified
        field.label_from_instance = lambda row: f"{row.way_name} · {row.designation}"
        for name in ("columns", "rows"):
            self.fields[name].help_text = "Nothing: as many as go on A4."
        self.fields["start"].help_text = "The first unused one of a sheet begun, counted along the rows."

    def sheet(self) -> Sheet:
        """The sheet as it was chosen."""
        said = self.cleaned_data
        width, height = in_mm(said["size"])
        gaps = {"gap_across_mm": said["gap_across"] or 0, "gap_down_mm": said["gap_down"] or 0}
        return sheet_of(width, height, columns=said["columns"], rows=said["rows"], **gaps)


class BoardLabelForm(CreateForm):
    """How large, and how many."""

    size = forms.ChoiceField(label="Size", choices=BOARD_SIZES, initial="99x57")
    copies = whole("How many", least=1, most=20, needed=True)
