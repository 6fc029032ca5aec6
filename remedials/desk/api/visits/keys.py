"""Keys of sites: taken in, given out, brought in, given back; and codes that no longer hold."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, colleague, verb
from remedials.desk.api.visits.site import CodeShown, KeyShown
from remedials.visits.models import AlarmCode, SiteKey
from remedials.visits.operations import codes, keys


class KeyTaken(serializers.Serializer):
    """A key to keep. `tag` never says the address: a lost key must not tell its door. `id` is made by the sender."""

    id = Key()
    tag = Text()
    what = Text(help_text="What it opens.")
    held_for = Text(required=False, help_text="Whose it is, to whom it goes back.")
    place = Text(required=False, help_text="Where it hangs.")

    example = {
        "id": key("new"),
        "tag": "R-207",
        "what": "Back gate",
        "held_for": "Petra Landlady",
        "place": "Board by the door",
    }


@verb(KeyShown, status=201, summary="Take a key of a site in.")
class TakeKey(Act):
    """A tag that is in use, or that names the site, is refused."""

    model = Site
    right = Right.BOOK
    serializer_class = KeyTaken

    def do(self, thing: Site, given: dict[str, Any]) -> SiteKey:
        return keys.take_key(thing, **given, **self.doing)


class KeyAct(Act):
    """A verb on one key."""

    model = SiteKey
    right = Right.BOOK


class KeyGivenOut(serializers.Serializer):
    """To whom, and the day by which they bring it back. `id` is made by the sender."""

    id = Key()
    to = Key()
    back_by = Day(required=False, allow_null=True, default=None)
    note = Text(required=False)

    example = {"id": key("new"), "to": key("user"), "back_by": "2026-02-05"}


@verb(KeyShown, summary="Give a key out to somebody of the firm.")
class GiveKeyOut(KeyAct):
    """Out to them already: nothing more happens."""

    serializer_class = KeyGivenOut

    def do(self, thing: SiteKey, given: dict[str, Any]) -> SiteKey:
        given["to"] = colleague(given["to"], "to")
        return keys.give_key_out(thing, **given, **self.doing)


class KeyMoved(serializers.Serializer):
    """A note where one is needed, such as who signed for it. `id` is made by the sender."""

    id = Key()
    note = Text(required=False)

    example = {"id": key("new"), "note": "Left with the caretaker"}


@verb(KeyShown, summary="Note that a key hangs in its place again.")
class BringKeyIn(KeyAct):
    """The office, or whoever has it. In already: nothing more happens."""

    right = Right.SEE_WORK  # the office, or who has it: the operation decides
    serializer_class = KeyMoved

    def do(self, thing: SiteKey, given: dict[str, Any]) -> SiteKey:
        return keys.bring_key_in(thing, **given, **self.doing)


@verb(KeyShown, summary="Note that a key went back to its owner for good.")
class GiveKeyBack(KeyAct):
    """Given back already: nothing more happens."""

    serializer_class = KeyMoved

    def do(self, thing: SiteKey, given: dict[str, Any]) -> SiteKey:
        return keys.give_key_back(thing, **given, **self.doing)


@verb(CodeShown, summary="Erase a code that no longer holds.")
class RetireCode(Act):
    """What was sealed is gone for good. Erased already: nothing more happens."""

    model = AlarmCode
    right = Right.BOOK
    serializer_class = Nothing

    def do(self, thing: AlarmCode, given: dict[str, Any]) -> AlarmCode:
        return codes.retire_code(thing, **self.doing)
