"""What must be seen to before work; what came of a visit's lines; working alone: longer than said, found safe."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import NotAllowed, Refused
from remedials.desk.api.ground import Act, Day, Key, Moment, Text, UnknownRow, Whole, colleague, one, verb
from remedials.desk.api.visits.access import SiteAct
from remedials.desk.api.visits.booking import VisitAct
from remedials.desk.api.visits.site import CheckInRow, SeeToShown
from remedials.desk.api.visits.visits import VISITS, VisitShown
from remedials.visits import operations
from remedials.visits.choices import SeeToKind
from remedials.visits.models import CheckIn, SeeTo, Visit
from remedials.visits.operations import checking_in, seeing_to
from remedials.visits.queries.record import to_settle
from remedials.works.models import Remedial


class ToSeeToNoted(serializers.Serializer):
    """What `owner` must see to by the day `due`, before all work at the site, in its `unit`, or on one `remedial`.

    `id` is made by the sender: the same again makes no second.
    """

    id = Key()
    kind = serializers.ChoiceField(SeeToKind.choices)
    what = Text()
    owner = Key()
    due = Day()
    unit = Key(required=False, allow_null=True, default=None)
    remedial = Key(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"), "kind": "permit", "what": "Permit to work on the roof", "owner": key("user"), "due": "2026-02-06",
    }  # fmt: skip


@verb(SeeToShown, status=201, summary="Note what must be seen to before work.")
class NoteToSeeTo(SiteAct):
    """A booking before it is seen to is warned of or refused, as the firm has set."""

    right = Right.SEE_WORK  # the office, or an engineer who sees the site: the operation decides
    serializer_class = ToSeeToNoted

    def do(self, thing: Site, given: dict[str, Any]) -> SeeTo:
        given["owner"] = colleague(given["owner"], "owner")
        work = given.pop("remedial")
        given["remedial"] = one(self, Remedial, work, "remedial") if work else None
        return seeing_to.note_to_see_to(thing, **self.with_unit(given), **self.doing)


class SeeToAct(Act):
    """A verb on one thing to be seen to."""

    model = SeeTo
    right = Right.SEE_WORK  # the operation decides


class Met(serializers.Serializer):
    """When and how it was seen to; `holds_until`: the last day on which that holds, left out: for good."""

    met_on = Day()
    met_how = Text()
    holds_until = Day(required=False, allow_null=True, default=None)

    example = {"met_on": "2026-02-03", "met_how": "Permit 88, given by the caretaker", "holds_until": "2026-02-28"}


@verb(SeeToShown, summary="Note how and when it was seen to.")
class NoteMet(SeeToAct):
    """Said again later, it counts anew."""

    versioned = True
    serializer_class = Met

    def do(self, thing: SeeTo, given: dict[str, Any]) -> SeeTo:
        return seeing_to.note_met(thing, **given, **self.doing)


class NotNeeded(serializers.Serializer):
    """Why it need not be seen to."""

    why = Text()

    example = {"why": "The work is outside now"}


@verb(SeeToShown, summary="Note that it need not be seen to after all.")
class NeedNot(SeeToAct):
    """Withdrawn already: nothing more happens."""

    serializer_class = NotNeeded

    def do(self, thing: SeeTo, given: dict[str, Any]) -> SeeTo:
        return seeing_to.need_not(thing, **given, **self.doing)


# --- at the visit -----------------------------------------------------------------------------------------------------


class LineSettled(serializers.Serializer):
    """Which line of the visit (its `id` there), and what came of it."""

    line = Whole()
    how = Text()

    example = {"line": 1, "how": "The meter was read with the tenant; nothing more to do"}


@verb(VisitShown, summary="Note that an inspection, a look or a call-out was done at its visit.")
class SettleLine(VisitAct):
    """A remedial is closed with its proof instead. Settled already: nothing more happens."""

    right = Right.SEE_WORK  # the office, or who goes: the operation decides
    serializer_class = LineSettled

    def do(self, thing: Visit, given: dict[str, Any]) -> Visit:
        line = next((line for line in to_settle(thing) if line.pk == given["line"]), None)
        if line is None:
            raise UnknownRow({"line": ["This visit has no such line to settle."]})
        made_at = self.request.made_at  # type: ignore[attr-defined]
        operations.settle_line(line, how=given["how"], **self.doing, made_at=made_at)
        return VISITS.get(pk=thing.pk)


class LongerStayed(serializers.Serializer):
    """When you will be out instead (an instant)."""

    out_by = Moment()

    example = {"out_by": "2026-02-03T15:00:00+00:00"}


@verb(CheckInRow, summary="Say that all is well, and that it takes longer.")
class StayLonger(VisitAct):
    """If you have not checked out by then, somebody asks after you."""

    right = Right.DO_WORK
    serializer_class = LongerStayed

    def do(self, thing: Visit, given: dict[str, Any]) -> CheckIn:
        mine = thing.check_ins.filter(user=self.request.user.pk).order_by("-in_at").first()
        if mine is None:
            raise Refused("You did not check in on this visit.")
        return checking_in.stay_longer(mine, **given, **self.doing, made_at=self.request.made_at)  # type: ignore[attr-defined]


class FoundSafe(serializers.Serializer):
    """How you made sure: who spoke to them, where they are."""

    how = Text()

    example = {"how": "I spoke to her by telephone: she is at home"}


@verb(CheckInRow, summary="Say that somebody who works alone was found safe.")
class SayFoundSafe(Act):
    """The alarm ends. Nobody says it of themselves: they check out."""

    model = CheckIn
    right = Right.BOOK
    serializer_class = FoundSafe

    def do(self, thing: CheckIn, given: dict[str, Any]) -> CheckIn:
        if thing.user_id == self.request.user.pk:
            raise NotAllowed("Somebody else says that you are safe; you check out yourself.")
        return checking_in.found_safe(thing, **given, **self.doing)
