"""What follows an attempt to get in: the reply, a letter, the attempts printed as evidence."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Document
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.desk.api.files import PDF, File, file, kept
from remedials.desk.api.ground import Act, Day, Key, Text, some, verb
from remedials.desk.api.visits.access import SiteAct
from remedials.desk.api.visits.booking import keys_field
from remedials.desk.api.visits.firm import OursAlone
from remedials.desk.api.visits.getting_in import AttemptShown
from remedials.visits.choices import AttemptHow
from remedials.visits.models import Attempt
from remedials.visits.operations.attempts import note_reply
from remedials.visits.operations.letters import PRINTED, SENT, keep_evidence, write_letter
from remedials.visits.queries.evidence import evidence
from remedials.works.models import Remedial

WHICH = [AttemptHow.FIRST_LETTER, AttemptHow.SECOND_LETTER, AttemptHow.FINAL_LETTER]
MOST_TIMES = 50


class ReplyNoted(serializers.Serializer):
    """What they replied and on which day; `next_on`: when to try again, left out: nothing more is needed."""

    reply = Text()
    replied_on = Day()
    next_on = Day(required=False, allow_null=True, default=None)

    example = {"reply": "Any morning will do", "replied_on": "2026-02-03"}


@verb(AttemptShown, summary="Keep what they replied to an attempt to get in.")
class NoteReply(OursAlone, Act):
    """Once: what came after it is an attempt of its own. The same again: nothing more happens."""

    model = Attempt
    right = Right.SEE_WORK  # the office, or an engineer who sees the site: the operation decides
    serializer_class = ReplyNoted

    def do(self, thing: Attempt, given: dict[str, Any]) -> Attempt:
        return note_reply(thing, **given, **self.doing)


class LetterWritten(serializers.Serializer):
    """Which letter, to whom, which work it names, times to choose from, and how it goes. `id` is made by the sender.

    "email" sends it to `email`; "post" and "hand" are a person's to do. Nothing about anybody's health.
    """

    id = Key()
    which = serializers.ChoiceField([(which.value, which.label) for which in WHICH])
    to = Text()
    to_address = Text(required=False, help_text="A line each.")
    answer_by = Day()
    sent = serializers.ChoiceField(list(SENT.items()))
    unit = Key(required=False, allow_null=True, default=None)
    remedials: Any = keys_field(required=False)
    times: Any = serializers.ListField(
        child=Text(max_length=200), required=False, default=list, max_length=MOST_TIMES,
        help_text="As they are to be read: Mon 2 Mar 2026, 09:00 to 12:00.",
    )  # fmt: skip
    email = serializers.EmailField(required=False, allow_blank=True, default="", max_length=254)

    example = {
        "id": key("new"),
        "which": "first-letter",
        "to": "Tina Tenant",
        "answer_by": "2026-02-10",
        "sent": "post",
    }


@verb(AttemptShown, status=201, summary="Write a letter that asks to be let in; it is kept as it went out.")
class WriteLetter(SiteAct):
    """It is an attempt to get in: `attempts/<id>/letter/` gives the PDF. The second needs a first."""

    serializer_class = LetterWritten

    def do(self, thing: Site, given: dict[str, Any]) -> Attempt:
        given["remedials"] = some(self, Remedial, given["remedials"], "remedials")
        return write_letter(thing, **self.with_unit(given), **self.doing)


class DaysToPrint(serializers.Serializer):
    """Of which days attempts are printed, both included. `unit` left out: the whole site, every unit."""

    first = Day()
    last = Day()
    unit = Key(required=False, allow_null=True, default=None)

    example = {"first": "2025-02-03", "last": "2026-02-03"}


class PrintedShown(serializers.ModelSerializer):
    """Attempts as they were printed and kept. `size` in bytes; the file stands at `printed-attempts/<id>/file/`."""

    size = serializers.IntegerField(source="file.size", read_only=True)

    class Meta:
        model = Document
        fields = ["id", "site", "unit", "title", "fingerprint", "size", "made_at"]


@verb(PrintedShown, status=201, summary="Print every attempt of some days as evidence; the PDF is kept.")
class PrintAttempts(SiteAct):
    """How, when, whom, what was asked and replied, photographs and letters kept, without an opinion."""

    serializer_class = DaysToPrint

    def do(self, thing: Site, given: dict[str, Any]) -> Document:
        asked = self.with_unit(given)
        if asked["last"] < asked["first"]:
            raise Refused("The last day lies before the first.", field="last")
        made = evidence(thing, asked["unit"], asked["first"], asked["last"], now=self.doing["now"])
        return keep_evidence(made, thing, asked["unit"], **self.doing)


@file(PDF, summary="Attempts to get in, as they were printed and kept.")
class PrintedAttempts(OursAlone, File):
    """Byte for byte, so that whoever is shown it can have it checked."""

    right = Right.BOOK
    queryset = Document.objects.filter(kind=PRINTED).select_related("file")

    def get_queryset(self) -> QuerySet[Document]:
        """Those about sites that this person sees; none while the schema is drawn."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        return self.queryset.filter(site__in=Site.objects.visible_to(self.request.user).values("pk"))  # type: ignore[misc]

    def answer(self, row: Document) -> HttpResponse:
        """The PDF."""
        return kept(read_file(row.file), PDF, row.name)
