"""What work costs: the firm's rates and terms by date, its price book, and the costing of one remedial."""

import unicodedata
from decimal import Decimal
from typing import Any, Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q, QuerySet

from jobsite.ids import new_id
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.sorting import sort_key
from remedials.quotes.choices import Treatment
from remedials.works.choices import ItemKind
from remedials.works.models import Remedial


class OfPrices(QuerySet[Any]):
    """Rows that say what something costs."""

    def visible_to(self, user: Any) -> Self:
        """Prices are the office's: engineers and subcontractors see none."""
        known = isinstance(user, User) and user.is_active and user.may(Right.PRICE) and not user.subcontractor
        return self if known else self.none()


class Terms(models.Model):
    """What the firm charges and on what terms it offers, from a day on. All sums are pounds without VAT."""

    id = models.UUIDField(primary_key=True, default=new_id)
    holds_from = models.DateField(unique=True)
    call_out = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0), help_text="Once a visit.")
    call_out_cost = models.DecimalField(max_digits=8, decimal_places=2, default=Decimal(0))
    markup_percent = models.DecimalField(max_digits=6, decimal_places=2, default=Decimal(20), help_text="On materials.")
    vat_registered = models.BooleanField(default=True)
    vat_number = models.TextField(default="", blank=True)
    valid_days = models.IntegerField(default=30, help_text="How long a quote stands. Common practice.")
    lapse_notice_days = models.IntegerField(default=7, help_text="How long before it lapses the answer is chased.")
    answer_days = models.IntegerField(default=2, help_text="Days to answer a customer's question.")
    again_c1_days = models.IntegerField(default=7, help_text="Refused work is offered again after so many days.")
    again_c2_days = models.IntegerField(default=28)
    again_fi_days = models.IntegerField(default=28)
    again_other_days = models.IntegerField(default=365)
    text_before = models.TextField(default="", blank=True)
    text_after = models.TextField(default="", blank=True)
    cancellation_text = models.TextField(default="", blank=True, help_text="Empty: the default, marked as such.")
    begin_text = models.TextField(default="", blank=True, help_text="The express request. Empty: the default.")
    reverse_charge_text = models.TextField(default="", blank=True, help_text="Empty: the default.")
    reason = models.TextField(default="", blank=True)
    set_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    version = models.IntegerField(default=1, help_text="Counts on where they are set anew for the same day.")

    objects = OfPrices.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(call_out__gte=0, call_out_cost__gte=0, markup_percent__gte=0, markup_percent__lte=1000),
                name="terms_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(
                    valid_days__gte=1,
                    lapse_notice_days__gte=0,
                    answer_days__gte=0,
                    again_c1_days__gte=1,
                    again_c2_days__gte=1,
                    again_fi_days__gte=1,
                    again_other_days__gte=1,
                ),
                name="terms_days",
            ),
        ]


class Rate(models.Model):
    """What an hour of a skill costs the firm and what it is charged at. The empty skill: any other."""

    terms = models.ForeignKey(Terms, on_delete=models.CASCADE, related_name="rates")
    skill = models.TextField(default="", blank=True)
    cost_hour = models.DecimalField(max_digits=8, decimal_places=2)
    price_hour = models.DecimalField(max_digits=8, decimal_places=2)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["terms", "skill"], name="rate_once_a_skill"),
            models.CheckConstraint(condition=Q(cost_hour__gte=0, price_hour__gte=0), name="rate_not_negative"),
        ]


def fold(name: str) -> str:
    """A name as it is compared with others: without case, blanks made one."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


class StandardJob(models.Model):
    """A job of the firm's price book: it fills the costing of a remedial, and is changed without changing any."""

    id = models.UUIDField(primary_key=True, default=new_id)
    name = models.TextField()
    folded = models.TextField(unique=True, editable=False, help_text="The name without case: by it no two are alike.")
    sort = models.TextField(editable=False, default="")
    plain = models.TextField(help_text="What is done, in words that a customer understands.")
    minutes = models.IntegerField(null=True, blank=True)
    crew = models.IntegerField(default=1)
    skill = models.TextField(default="", blank=True)
    retests = ArrayField(models.TextField(), default=list, help_text="Keys of the usual retests.")
    certificate_kind = models.TextField(default="", blank=True)
    treatment = models.TextField(choices=Treatment, default=Treatment.STANDARD)
    retired_at = models.DateTimeField(null=True)
    version = models.IntegerField(default=1)

    objects = OfPrices.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name="") & ~Q(plain=""), name="standard_job_says_what"),
            models.CheckConstraint(condition=Q(minutes__isnull=True) | Q(minutes__gt=0), name="standard_job_minutes"),
            models.CheckConstraint(condition=Q(crew__gte=1, crew__lte=20), name="standard_job_crew"),
            models.CheckConstraint(condition=Q(treatment__in=Treatment.values), name="standard_job_treatment"),
        ]
        indexes = [models.Index(fields=["sort", "id"], name="standard_job_by_name")]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save it with the keys by which its name is compared and sorted."""
        self.folded, self.sort = fold(self.name), sort_key(self.name)
        if kwargs.get("update_fields") is not None:
            kwargs["update_fields"] = {*kwargs["update_fields"], "folded", "sort"}
        super().save(*args, **kwargs)


class StandardItem(models.Model):
    """What a standard job takes besides time, for one of it."""

    job = models.ForeignKey(StandardJob, on_delete=models.CASCADE, related_name="items")
    position = models.IntegerField()
    kind = models.TextField(choices=ItemKind, default=ItemKind.MATERIAL)
    what = models.TextField()
    quantity = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(1))
    unit = models.TextField(default="", blank=True)
    cost_each = models.DecimalField(max_digits=10, decimal_places=2)
    markup_percent = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    supplier = models.TextField(default="", blank=True)
    reference = models.TextField(default="", blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "position"], name="standard_item_position"),
            models.CheckConstraint(condition=Q(kind__in=ItemKind.values), name="standard_item_kind"),
            models.CheckConstraint(
                condition=~Q(what="") & Q(quantity__gt=0, cost_each__gte=0), name="standard_item_sums"
            ),
            models.CheckConstraint(
                condition=Q(markup_percent__isnull=True) | Q(markup_percent__gte=0, markup_percent__lte=1000),
                name="standard_item_markup",
            ),
        ]
        ordering = ["position"]


class Costing(models.Model):
    """How a remedial is priced. Time, skill and crew stand on the remedial, what it takes besides in its items.

    `price` is what is asked for it, net: worked out (`set_price` null) or set by a person, who says why.
    """

    remedial = models.OneToOneField(Remedial, on_delete=models.PROTECT, primary_key=True, related_name="costing")
    job = models.ForeignKey(StandardJob, on_delete=models.PROTECT, null=True, related_name="+")
    plain = models.TextField(default="", blank=True, help_text="For the customer; empty: the remedial's own words.")
    treatment = models.TextField(choices=Treatment, default=Treatment.STANDARD)
    call_out = models.BooleanField(default=True, help_text="Whether a visit must be paid for it.")
    cost = models.DecimalField(max_digits=12, decimal_places=2)
    worked_out = models.DecimalField(max_digits=12, decimal_places=2)
    set_price = models.DecimalField(max_digits=12, decimal_places=2, null=True, blank=True)
    set_why = models.TextField(default="", blank=True)
    terms = models.ForeignKey(Terms, on_delete=models.PROTECT, null=True, related_name="+")
    priced_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    priced_at = models.DateTimeField()
    version = models.IntegerField(default=1)

    objects = OfPrices.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(cost__gte=0, worked_out__gte=0), name="costing_not_negative"),
            models.CheckConstraint(
                condition=Q(set_price__isnull=True) | (Q(set_price__gte=0) & ~Q(set_why="")), name="costing_set_why"
            ),
        ]

    @property
    def price(self) -> Decimal:
        """What is asked for it, in pounds without VAT."""
        return self.worked_out if self.set_price is None else self.set_price
