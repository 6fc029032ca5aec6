"""What may be done with sites: open, change, take off the lists, put back, merge with another, hand over."""

from typing import Any
from uuid import UUID

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Party, Site
from jobsite.refused import Refused
from remedials.desk.api.fields import Changes, Line, Nothing, Number, Phases, Words
from remedials.desk.api.ground import Act, Day, Key, Whole, one, verb
from remedials.desk.api.premises.nouns import SiteShown
from remedials.desk.api.premises.parties import OfParty

OF_UNIT = ("kind", "tenure", "tenancy_granted_on")
OF_SUPPLY = ("phases", "earthing", "main_fuse_a")
BOTH = "A place on the map is both: latitude and longitude."
ONE_CUSTOMER = "Name the customer who is entered already, or a new one: one of the two."
NO_KEYS = "Name the rows by their keys."
NOT_PLAIN = "This site is not plain: change its units and its supplies one by one."
PARTS = [(role.value, role.label) for role in choices.RoleAtUnit if role != choices.RoleAtUnit.OCCUPIER]


class SiteAct(Act):
    """A verb on one site."""

    model = Site
    right = Right.KEEP_CUSTOMERS


class OfSite(serializers.Serializer):
    """What a site says of itself. `access_notes` are never shown to customers."""

    name = Line(help_text="As the firm speaks of it.")
    address = Words()
    postcode = Line(required=False)
    nation = serializers.ChoiceField(choices.Nation.choices, help_text="The law on inspections differs.")
    access_notes = Words(required=False, help_text="Keys, parking, dogs, who opens. Never shown to customers.")
    latitude = Number(max_digits=8, decimal_places=5, min_value=-90, max_value=90, help_text="Degrees.")
    longitude = Number(
        max_digits=8, decimal_places=5, min_value=-180, max_value=180, help_text="Degrees; minus is west."
    )


def whole_place(given: dict[str, Any], site: Site | None = None) -> dict[str, Any]:
    """What was given. Raises Refused where the site would have half a place on the map."""
    place = {name: given.get(name, getattr(site, name, None)) for name in ("latitude", "longitude")}
    missing = [name for name, value in place.items() if value is None]
    if len(missing) == 1:
        raise Refused(BOTH, field=missing[0])
    return given


class OfPlainSite(serializers.Serializer):
    """What a plain site has as its own: it stands for its one unit and its one supply."""

    kind = serializers.ChoiceField(choices.PremisesKind.choices)
    tenure = serializers.ChoiceField(choices.Tenure.choices)
    tenancy_granted_on = Day(required=False, allow_null=True, default=None, help_text="Of the present tenancy.")
    phases = Phases()
    earthing = serializers.ChoiceField(choices.Earthing.choices)
    main_fuse_a = Whole(
        required=False, allow_null=True, default=None, min_value=1, max_value=5000, help_text="Amperes."
    )


class NewCustomer(OfParty):
    """A customer who is not entered yet. `id` is made by the sender."""

    id = Key()


class SiteOpened(OfPlainSite, OfSite):
    """A site with its one unit and its one supply. `id` is made by the sender: the same again makes no second.

    Either `customer`, who is entered already, or `new_customer`.
    """

    id = Key()
    customer = Key(required=False, allow_null=True, default=None)
    new_customer = NewCustomer(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"),
        "name": "Harbour Row 7",
        "address": "7 Harbour Row, Ebbsford",
        "postcode": "QX4 9ZA",
        "nation": "england",
        "customer": key("party"),
        "kind": "house",
        "tenure": "private-rented",
        "phases": ["L1"],
        "earthing": "TN-C-S",
        "main_fuse_a": 100,
    }


@verb(SiteShown, status=201, summary="Open a site.")
class OpenSite(SiteAct):
    serializer_class = SiteOpened

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> Site:
        customer, new = whole_place(given).pop("customer"), given.pop("new_customer")
        if (customer is None) == (new is None):
            raise Refused(ONE_CUSTOMER, field="customer")
        if new is None:
            return operations.open_site(customer=one(self, Party, customer, "customer"), **given, **self.doing)
        pk = new.pop("id")
        return operations.open_site_for_new_customer(customer_id=pk, customer=new, **given, **self.doing)


class SiteEdited(Changes, OfSite):
    """What is to be changed of a site; what is left out stays."""

    customer = Key()

    example = {"name": "Harbour Row 7 and 8", "postcode": "QX4 9ZA"}


def with_customer(view: Act, given: dict[str, Any]) -> dict[str, Any]:
    """What was given, the customer as a row where one is named."""
    return given | {"customer": one(view, Party, given["customer"], "customer")} if "customer" in given else given


@verb(SiteShown, summary="Change a site.")
class EditSite(SiteAct):
    versioned = True
    serializer_class = SiteEdited

    def do(self, thing: Site, given: dict[str, Any]) -> Site:
        return operations.edit_site(thing, **with_customer(self, whole_place(given, thing)), **self.doing)


class PlainSiteEdited(Changes, OfPlainSite, OfSite):
    """What is to be changed of a plain site with its one unit and its one supply, all or nothing.

    `unit_version` and `supply_version`: the versions of the two that were seen. What else is left out stays.
    """

    still_needed = ("unit_version", "supply_version")
    customer = Key()
    unit_version = Whole()
    supply_version = Whole()

    example = {"tenure": "private-rented", "main_fuse_a": 80, "unit_version": 1, "supply_version": 1}


@verb(SiteShown, summary="Change a plain site with its one unit and its one supply.")
class EditPlainSite(SiteAct):
    versioned = True
    serializer_class = PlainSiteEdited

    def do(self, thing: Site, given: dict[str, Any]) -> Site:
        of_unit = {name: given.pop(name) for name in OF_UNIT if name in given}
        of_supply = {name: given.pop(name) for name in OF_SUPPLY if name in given}
        if not thing.units.filter(whole_site=True).exists() or thing.supplies.current().count() != 1:
            raise Refused(NOT_PLAIN)
        parts: dict[str, Any] = {"of_unit": of_unit, "of_supply": of_supply}
        return operations.edit_plain_site(
            thing, **parts, **with_customer(self, whole_place(given, thing)), **self.doing
        )


@verb(SiteShown, summary="Take a site off the lists.")
class ArchiveSite(SiteAct):
    """Nothing of it is lost. Private links to how it stands open nothing until it is brought back."""

    serializer_class = Nothing

    def do(self, thing: Site, given: dict[str, Any]) -> Site:
        return operations.archive_site(thing, **self.doing)


@verb(SiteShown, summary="Put a site on the lists again.")
class BringBackSite(SiteAct):
    serializer_class = Nothing

    def do(self, thing: Site, given: dict[str, Any]) -> Site:
        return operations.bring_back_site(thing, **self.doing)


class Merged(serializers.Serializer):
    """Which site stays, how it is known that the two are one, and new names where they clash (by key; see goes-over)."""

    into = Key()
    names = serializers.DictField(child=Line(), required=False, default=dict)
    reason = Words()

    example = {"into": key("site"), "reason": "The same address, entered by two people"}


@verb(SiteShown, summary="Let a site that was recorded twice go over to the other one. This cannot be undone.")
class MergeSites(SiteAct):
    """Everything of the one is the other's from then on. Answers with the site that stays."""

    serializer_class = Merged

    def do(self, thing: Site, given: dict[str, Any]) -> Site:
        into = one(self, Site, given.pop("into"), "into")
        try:
            given["names"] = {UUID(row): name for row, name in given["names"].items()}
        except ValueError:
            raise Refused(NO_KEYS, field="names") from None
        return operations.merge_sites(thing, into=into, **given, **self.doing)


class HandedOver(serializers.Serializer):
    """To whom a site goes, from which day, why, and as what they take over from the former customer at its units."""

    to = Key()
    on = Day()
    reason = Line()
    roles: Any = serializers.ListField(
        child=serializers.ChoiceField(PARTS), required=False, default=list, max_length=len(PARTS)
    )

    example = {"to": key("party"), "on": "2026-02-03", "reason": "Sold", "roles": ["owner"]}


@verb(SiteShown, summary="Hand a site over to another customer.")
class HandOverSite(SiteAct):
    """Private links of the former customer are withdrawn, messages to them that wait are dropped, quotes not answered end."""

    versioned = True
    serializer_class = HandedOver

    def do(self, thing: Site, given: dict[str, Any]) -> Site:
        to = one(self, Party, given.pop("to"), "to")
        return operations.hand_over_site(thing, to=to, **given, **self.doing)
