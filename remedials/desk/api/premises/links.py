"""A private link that goes to a customer by e-mail: its address stands in the mail only, and is given out nowhere else."""

from datetime import datetime
from typing import Any

from rest_framework import serializers

from jobsite import clock
from jobsite.api.examples import key
from jobsite.people.models import PrivateLink
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.operations.sharing import WHY, Opens, letter, opens_portfolio, opens_site, send_link
from jobsite.premises.queries.sharing import may_be_given, more_than_theirs, parts_at
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Key, Moment, Text, one, verb
from remedials.desk.api.premises.parties import LONGEST_EMAIL

LONGEST_NOTE = 2000


class LinkSentShown(serializers.ModelSerializer):
    """A private link: what it opens, for whom, where it was sent, until when. Never its address."""

    class Meta:
        model = PrivateLink
        fields = ["id", "purpose", "site", "unit", "party", "sent_to", "made_by", "made_at", "expires_at"]


class Sent(serializers.Serializer):
    """`email` empty: the address that is recorded. `note`: a word of your own in the e-mail. `id` is made by the sender."""

    id = Key()
    email = serializers.EmailField(required=False, allow_blank=True, default="", max_length=LONGEST_EMAIL)
    note = Text(required=False, max_length=LONGEST_NOTE)
    expires_at = Moment(help_text="From tomorrow on at the earliest; with its offset.")

    example = {"id": key("new"), "expires_at": "2027-02-03T12:00:00Z", "note": "As we said on the telephone."}


class SentOfSite(Sent):
    """To whom, and what it opens: a unit, or the whole site, which shows every unit of it (`all_units`: also to who only lives in one).

    `email` empty: the address that is recorded. `note`: a word of your own in the e-mail. `id` is made by the sender.
    """

    party = Key()
    unit = Key(required=False, allow_null=True, default=None)
    all_units = serializers.BooleanField(required=False, default=False)

    example = Sent.example | {"party": key("party")}


class Sends(Act):
    """Sends it."""

    right = Right.SHARE_STATUS
    why = WHY

    def send(self, party: Party, opened: Opens, given: dict[str, Any], **opens: Any) -> PrivateLink:
        """Make the link and the message that brings it."""
        address = given["email"] or party.email
        if not address:
            raise Refused(f"No address of {party.name} is recorded: write one.", field="email")
        ends: datetime = given["expires_at"]
        body = letter(party, about=opened.about, note=given["note"], expires_at=ends)
        return send_link(
            id=given["id"], party=party, address=address, subject=opened.subject, body=body, why=self.why, expires_at=ends,
            **opens, **self.doing,
        )  # fmt: skip


@verb(LinkSentShown, status=201, summary="Send a private link to how a site, or a unit of it, stands.")
class SendSiteLink(Sends):
    model = Site
    serializer_class = SentOfSite

    def do(self, thing: Site, given: dict[str, Any]) -> PrivateLink:
        party, unit = one(self, Party, given["party"], "party"), self._unit(thing, given["unit"])
        parts = parts_at(thing, clock.local_day(self.doing["now"]))
        if not may_be_given(thing, parts).filter(pk=party.pk).exists():
            raise Refused(f"{party.name} is neither the customer nor entered at a unit of this site.", field="party")
        plain = thing.units.filter(whole_site=True).exists()
        lives_in = "" if plain or unit or given["all_units"] else more_than_theirs(party, thing.customer_id, parts)
        if lives_in:
            raise Refused(
                f"{party.name} is on record only as living in {lives_in}; this link shows every unit. Name that one, or "
                "say all_units.",
                field="all_units",
            )
        opened = opens_site(thing, unit)
        key = unit.pk if unit else None
        return self.send(party, opened, given, purpose=PrivateLink.Purpose.STATUS, site=thing.pk, unit=key)

    def _unit(self, site: Site, wanted: Any) -> Unit | None:
        """The unit that is named, None for the whole site; the one unit of a plain site is the site."""
        unit: Unit | None = one(self, Unit, wanted, "unit") if wanted else None
        if unit is not None and (unit.site_id != site.pk or unit.retired_at):
            raise Refused("Name a unit of this site that was not taken off its list.", field="unit")
        return None if unit is None or unit.whole_site else unit


@verb(LinkSentShown, status=201, summary="Send a private link to how all sites of a customer stand.")
class SendPortfolioLink(Sends):
    """Also those that come to them later."""

    model = Party
    serializer_class = Sent

    def do(self, thing: Party, given: dict[str, Any]) -> PrivateLink:
        return self.send(thing, opens_portfolio(), given, purpose=PrivateLink.Purpose.PORTFOLIO, site=None)
