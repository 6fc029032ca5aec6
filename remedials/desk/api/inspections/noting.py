"""The observations of a draft: noted one after another, changed, dropped, taken into a reissue again."""

from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import Code
from inspections.models import Inspection, Observation
from inspections.queries import alike
from jobsite.api.examples import key
from jobsite.ids import new_id
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, one, verb
from remedials.desk.api.inspections.drafting import InspectionAct
from remedials.desk.api.inspections.ground import WITH_A_FILE, Changed, Upload, optional_key, photographs, placed
from remedials.desk.api.inspections.nouns import ObservationShown
from remedials.desk.api.inspections.reports import InspectionShown

MOST_PHOTOS = 12
LONGEST_ITEM = 40
NEEDS_CODE = "Choose a code: C1, C2, C3 or FI."
NOT_WRITTEN = "Only another firm's report has a code as it is written there."
SHOWN_LETTERS = 60
PLACES = ("unit", "board", "circuit")


def photos() -> Any:
    """Photographs of the defect, in a multipart form."""
    return serializers.ListField(
        child=Upload(), required=False, default=list, max_length=MOST_PHOTOS,
        help_text="JPEG, PNG or WebP, each at most 20 MB; in a multipart form.",
    )  # fmt: skip


class ObservationNoted(serializers.Serializer):
    """An observation of a draft. `id` is made by the sender: the same again notes no second.

    `code` may be empty for another firm's report that gives none that can be read; `code_written` is then what stands there.
    Where an earlier open one is in like words, say that it `continues` that, or that it is `new`.
    """

    id = Key()
    unit = Key()
    board = optional_key()
    circuit = optional_key()
    place = Text(required=False)
    item = Text(required=False, max_length=LONGEST_ITEM, help_text="Its number in the report.")
    text = Text()
    code = serializers.ChoiceField(choices=Code.choices, required=False, allow_blank=True, default="")
    code_written = Text(required=False, max_length=LONGEST_ITEM)
    continues = optional_key(
        help_text="The earlier observation of the same defect: its age goes on, and it ends at issue."
    )
    new = serializers.BooleanField(required=False, default=False, help_text="It is none of the earlier ones.")
    first_recorded_on = Day(required=False, allow_null=True, default=None)
    photos = photos()

    example = {"id": key("new"), "unit": key("unit"), "text": "No bonding to the gas pipe", "code": "C2"}


@verb(ObservationShown, status=201, summary="Note an observation on a draft; it counts from the issue on.")
class NoteObservation(InspectionAct):
    """The same words as an earlier open observation near it are asked about, as the page does: 409 beside `continues`."""

    serializer_class = ObservationNoted
    parser_classes = WITH_A_FILE

    def do(self, thing: Inspection, given: dict[str, Any]) -> Observation:
        given = placed(self, given)
        _fits(thing, given["code"], given["code_written"])
        is_new, continues = given.pop("new"), given.pop("continues")
        if continues:
            given["continues"] = one(self, Observation, continues, "continues")
        elif not is_new and not Observation.objects.filter(pk=given["id"]).exists():
            _ask(thing, given)
        given["photos"] = photographs(given["photos"])
        return operations.note_observation(thing, **given, **self.doing)


def _fits(inspection: Inspection, code: str, written: str) -> None:
    """Of our own the inspector decides the code; another firm's report has one as it is written, or none."""
    if inspection.other_firm:
        return
    if not code:
        raise Refused(NEEDS_CODE, field="code")
    if written:
        raise Refused(NOT_WRITTEN, field="code_written")


def _ask(inspection: Inspection, given: dict[str, Any]) -> None:
    """Raises Refused, naming the earlier ones in like words, where nothing was said of them."""
    where = {name: given.get(name) for name in PLACES}
    asked = alike.asked_of(Observation(**where, text=given["text"], place=given["place"]))
    found = [one_of.id for one_of in alike.in_draft(inspection, asked)]
    if found:
        rows = Observation.objects.in_bulk(found)
        numbers = ", ".join(f"{rows[pk].number} “{rows[pk].text[:SHOWN_LETTERS]}”" for pk in found if pk in rows)
        sentence = f"Is it one of these? {numbers}. Say which, or that it is a new one, and send again."
        raise Refused(sentence, field="continues")


# --- one of a draft ---------------------------------------------------------------------------------------------------


class DraftedAct(Act):
    """A verb on one observation of a draft."""

    model = Observation
    right = Right.INSPECT


class ObservationChanged(serializers.Serializer):
    """What is to be otherwise in an observation of a draft; what is left out stays. `photos` come to those it has."""

    unit = Key(required=False)
    board = Key(required=False, allow_null=True)
    circuit = Key(required=False, allow_null=True)
    place = Changed()
    item = Changed(max_length=LONGEST_ITEM)
    text = Changed(allow_blank=False)
    code = serializers.ChoiceField(choices=Code.choices, required=False, allow_blank=True)
    code_written = Changed(max_length=LONGEST_ITEM)
    continues = Key(required=False, allow_null=True)
    first_recorded_on = Day(required=False, allow_null=True)
    photos = photos()

    example = {"text": "No main bonding to the gas pipe", "code": "C2"}


@verb(ObservationShown, summary="Change an observation of a draft.")
class ChangeObservation(DraftedAct):
    versioned = True
    serializer_class = ObservationChanged
    parser_classes = WITH_A_FILE

    def do(self, thing: Observation, given: dict[str, Any]) -> Observation:
        given = placed(self, given)
        report = thing.inspection
        if report and ("code" in given or "code_written" in given):
            _fits(report, given.get("code", thing.code), given.get("code_written", ""))
        if given.get("continues"):
            given["continues"] = one(self, Observation, given["continues"], "continues")
        given["photos"] = photographs(given["photos"])
        return operations.change_observation(thing, **given, **self.doing)


@verb(InspectionShown, summary="Take an observation off a draft.")
class DropObservation(DraftedAct):
    """The answer shows the draft."""

    serializer_class = Nothing

    def do(self, thing: Observation, given: dict[str, Any]) -> Any:
        operations.drop_observation(thing, **self.doing)
        return thing.inspection


class BroughtBack(serializers.Serializer):
    """Which observation of the report that this one replaces. `id` of the copy is made by the sender, if you like."""

    former = Key()
    id = Key(required=False)

    example = {"former": key("observation"), "id": key("new")}


@verb(ObservationShown, status=201, summary="Take an observation of the former report into its reissue again.")
class BringBack(InspectionAct):
    serializer_class = BroughtBack

    def do(self, thing: Inspection, given: dict[str, Any]) -> Observation:
        former = one(self, Observation, given["former"], "former")
        if thing.replaces_id is None or former.inspection_id != thing.replaces_id:
            raise Refused("Choose an observation of the report that this one replaces.", field="former")
        return operations.bring_back(thing, former=former, id=given.get("id") or new_id(), **self.doing)
