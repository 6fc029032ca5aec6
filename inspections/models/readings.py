"""Readings of every quantity, at a circuit, a board or a supply, with the limit each was judged by."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from inspections.choices import MULTIPLES, QUANTITIES, Quantity, Verdict
from inspections.models.inspections import Inspection
from inspections.standards.situation import Multiple
from inspections.standards.typed import Value
from jobsite.ids import new_id
from jobsite.people.models import Instrument, User
from jobsite.premises.models import Board, Circuit, OfSite, Site, Supply

YES_NO = [quantity.value for quantity in Quantity if quantity.yes_no]


class Reading(models.Model):
    """One value read at a circuit, a board or a supply. Never changed: a wrong one is answered by another.

    At a circuit `board` is that circuit's, so that all of a board are found together.
    `value` is in `unit`, with the `places` that were typed (None: before those were kept). `limit_least` and
    `limit_most` are what it was judged by, empty where nothing is known that it could be judged by.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="readings")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, null=True, related_name="readings")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, related_name="readings")
    supply = models.ForeignKey(Supply, on_delete=models.PROTECT, null=True, related_name="readings")
    inspection = models.ForeignKey(
        Inspection, on_delete=models.PROTECT, null=True, related_name="readings", help_text="Whose edition judges it."
    )
    quantity = models.TextField(choices=QUANTITIES)
    value = models.DecimalField(max_digits=16, decimal_places=6, null=True, help_text="in `unit`")
    places = models.SmallIntegerField(null=True, help_text="Digits after the point, as typed.")
    above_range = models.BooleanField(default=False, help_text='The instrument showed ">" this value.')
    no_trip = models.BooleanField(default=False, help_text="The RCD did not operate.")
    ok = models.BooleanField(null=True, help_text="The answer to a check without a number.")
    unit = models.TextField(default="Ω", blank=True)
    multiple = models.TextField(choices=MULTIPLES, default="", blank=True, help_text="Of IΔn, of an RCD's test.")
    test_volts = models.IntegerField(null=True, help_text="Of an insulation test, where it was said.")
    equipment_connected = models.BooleanField(default=False)
    limit_least = models.DecimalField(max_digits=16, decimal_places=6, null=True, help_text="exact, in `unit`")
    limit_most = models.DecimalField(max_digits=16, decimal_places=6, null=True, help_text="exact, in `unit`")
    basis = models.TextField(help_text="The rule, factor, table and edition, in words.", blank=True)
    limit_entered = models.BooleanField(
        default=False, help_text="Entered from the standard or the maker, not computed."
    )
    edition = models.TextField(default="", blank=True, help_text="A value of standards.editions.Edition.")
    verdict = models.TextField(choices=Verdict)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, related_name="readings")
    instrument_in_check = models.BooleanField()
    taken_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(supply__isnull=True, board__isnull=False)
                | Q(supply__isnull=False, board__isnull=True, circuit__isnull=True),
                name="reading_at_one_place",
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=False, no_trip=False, ok__isnull=True)
                | Q(value__isnull=True, above_range=False, no_trip=True, ok__isnull=True, quantity="rcd-time")
                | Q(value__isnull=True, above_range=False, no_trip=False, ok__isnull=False, quantity__in=YES_NO),
                name="reading_says_one_thing",
            ),
            models.CheckConstraint(
                condition=(Q(value__isnull=True) | Q(value__gte=0))
                & (Q(limit_least__isnull=True) | Q(limit_least__gte=0))
                & (Q(limit_most__isnull=True) | Q(limit_most__gt=0)),
                name="reading_positive",
            ),
            models.CheckConstraint(
                condition=Q(quantity__in=[quantity.value for quantity in Quantity]), name="reading_quantity"
            ),
            models.CheckConstraint(
                condition=Q(multiple="") | Q(multiple__in=[m.value for m in Multiple], quantity="rcd-time"),
                name="reading_multiple",
            ),
            models.CheckConstraint(
                condition=Q(instrument__isnull=False) | Q(ok__isnull=False), name="reading_by_an_instrument"
            ),
            models.CheckConstraint(condition=Q(verdict__in=Verdict.values), name="reading_verdict"),
        ]
        indexes = [
            models.Index(fields=["circuit", "-taken_at"], name="reading_of_circuit"),
            models.Index(fields=["board", "-taken_at"], name="reading_of_board"),
            models.Index(fields=["instrument", "-taken_at"], name="reading_of_instrument"),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def read(self) -> Value:
        """What the instrument showed, with its places."""
        number = self.value
        if number is not None:
            number = number.quantize(Decimal(1).scaleb(-self.places)) if self.places is not None else _short(number)
        return Value(number, above=self.above_range, no_trip=self.no_trip, ok=self.ok)

    @property
    def words(self) -> str:
        """The value as it was typed, with its unit: "2.60 MΩ", ">200 MΩ", "no trip", "OK"."""
        return self.read.words(self.unit)

    @property
    def what(self) -> str:
        """Its quantity in words, an RCD's with the test current: "RCD operating time, 1 × IΔn"."""
        quantity = Quantity(self.quantity).label
        return f"{quantity}, {Multiple(self.multiple).words}" if self.multiple else quantity

    @property
    def passed(self) -> bool:
        """Whether nothing speaks against it."""
        return self.verdict != Verdict.FAIL


def _short(number: Decimal) -> Decimal:
    return Decimal(f"{number.normalize():f}")
