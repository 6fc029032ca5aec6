"""What may be done with a quote before it goes out: begun, described, its lines written, put in order, thrown away."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, Whole, colleague, one, rows, some, verb
from remedials.desk.api.quotes.money import NET, Kept, Sum
from remedials.desk.api.quotes.quotes import WHOLE_OFFERS, OneLineShown, WholeOfferShown
from remedials.quotes.choices import Certainty, Treatment
from remedials.quotes.models import Line, Offer, Quote
from remedials.quotes.operations import drafting
from remedials.quotes.operations.lines import MOST_LINES, MOST_VISITS
from remedials.works.models import Remedial

EACH, LIKE, TOGETHER = "each", "like", "together"
HOW = [(EACH, "one line for each"), (LIKE, "one line for those that are alike"), (TOGETHER, "one line for all")]


def whole(offer: Offer) -> Offer:
    """A version with its sums and lines, as it is shown."""
    found: Offer = WHOLE_OFFERS.get(pk=offer.pk)
    return found


def keys_of(most: int = MOST_LINES, **more: Any) -> Any:
    """A list of keys."""
    return serializers.ListField(child=Key(), max_length=most, **more)


class RemedialsTicked(serializers.Serializer):
    """Remedials and how they become lines. `id` is made by the sender: the same again makes no second."""

    id = Key()
    remedials = keys_of(required=False, default=list)
    how = serializers.ChoiceField(HOW, required=False, default=EACH)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """What the operations are to know of the lines."""
        how = attrs.pop("how")
        return attrs | {"like": how == LIKE, "together": how == TOGETHER}


class QuoteBegun(RemedialsTicked):
    """A new quote: to whom, what about, and the remedials in it. `consumer` left out: by what the party is.

    `sites`: besides those of the remedials.
    """

    party = Key()
    name = Text(help_text="What it is about, for the customer and the list.")
    sites = keys_of(50, required=False, default=list)
    owner = Key(required=False, allow_null=True, help_text="Who follows it up; left out: you.")
    consumer = serializers.BooleanField(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"),
        "party": key("party"),
        "name": "Works after the inspection",
        "remedials": [key("remedial")],
    }


@verb(WholeOfferShown, status=201, summary="Begin a quote.")
class Begin(Act):
    model = Quote
    right = Right.PRICE
    serializer_class: Any = QuoteBegun

    def thing(self) -> Any:
        """It is not there yet."""

    def do(self, thing: Any, given: dict[str, Any]) -> Offer:
        given["party"] = one(self, Party, given["party"], "party")
        given["sites"] = some(self, Site, given["sites"], "sites")
        return self.begin(given)

    def begin(self, given: dict[str, Any]) -> Offer:
        """Call the operation, once whom and where is known."""
        given["remedials"] = some(self, Remedial, given["remedials"], "remedials")
        given["owner"] = colleague(given.pop("owner", None), "owner")
        return whole(drafting.begin_quote(**given, **self.doing))


class QuoteVaried(RemedialsTicked):
    """What was found on site while the work of a quote was done: a quote of its own, to the same party."""

    name = Text()
    variation_why = Text(help_text="What was found, and by whom.")
    owner = Key(required=False, allow_null=True, help_text="Who follows it up; left out: you.")

    example = {
        "id": key("new"),
        "name": "Found on site",
        "variation_why": "Edwin found the neutral burnt behind the board",
        "remedials": [key("remedial")],
    }


@verb(WholeOfferShown, status=201, summary="Begin a variation: what was found on site while a quote's work was done.")
class Vary(Begin):
    serializer_class = QuoteVaried

    def thing(self) -> Quote:
        """The quote on whose job it was found."""
        return get_object_or_404(rows(self, Quote).select_related("party"), pk=self.kwargs["pk"])

    def do(self, thing: Quote, given: dict[str, Any]) -> Offer:
        sites = list(Site.objects.current().filter(quotes=thing).order_by("sort", "pk"))
        return self.begin(given | {"party": thing.party, "sites": sites, "variation_of": thing})


class NextVersion(serializers.Serializer):
    """`id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {"id": key("new")}


@verb(
    WholeOfferShown,
    status=201,
    summary="Begin the next version; the one that was sent stays in force until it is sent.",
)
class Revise(Act):
    model = Quote
    right = Right.PRICE
    serializer_class = NextVersion

    def do(self, thing: Quote, given: dict[str, Any]) -> Offer:
        return whole(drafting.revise_quote(thing, **given, **self.doing))


# --- a draft ----------------------------------------------------------------------------------------------------------


class OfferAct(Act):
    """A verb on one version of a quote."""

    model = Offer
    right = Right.PRICE
    serializer_class: Any = Nothing

    def thing(self) -> Offer:
        """The version, if this person may see its quote."""
        found: QuerySet[Any] = rows(self, Offer).select_related("quote__party", "quote__owner")
        return get_object_or_404(found, pk=self.kwargs["pk"])


class OfferDescribed(serializers.Serializer):
    """Particulars of a draft; what is left out stays. The reverse charge needs the four below it."""

    name = Kept(help_text="What the quote is about.")
    owner = Key(required=False, help_text="Who follows it up.")
    consumer = serializers.BooleanField(
        required=False, help_text="Acts outside trade: sums with VAT, a right to cancel."
    )
    valid_until = Day(required=False, help_text="The last day, included.")
    work_until = Day(required=False, allow_null=True, help_text="By when the work is expected to be done.")
    text_before = Kept()
    text_after = Kept()
    reverse_charge = serializers.BooleanField(required=False, help_text="The customer accounts for the VAT.")
    customer_vat_number = Kept()
    cis_reportable = serializers.BooleanField(
        required=False, allow_null=True, help_text="Under the CIS; null: not said."
    )
    end_user = serializers.BooleanField(required=False, allow_null=True, help_text="As they said in writing.")

    example = {"name": "Works after the inspection", "text_before": "Thank you for asking us."}


@verb(WholeOfferShown, summary="Change the particulars of a draft.")
class Describe(OfferAct):
    versioned = True
    serializer_class = OfferDescribed

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        if "owner" in given:
            given["owner"] = colleague(given["owner"], "owner")
        return whole(drafting.describe_offer(thing, **given, **self.doing))


class LinesAsked(RemedialsTicked):
    """Lines for `remedials`; or, without any, one line that says `words`, at `site` or nowhere.

    `alternative`: what stands in this version already gets a second line, and the two exclude each other.
    """

    alternative = serializers.BooleanField(required=False, default=False)
    words = Text(required=False)
    price = Sum(required=False, default=0)
    cost = Sum(required=False, default=0, help_text=f"What it costs the firm. {NET}")
    treatment = serializers.ChoiceField(Treatment.choices, required=False, default=Treatment.STANDARD.value)
    site = Key(required=False, allow_null=True, default=None)

    example = {"id": key("new"), "words": "Label every board", "price": "85.00", "cost": "30.00"}


@verb(WholeOfferShown, summary="Add lines to a draft.")
class AddLines(OfferAct):
    serializer_class = LinesAsked

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        given["remedials"] = some(self, Remedial, given["remedials"], "remedials")
        given["site"] = one(self, Site, given["site"], "site") if given["site"] else None
        drafting.add_lines(thing, **given, **self.doing)
        return whole(thing)


class LineKeys(serializers.Serializer):
    """The lines, by their keys (`key`, not `id`)."""

    keys = keys_of(allow_empty=False)

    example = {"keys": [key("line")]}


@verb(WholeOfferShown, summary="Take lines out of a draft.")
class RemoveLines(OfferAct):
    serializer_class = LineKeys

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        return whole(drafting.remove_lines(thing, **given, **self.doing))


@verb(WholeOfferShown, summary="Put the lines of a draft in this order; those not named follow in the order they have.")
class OrderLines(OfferAct):
    serializer_class = LineKeys

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        return whole(drafting.order_lines(thing, given["keys"], **self.doing))


@verb(WholeOfferShown, summary="Put the most dangerous first, call-outs last.")
class GroupByDanger(OfferAct):
    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        return whole(drafting.group_by_danger(thing, **self.doing))


class WhichPrices(serializers.Serializer):
    """Of which lines, by their keys; left out: of all."""

    keys = keys_of(required=False, allow_null=True, default=None)

    example: dict[str, Any] = {}


@verb(WholeOfferShown, summary="Take over what the remedials of a draft are priced at now.")
class TakePrices(OfferAct):
    serializer_class = WhichPrices

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        drafting.take_prices(thing, **given, **self.doing)
        return whole(thing)


class OfferDropped(serializers.Serializer):
    """`quote`: the quote as it was before; null where all of it is gone with its first version."""

    quote = serializers.UUIDField(allow_null=True)


@verb(OfferDropped, summary="Throw a draft away; with its first version the quote is gone.")
class Drop(OfferAct):
    def do(self, thing: Offer, given: dict[str, Any]) -> Any:
        left = drafting.drop_draft(thing, **self.doing)
        return {"quote": left.pk if left else None}


# --- one line of it ---------------------------------------------------------------------------------------------------


class LineAct(Act):
    """A verb on one line of a draft; If-Match names the version of its offer."""

    model = Line
    right = Right.PRICE

    def thing(self) -> Line:
        """The line, if this person may see its quote."""
        found: QuerySet[Any] = rows(self, Line).select_related("offer__quote__party", "site")
        return get_object_or_404(found, pk=self.kwargs["pk"])


class LineEdited(serializers.Serializer):
    """What a line says; what is left out stays. `visits` is of call-outs alone, which have no danger, either or needs."""

    words = Kept()
    danger = Kept()
    price = Sum(required=False)
    cost = Sum(required=False, help_text=f"What it costs the firm. {NET}")
    treatment = serializers.ChoiceField(Treatment.choices, required=False)
    certainty = serializers.ChoiceField(Certainty.choices, required=False)
    optional = serializers.BooleanField(required=False, help_text="Offered besides: a no needs no reason.")
    either = Kept(max_length=1, help_text="A letter: lines with the same letter exclude each other.")
    needs = keys_of(required=False, help_text="Keys of lines that must be accepted with it.")
    visits = Whole(required=False, min_value=1, max_value=MOST_VISITS)

    example = {"words": "Fit a new socket and test it", "price": "120.00"}


@verb(OneLineShown, summary="Change a line of a draft; its VAT is reckoned anew.")
class EditLine(LineAct):
    versioned = True
    serializer_class = LineEdited

    def do(self, thing: Line, given: dict[str, Any]) -> Line:
        return drafting.edit_line(thing, **given, **self.doing)


class LineMoved(serializers.Serializer):
    """The key of the line that it is put before; null: at the end."""

    before = Key(allow_null=True)

    example = {"before": None}


@verb(WholeOfferShown, summary="Put a line before another.")
class MoveLine(LineAct):
    serializer_class = LineMoved

    def do(self, thing: Line, given: dict[str, Any]) -> Offer:
        return whole(drafting.move_line(thing, **given, **self.doing))
