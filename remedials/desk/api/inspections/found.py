"""What somebody finds at a visit, photographs of a defect, and what an investigation came to."""

from typing import Any

from rest_framework import serializers
from rest_framework.parsers import MultiPartParser

from inspections import operations
from inspections.choices import Code, MadeSafeHow, NoticeHow
from inspections.models import Observation, ObservationPhoto
from inspections.operations import MadeSafeFacts, NoticeFacts
from inspections.queries import found as queries
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Day, Key, Text, verb
from remedials.desk.api.inspections.ground import (
    WITH_A_FILE,
    Upload,
    Uploaded,
    optional_key,
    photograph,
    photographs,
    placed,
)
from remedials.desk.api.inspections.noting import photos
from remedials.desk.api.inspections.nouns import ObservationPhotoShown, ObservationShown

FINDINGS = [("", "nothing"), *((code, label) for code, label in Code.choices if code != Code.FI)]
SAFE_NEEDED = {"safe_what": "Say what exactly was done, and where."}
SAFE_NEEDED |= {"agreed_with": "Say which duty-holder agreed to it.", "look_again_on": "Say when somebody looks again."}


class SeenAtVisit(serializers.Serializer):
    """A defect found at a visit. `id` is made by the sender: the same again makes no second, photos that it lacks are added.

    `code` "": not sure, so that it waits for a qualified person as perhaps dangerous. Where it was `made_safe`, the fields
    from `safe_how` to `no_photo` say how; where they were told in writing (`notice`), those after them. `visit`, `remedial`:
    what you were there for.
    """

    id = Key()
    unit = Key()
    board = optional_key()
    circuit = optional_key()
    place = Text(required=False, max_length=200)
    text = Text()
    code = serializers.ChoiceField(choices=Code.choices, allow_blank=True)
    photos = photos()
    made_safe = serializers.BooleanField(required=False, default=False)
    safe_how = serializers.ChoiceField(choices=MadeSafeHow.choices, required=False, default=MadeSafeHow.LOCKED.value)
    safe_what = Text(required=False)
    agreed_with = Text(required=False)
    lock = Text(required=False)
    key_holder = Text(required=False)
    look_again_on = Day(required=False, allow_null=True, default=None)
    safe_photo = Uploaded(help_text="JPEG, PNG or WebP, at most 20 MB; in a multipart form.")
    no_photo = Text(required=False)
    notice = serializers.BooleanField(required=False, default=False)
    given_to = Text(required=False, help_text="Empty: whoever agreed to making it safe.")
    advised = Text(required=False)
    notice_how = serializers.ChoiceField(choices=NoticeHow.choices, required=False, default=NoticeHow.HAND.value)
    visit = optional_key()
    remedial = optional_key()

    example = {
        "id": key("new"),
        "unit": key("unit"),
        "text": "Live parts behind a broken socket",
        "code": "C1",
        "made_safe": True,
        "safe_what": "Circuit off at the board, locked",
        "agreed_with": "Petra Landlady",
        "key_holder": "Petra Landlady",
        "look_again_on": "2026-02-10",
        "no_photo": "the camera was broken",
    }


@verb(
    ObservationShown, status=201, summary="Record a defect found at a visit, with what was made safe and who was told."
)
class NoteFound(Act):
    """Its code counts at once; where the firm records no competence of yours, a qualified person looks at it afterwards."""

    right = Right.INSPECT
    model = Site
    serializer_class = SeenAtVisit
    parser_classes = WITH_A_FILE

    def do(self, thing: Site, given: dict[str, Any]) -> Observation:
        given, request = placed(self, given), self.request
        names = ("id", "unit", "board", "circuit", "place", "text", "code")
        keys = queries.while_at(thing, request.user, visit=given["visit"], remedial=given["remedial"])["keys"]  # type: ignore[arg-type]
        return operations.note_found(
            thing,
            **{name: given[name] for name in names},
            photos=photographs(given["photos"]),
            made_safe=_safe(given) if given["made_safe"] else None,
            notice=_notice(given) if given["notice"] else None,
            seen_while=keys,
            made_at=request.made_at,  # type: ignore[attr-defined]
            **self.doing,
        )


def _safe(given: dict[str, Any]) -> MadeSafeFacts:
    for name, sentence in SAFE_NEEDED.items():
        if not given[name]:
            raise Refused(sentence, field=name)
    same = ("agreed_with", "look_again_on", "lock", "key_holder", "no_photo")
    return MadeSafeFacts(
        how=given["safe_how"],
        what=given["safe_what"],
        photo=photograph(given["safe_photo"], "safe_photo"),
        **{name: given[name] for name in same},
    )


def _notice(given: dict[str, Any]) -> NoticeFacts:
    to = given["given_to"] or (given["agreed_with"] if given["made_safe"] else "")
    return NoticeFacts(given_to=to, advised=given["advised"], how=given["notice_how"])


class PhotoOfDefect(serializers.Serializer):
    """A photograph of the defect as found (JPEG, PNG or WebP, at most 20 MB), and what it shows."""

    photo = Upload()
    caption = Text(required=False)


@verb(ObservationPhotoShown, status=201, summary="Add a photograph of a defect as found, also to a draft's.")
class AddObservationPhoto(Act):
    """Cleaned of all but the time taken; the same picture again is no second."""

    right = Right.INSPECT
    model = Observation
    serializer_class = PhotoOfDefect
    parser_classes = [MultiPartParser]

    def do(self, thing: Observation, given: dict[str, Any]) -> ObservationPhoto:
        data = photograph(given["photo"]) or b""
        return operations.add_photo(thing, data=data, caption=given["caption"], **self.doing)


# --- what an investigation came to ------------------------------------------------------------------------------------


class Finding(serializers.Serializer):
    """What an FI came to: a code, or "" for nothing that needs one. `id` of the new observation is made by the sender."""

    id = Key()
    code = serializers.ChoiceField(choices=FINDINGS, allow_blank=True)
    text = Text()

    example = {"id": key("new"), "code": "C3", "text": "The earth rod is sound; its label is missing"}


class FindingShown(serializers.Serializer):
    """The investigation as it ended, and what it found: null for nothing."""

    investigation = ObservationShown()
    finding = ObservationShown(allow_null=True)


@verb(FindingShown, status=201, summary="End an investigation in what it found.")
class RecordFinding(Act):
    """By a qualified person. A finding is a new observation that continues the FI, with its own clocks from today."""

    right = Right.REVIEW_CODES
    model = Observation
    serializer_class = Finding

    def do(self, thing: Observation, given: dict[str, Any]) -> Any:
        found = operations.record_finding(thing, **given, **self.doing)
        return {"investigation": Observation.objects.get(pk=thing.pk), "finding": found}


class Withdrawn(serializers.Serializer):
    """Why it is withdrawn: what was recorded stays on record."""

    reason = Text()

    example = {"reason": "Recorded for the wrong circuit"}


@verb(ObservationShown, summary="Withdraw a finding that was recorded in error: the investigation is open again.")
class WithdrawFinding(Act):
    """By a qualified person. What it found, where that is still open, is withdrawn with it."""

    right = Right.REVIEW_CODES
    model = Observation
    serializer_class = Withdrawn

    def do(self, thing: Observation, given: dict[str, Any]) -> Observation:
        return operations.withdraw_finding(thing, **given, **self.doing)
