"""Somebody moves in, asks for a report, is handed a paper or sent it: what is owed in writing, met or taken back."""

from typing import Any

from rest_framework import serializers

from inspections import operations
from inspections.choices import AskedBy, PaperAnswer, SupplyCame, SupplyHow
from inspections.models import Inspection, OccupancyChange, Paper, PaperDocument, PaperRequest, PaperSupply
from inspections.operations import Recipient
from inspections.queries.papers import Candidate, candidates
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Unit
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Day, Key, Text, UnknownRow, one, verb
from remedials.desk.api.inspections.ground import MOST_AT_ONCE, WITH_A_FILE, BelowAct, Uploaded, kept, optional_key
from remedials.desk.api.inspections.papers import (
    WHOLE_PAPERS,
    OccupancyChangeShown,
    PaperDocumentShown,
    PaperRequestShown,
    WholePaperShown,
)
from remedials.desk.api.status.handed import copies_seen

SETTLED = [("", "still to be done"), (PaperAnswer.DONE.value, "done"), (PaperAnswer.NOT_NEEDED.value, "not needed")]
CAME = [(SupplyCame.GIVEN.value, "given"), (SupplyCame.REFUSED.value, "refused to take it")]
LONGEST_NAME = 200


class MovesIn(serializers.Serializer):
    """Who moves in on which day; the day of the tenancy decides which rule binds. `id` is made by the sender."""

    id = Key()
    since = Day()
    occupier = optional_key(help_text="A party on record.")
    tenancy_granted_on = Day(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "since": "2026-02-03", "tenancy_granted_on": "2026-02-01"}


@verb(OccupancyChangeShown, status=201, summary="Record that somebody moves into a unit.")
class ChangeOccupancy(Act):
    """What the law asks of it stands as papers; it asks for no new inspection by itself."""

    right = Right.KEEP_CUSTOMERS
    model = Unit
    serializer_class = MovesIn

    def do(self, thing: Unit, given: dict[str, Any]) -> OccupancyChange:
        occupier = given.pop("occupier")
        found = one(self, Party, occupier, "occupier") if occupier else None
        return operations.change_occupancy(thing, occupier=found, **given, **self.doing)


class ReportAskedFor(serializers.Serializer):
    """Who asked in writing for a copy of the report, and when it came. `unit` may be left out where it covers one."""

    id = Key()
    asked_by = serializers.ChoiceField(choices=AskedBy.choices)
    who = Text()
    asked_on = Day()
    unit = optional_key()
    how = Text(required=False, help_text="By letter, by e-mail; their reference.")

    example = {"id": key("new"), "asked_by": "authority-asks", "who": "Sample Council", "asked_on": "2026-02-03"}


@verb(PaperRequestShown, status=201, summary="Record that somebody asked in writing for a copy of a report.")
class RecordRequest(Act):
    """What the law asks then stands as a paper."""

    right = Right.KEEP_CUSTOMERS
    model = Inspection
    serializer_class = ReportAskedFor

    def do(self, thing: Inspection, given: dict[str, Any]) -> PaperRequest:
        return operations.record_request(thing, self._unit(thing, given.pop("unit")), **given, **self.doing)

    def _unit(self, report: Inspection, named: Any) -> Unit:
        if named:
            found: Unit = one(self, Unit, named, "unit")
            return found
        covered = list(report.units.all()[:2])
        if len(covered) != 1:
            raise Refused("This report covers several units: name the one.", field="unit")
        return covered[0]


# --- one paper --------------------------------------------------------------------------------------------------------


class PaperAct(Act):
    """A verb on one paper."""

    model = Paper
    right = Right.KEEP_CUSTOMERS


def whole(paper: Paper) -> Paper:
    """The paper as it is now, with its documents and who has it."""
    found: Paper = WHOLE_PAPERS.get(pk=paper.pk)
    return found


class PaperAnswered(serializers.Serializer):
    """What became of it otherwise: on which day, how and to whom, or why it is not needed; "" opens it again."""

    answer = serializers.ChoiceField(choices=SETTLED, allow_blank=True)
    answered_on = Day(required=False, allow_null=True, default=None)
    how = Text(required=False)

    example = {"answer": "not-needed", "answered_on": "2026-02-03", "how": "The flat stays empty"}


@verb(WholePaperShown, summary="Say otherwise what became of a paper.")
class AnswerPaper(PaperAct):
    versioned = True
    serializer_class = PaperAnswered

    def do(self, thing: Paper, given: dict[str, Any]) -> Paper:
        return whole(operations.answer_paper(thing, **given, **self.doing))


class JustKey(serializers.Serializer):
    """`id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {"id": key("new")}


@verb(PaperDocumentShown, status=201, summary="Make the document of a paper from the record as it stands, and keep it.")
class MakePaperDocument(PaperAct):
    """A covering letter, a confirmation, a notification sheet; its PDF has an address of its own."""

    serializer_class = JustKey

    def do(self, thing: Paper, given: dict[str, Any]) -> PaperDocument:
        return operations.make_paper_document(thing, **given, **self.doing)


class ToWhom(serializers.Serializer):
    """To whom: `to` are keys of the paper's candidates."""

    to: Any = serializers.ListField(
        child=serializers.CharField(max_length=40), required=False, default=list, max_length=MOST_AT_ONCE
    )


def chosen(paper: Paper, keys: list[str]) -> list[Candidate]:
    """The candidates of `paper` with these keys. Raises ValidationError for one that is none."""
    known = {one.key: one for one in candidates(paper)}
    if unknown := [one for one in keys if one not in known]:
        raise UnknownRow({"to": [f"{one} is none of the candidates." for one in unknown]})
    return [known[one] for one in dict.fromkeys(keys)]


class PaperSent(ToWhom):
    """To whom it is sent: candidates who have an e-mail address, and somebody else by `name` and `email`."""

    id = Key()
    name = Text(required=False, max_length=LONGEST_NAME)
    email = serializers.EmailField(required=False, allow_blank=True, default="", max_length=LONGEST_NAME)

    example = {"id": key("new"), "name": "Tina Tenant", "email": "tina@example.com"}


@verb(WholePaperShown, summary="Send a paper by e-mail, with its document and the report where that is kept.")
class MailPaper(PaperAct):
    """What is sent was not given yet: the paper stays open until somebody records that it reached them."""

    serializer_class = PaperSent

    def do(self, thing: Paper, given: dict[str, Any]) -> Paper:
        name, email = given.pop("name"), given.pop("email")
        if bool(name) != bool(email):
            raise Refused("Give the name and the address.", field="name" if email else "email")
        people = chosen(thing, given.pop("to"))
        if without := [one for one in people if not (one.party and one.party.email)]:
            raise Refused(f"{without[0].name} has no e-mail address.", field="to")
        to = [Recipient(one.name, one.party, one.party.email) for one in people if one.party]
        to += [Recipient(name, None, email)] if name else []
        operations.mail_paper(thing, to=to, **given, **self.doing)
        return whole(thing)


class PaperSupplied(ToWhom):
    """Who was given it, or would not take it: candidates, and `somebody` else by name. `id` is made by the sender.

    `settles`: nobody else is to have it, so that the paper is met. `note` is needed where somebody refused.
    """

    id = Key()
    somebody = Text(required=False, max_length=LONGEST_NAME)
    came = serializers.ChoiceField(choices=CAME, required=False, default=SupplyCame.GIVEN.value)
    how = serializers.ChoiceField(choices=SupplyHow.choices)
    on = Day()
    document = optional_key(help_text="One of the documents that were made for it.")
    copy = optional_key(
        help_text="A copy of a report without personal data that they were given; kept in place of a receipt."
    )
    note = Text(required=False)
    receipt = Uploaded(help_text="What shows it, at most 20 MB; in a multipart form.")
    settles = serializers.BooleanField(required=False, default=False)

    example = {"id": key("new"), "somebody": "Tina Tenant", "how": "hand", "on": "2026-02-03", "settles": True}


@verb(WholePaperShown, summary="Record that a paper was handed over, or that somebody would not take it.")
class RecordSupply(PaperAct):
    versioned = True
    serializer_class = PaperSupplied
    parser_classes = WITH_A_FILE

    def do(self, thing: Paper, given: dict[str, Any]) -> Paper:
        to = [Recipient(one.name, one.party) for one in chosen(thing, given.pop("to"))]
        somebody, document = given.pop("somebody"), given.pop("document")
        to += [Recipient(somebody)] if somebody else []
        receipt, copy = given.pop("receipt"), given.pop("copy")
        if receipt and copy:
            raise Refused("Name a copy or send a receipt, not both.", field="copy")
        given |= self._copy(copy) if copy else kept(receipt, now=self.request.now, field="receipt")  # type: ignore[attr-defined]
        given["document"] = self._document(thing, document)
        return whole(operations.record_supply(thing, to=to, **given, **self.doing))

    def _copy(self, named: Any) -> dict[str, Any]:
        found = copies_seen(self.request.user).filter(pk=named).first()
        if found is None:
            raise UnknownRow({"copy": ["There is no such copy."]})
        return {"file": found.document.file, "file_name": found.document.name}

    def _document(self, paper: Paper, named: Any) -> PaperDocument | None:
        found = paper.documents.filter(pk=named).first() if named else None
        if named and found is None:
            raise UnknownRow({"document": ["There is no such document of this paper."]})
        return found


class TakenBack(serializers.Serializer):
    """Why it is taken back: it stays on record as an entry that was."""

    why = Text()

    example = {"why": "Recorded for the wrong flat"}


@verb(WholePaperShown, summary="Take back that a paper was handed over, where it was recorded in error.")
class TakeBackSupply(BelowAct):
    """Where the paper counted as met, it is open again. The answer shows the paper."""

    right = Right.KEEP_CUSTOMERS
    model = PaperSupply
    serializer_class = TakenBack

    def do(self, thing: PaperSupply, given: dict[str, Any]) -> Paper:
        return whole(operations.take_back_supply(thing, **given, **self.doing))
