"""What may be done with prices: rates and terms set, the price book kept, remedials priced."""

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.parsers import MultiPartParser

from inspections.intake.archive import MOST_BYTES
from inspections.intake.reading import read_workbook
from jobsite.api.examples import key
from jobsite.downloads import XLSX
from jobsite.ledger.files import store_file
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.desk.api.fields import Nothing
from remedials.desk.api.ground import Act, Day, Key, Text, Whole, one, some, verb
from remedials.desk.api.quotes.money import NET, Kept, Sum, several
from remedials.desk.api.quotes.prices import CostingShown, JobShown, TermsShown
from remedials.quotes import policy
from remedials.quotes.book.read import Read, read_book
from remedials.quotes.choices import Treatment
from remedials.quotes.models import Costing, StandardJob, Terms
from remedials.quotes.operations import book, filling, pricing, taking_in, terms
from remedials.quotes.queries.costings import costing_of
from remedials.works.choices import ItemKind
from remedials.works.models import Remedial
from remedials.works.operations.taking import MOST_ITEMS, Take

MOST_FILLED = 200


@contextmanager
def seen_before() -> Iterator[None]:
    """What somebody saw is in the body here, not in If-Match: where it changed meanwhile, that is a refusal like others."""
    try:
        yield
    except ChangedMeanwhile as changed:
        raise Refused(changed.sentence, field="seen") from changed


# --- rates and terms --------------------------------------------------------------------------------------------------


class RateAsked(serializers.Serializer):
    """What an hour of a skill costs the firm and is charged at; the empty skill is any other."""

    skill = Text(required=False)
    cost_hour, price_hour = Sum(max_digits=8), Sum(max_digits=8)


class TermsAsked(serializers.Serializer):
    """Rates and terms from a day on; what is left out stays as in the terms before, but for the rates: these are all of them.

    `seen`: the version of the terms from this very day as you saw them, 0 where there were none.
    """

    holds_from = Day()
    rates = several(RateAsked, terms.MOST_RATES, allow_empty=False)
    seen = Whole(min_value=0)
    call_out = Sum(required=False, max_digits=8, help_text=f"Once a visit. {NET}")
    call_out_cost = Sum(required=False, max_digits=8, help_text=f"What it costs the firm. {NET}")
    markup_percent = serializers.DecimalField(max_digits=6, decimal_places=2, min_value=0, required=False)
    vat_registered = serializers.BooleanField(required=False)
    vat_number = Kept()
    valid_days = Whole(required=False, min_value=1)
    lapse_notice_days = Whole(required=False, min_value=0)
    answer_days = Whole(required=False, min_value=0)
    again_c1_days = Whole(required=False, min_value=1)
    again_c2_days = Whole(required=False, min_value=1)
    again_fi_days = Whole(required=False, min_value=1)
    again_other_days = Whole(required=False, min_value=1)
    text_before = Kept()
    text_after = Kept()
    cancellation_text = Kept()
    begin_text = Kept()
    reverse_charge_text = Kept()
    reason = Text(required=False, help_text="Why they change.")

    example = {
        "holds_from": "2026-03-01",
        "rates": [{"skill": "", "cost_hour": "32.00", "price_hour": "64.00"}],
        "seen": 0,
        "reason": "Wages went up",
    }


@verb(TermsShown, status=201, summary="Set rates and terms from a day on.")
class SetTerms(Act):
    model = Terms
    right = Right.KEEP_FIRM
    serializer_class = TermsAsked

    def thing(self) -> None:
        """A day, no row."""

    def do(self, thing: None, given: dict[str, Any]) -> Terms:
        given["rates"] = [terms.Charge(**rate) for rate in given["rates"]]
        with seen_before():
            return terms.set_terms(version=given.pop("seen"), **given, **self.doing)


# --- the price book ---------------------------------------------------------------------------------------------------


class ItemAsked(serializers.Serializer):
    """What work takes besides time. `markup_percent` null: the firm's own; none on a fixed item."""

    what = Text()
    kind = serializers.ChoiceField(ItemKind.choices, required=False, default=ItemKind.MATERIAL.value)
    quantity = serializers.DecimalField(max_digits=9, decimal_places=3, required=False, default=Decimal(1))
    unit = Text(required=False, help_text='Such as "m"; empty for pieces.')
    cost_each = Sum()
    markup_percent = serializers.DecimalField(
        max_digits=6, decimal_places=2, min_value=0, required=False, allow_null=True, default=None
    )
    supplier = Text(required=False)
    reference = Text(required=False)


def takes(asked: list[dict[str, Any]]) -> tuple[Take, ...]:
    """Items as the operations take them."""
    return tuple(Take(**one_of) for one_of in asked)


class JobAsked(serializers.Serializer):
    """All that the price book says of a standard job. `minutes` a person is there, `crew` people at once."""

    name = Text(help_text="For the office. No two jobs have the same.")
    plain = Text(help_text="What is done, in words that a customer understands.")
    minutes = Whole(required=False, allow_null=True, default=None, min_value=1)
    crew = Whole(required=False, default=1, min_value=1)
    skill = Text(required=False)
    retests: Any = serializers.ListField(child=Text(), required=False, default=list, max_length=50)
    certificate_kind = Text(required=False)
    treatment = serializers.ChoiceField(Treatment.choices, required=False, default=Treatment.STANDARD.value)
    items = several(ItemAsked, MOST_ITEMS, required=False)

    example = {
        "name": "Replace a damaged socket",
        "plain": "The damaged socket is taken out and a new one fitted and tested.",
        "minutes": 30,
        "items": [{"what": "Twin socket outlet", "cost_each": "6.40"}],
    }

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """The body with its `job` as the operations take it."""
        own = {name: attrs.pop(name) for name in book.COLUMNS}
        own |= {"retests": tuple(own["retests"]), "items": takes(attrs.pop("items", []))}
        return attrs | {"job": book.Job(**own)}


class NewJobAsked(JobAsked):
    """A new standard job. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {"id": key("new")} | JobAsked.example


class JobAct(Act):
    """A verb on one standard job."""

    model = StandardJob
    right = Right.PRICE
    serializer_class: Any = Nothing


@verb(JobShown, status=201, summary="Add a standard job to the price book.")
class AddJob(JobAct):
    serializer_class = NewJobAsked

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> StandardJob:
        return book.add_job(**given, **self.doing)


@verb(JobShown, summary="Change a standard job; what was priced by it stays.")
class EditJob(JobAct):
    versioned = True
    serializer_class = JobAsked

    def do(self, thing: StandardJob, given: dict[str, Any]) -> StandardJob:
        return book.edit_job(thing, **given, **self.doing)


@verb(JobShown, summary="Take a standard job out of the price book.")
class RetireJob(JobAct):
    def do(self, thing: StandardJob, given: dict[str, Any]) -> StandardJob:
        return book.retire_job(thing, **self.doing)


@verb(JobShown, summary="Put a retired job back into the price book.")
class BringBackJob(JobAct):
    def do(self, thing: StandardJob, given: dict[str, Any]) -> StandardJob:
        return book.bring_back_job(thing, **self.doing)


# --- the price book as a spreadsheet ----------------------------------------------------------------------------------


class BookSent(serializers.Serializer):
    """A price book as a spreadsheet (XLSX with the sheets Jobs and Items), at most 10 MB."""

    file = serializers.FileField()


class StepShown(serializers.Serializer):
    """What taking in does with one job of the file: `what` names what differs."""

    row = serializers.IntegerField(help_text="Of the sheet Jobs.")
    name = serializers.CharField(source="job.name")
    change = serializers.ChoiceField([(one.value, one.value) for one in taking_in.Change])
    what = serializers.CharField()


class BookLookedAt(serializers.Serializer):
    """What a file would change, or changed. `seen`: send it back to take in just this. `faults`: what must be put right first."""

    seen = serializers.CharField()
    steps = StepShown(many=True)
    faults: Any = serializers.ListField(child=serializers.CharField())


class BookAct(JobAct):
    """A verb on the whole price book, by a file."""

    parser_classes = [MultiPartParser]
    serializer_class: Any = BookSent
    data: bytes

    def thing(self) -> None:
        """The whole book: for the office."""
        if not policy.may_price(self.request.user):  # type: ignore[arg-type]
            raise NotAllowed(policy.NOT_YOURS)

    def found(self, given: dict[str, Any]) -> Read:
        """The jobs of the file. Raises Refused for one that cannot be read."""
        file = given.pop("file")
        if file.size > MOST_BYTES:
            raise Refused("This file is larger than 10 MB.", field="file")
        self.data = file.read()
        return read_book(read_workbook(self.data, file.name))


def _words(read: Read) -> list[str]:
    """What must be put right in the file, a sentence each."""
    return [f"{one.sheet}, row {one.row}, {one.name}: {one.sentence}" for one in read.faults]


@verb(BookLookedAt, summary="Look at what a price book as a spreadsheet would change. Nothing is changed.")
class LookAtBook(BookAct):
    def do(self, thing: None, given: dict[str, Any]) -> Any:
        read = self.found(given)
        steps = taking_in.plan(read.jobs)
        return {"seen": taking_in.digest(steps), "steps": steps, "faults": _words(read)}


class BookTaken(BookSent):
    """The spreadsheet, and the `seen` of what it would change as somebody looked at it."""

    seen = Text()


@verb(BookLookedAt, summary="Take in a price book from a spreadsheet, all of it or nothing.")
class TakeInBook(BookAct):
    serializer_class = BookTaken

    def do(self, thing: None, given: dict[str, Any]) -> Any:
        read = self.found(given)
        if read.faults:
            raise Refused(" ".join(_words(read)), field="file")
        file = store_file(self.data, media_type=XLSX, now=self.doing["now"])
        with seen_before():
            steps = taking_in.take_in_book(read.jobs, file_hash=file.hash, seen=given["seen"], **self.doing)
        return {"seen": given["seen"], "steps": steps, "faults": []}


# --- remedials --------------------------------------------------------------------------------------------------------


class PriceAsked(serializers.Serializer):
    """What a remedial takes and is asked for: worked out, or `set_price` with a reason. `items` takes the place of all before."""

    minutes = Whole(required=False, allow_null=True, default=None, min_value=1)
    crew = Whole(required=False, default=1, min_value=1)
    skill = Text(required=False)
    items = several(ItemAsked, MOST_ITEMS, required=False)
    treatment = serializers.ChoiceField(Treatment.choices, required=False, default=Treatment.STANDARD.value)
    plain = Text(required=False, help_text="For the customer; empty: the remedial's own words.")
    call_out = serializers.BooleanField(required=False, default=True, help_text="Whether a visit is charged for it.")
    set_price = Sum(required=False, allow_null=True, default=None)
    set_why = Text(required=False)

    example = {"minutes": 45, "items": [{"what": "Twin socket outlet", "cost_each": "6.40", "quantity": "2"}]}


class PriceAct(Act):
    """A verb on the price of one remedial: for whoever sees it and sees prices."""

    model = Remedial
    right = Right.PRICE
    versioned = True

    def thing(self) -> Any:
        """The remedial. 404 for whoever does not see it, 403 for whoever sees it without its price."""
        found = super().thing()
        if not policy.may_price(self.request.user):  # type: ignore[arg-type]
            raise NotAllowed(policy.NOT_YOURS)
        return found


@verb(CostingShown, summary="Price a remedial.")
class Price(PriceAct):
    serializer_class = PriceAsked

    def do(self, thing: Remedial, given: dict[str, Any]) -> Costing:
        before = costing_of(thing)
        given["items"] = takes(given.pop("items", []))
        return pricing.price_remedial(thing, job=before.job if before else None, **given, **self.doing)


class FillAsked(serializers.Serializer):
    """By which standard job, and how many of it. `call_out` left out: as it was."""

    job = Key()
    times = Whole(required=False, default=1, min_value=1)
    call_out = serializers.BooleanField(required=False, allow_null=True, default=None)

    example = {"job": key("standardjob"), "times": 2}


@verb(CostingShown, summary="Price a remedial as a standard job of the price book.")
class Fill(PriceAct):
    serializer_class = FillAsked

    def do(self, thing: Remedial, given: dict[str, Any]) -> Costing:
        job = one(self, StandardJob, given.pop("job"), "job")
        return filling.fill_from_job(thing, job=job, **given, **self.doing)


class TimesAsked(serializers.Serializer):
    """A remedial of the site, and how many of the job it takes."""

    remedial = Key()
    times = Whole(required=False, default=1, min_value=1)


class PileAsked(serializers.Serializer):
    """Several remedials of one site, each priced as the same standard job; all or none."""

    job = Key()
    remedials = several(TimesAsked, MOST_FILLED, allow_empty=False)

    example = {"job": key("standardjob"), "remedials": [{"remedial": key("remedial"), "times": 1}]}


class PileShown(serializers.Serializer):
    """What they are priced at now."""

    costings = CostingShown(many=True)


@verb(PileShown, summary="Price several remedials of a site as one standard job.")
class FillSeveral(Act):
    model = Site
    right = Right.PRICE
    serializer_class = PileAsked

    def do(self, thing: Site, given: dict[str, Any]) -> Any:
        job = one(self, StandardJob, given["job"], "job")
        times = {asked["remedial"]: asked["times"] for asked in given["remedials"]}
        found = some(self, Remedial, list(times), "remedials")
        if any(remedial.site_id != thing.pk for remedial in found):
            raise Refused("Not all of these stand at this site.", field="remedials")
        return {"costings": filling.fill_several(found, job=job, times=times, **self.doing)}
