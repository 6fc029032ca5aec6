"""What is printed for a board: its chart, labels for its circuits, labels for the board itself."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.premises import operations
from jobsite.premises.charts import sheet_of
from jobsite.premises.choices import DocumentKind
from jobsite.premises.forms.documents import BOARD_SIZES, CIRCUIT_SIZES, PAPERS, in_mm
from jobsite.premises.models import Board, BoardDocument, Circuit
from remedials.desk.api.fields import Keys
from remedials.desk.api.ground import Key, Whole, some, verb
from remedials.desk.api.premises.boards import BoardAct
from remedials.desk.api.premises.circuits import maybe
from remedials.desk.api.premises.nouns_found import BoardDocumentShown

TURNED = {"landscape": True, "portrait": False, "": None}
OF_BOARDS = [DocumentKind.BOARD_LABEL, DocumentKind.TWO_SOURCES]


class ChartMade(serializers.Serializer):
    """The paper of a circuit chart; `turned` empty: as fits. `id` is made by the sender: the same again makes no second."""

    id = Key()
    paper = serializers.ChoiceField(PAPERS, required=False, default="a4")
    turned = serializers.ChoiceField(
        [("landscape", "landscape"), ("portrait", "portrait")], required=False, allow_blank=True, default=""
    )

    example = {"id": key("new"), "paper": "a4"}


@verb(BoardDocumentShown, status=201, summary="Make the circuit chart of a board.")
class MakeChart(BoardAct):
    """Of whatever is on record: what nobody has verified is printed in quotes and dashed."""

    serializer_class = ChartMade

    def do(self, thing: Board, given: dict[str, Any]) -> BoardDocument:
        turned = TURNED[given.pop("turned")]
        return operations.make_chart(thing, turned=turned, **given, **self.doing)


class LabelsMade(serializers.Serializer):
    """Which circuits get a label, and the sheet they are printed on. Sizes in mm. `id` is made by the sender.

    `columns`, `rows`: labels beside and below each other, null for as many as go on A4. `start`: the first unused place
    of a sheet begun, counted along the rows. `outlined`: with outlines, to cut along.
    """

    id = Key()
    circuits: Any = Keys(allow_empty=False)
    size = serializers.ChoiceField(CIRCUIT_SIZES, required=False, default="38x21", help_text="Width × height, mm.")
    columns = maybe(20, 1)
    rows = maybe(40, 1)
    gap_across_mm = Whole(required=False, default=0, min_value=0, max_value=50)
    gap_down_mm = Whole(required=False, default=0, min_value=0, max_value=50)
    start = Whole(required=False, default=1, min_value=1, max_value=800)
    outlined = serializers.BooleanField(required=False, default=True)

    example = {"id": key("new"), "circuits": [key("circuit")], "size": "38x21"}


@verb(BoardDocumentShown, status=201, summary="Make labels for circuits of a board.")
class MakeLabels(BoardAct):
    """Only of what is verified: a label is believed."""

    serializer_class = LabelsMade

    def do(self, thing: Board, given: dict[str, Any]) -> BoardDocument:
        width, height = in_mm(given.pop("size"))
        gaps = {name: given.pop(name) for name in ("gap_across_mm", "gap_down_mm")}
        sheet = sheet_of(width, height, columns=given.pop("columns"), rows=given.pop("rows"), **gaps)
        circuits = some(self, Circuit, given.pop("circuits"), "circuits")
        return operations.make_labels(thing, circuits=circuits, sheet=sheet, **given, **self.doing)


class BoardLabelsMade(serializers.Serializer):
    """Labels for a board: its verified name ("board-label"), or the warning of more than one source ("two-sources")."""

    id = Key()
    kind = serializers.ChoiceField([(kind.value, kind.label) for kind in OF_BOARDS])
    size = serializers.ChoiceField(BOARD_SIZES, required=False, default="99x57", help_text="Width × height, mm.")
    copies = Whole(required=False, default=1, min_value=1, max_value=20)

    example = {"id": key("new"), "kind": "two-sources", "copies": 2}


@verb(BoardDocumentShown, status=201, summary="Make labels for a board itself.")
class MakeBoardLabel(BoardAct):
    serializer_class = BoardLabelsMade

    def do(self, thing: Board, given: dict[str, Any]) -> BoardDocument:
        width, height = in_mm(given.pop("size"))
        return operations.make_board_label(thing, width_mm=width, height_mm=height, **given, **self.doing)
