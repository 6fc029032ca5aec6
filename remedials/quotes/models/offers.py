"""Quotes, their versions, and the lines of a version."""

from datetime import date
from decimal import Decimal
from typing import Any, Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, Subquery, Sum, Value, When
from django.db.models.functions import Coalesce
from django.db.models.lookups import IsNull

from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site
from remedials.quotes.choices import Certainty, LineKind, SentHow, Treatment
from remedials.quotes.states import WORDS, Standing, State
from remedials.works.models import Remedial

POUNDS: "models.DecimalField[Any, Any]" = models.DecimalField(max_digits=14, decimal_places=2)


class QuoteQuerySet(QuerySet["Quote"]):
    def visible_to(self, user: Any) -> Self:
        """Prices are the office's: engineers see none."""
        known = isinstance(user, User) and user.may(Right.PRICE) and not user.subcontractor
        return self if known else self.none()


class Quote(models.Model):
    """What is offered to one party, in one or several versions (`Offer`), under one number that is never used again."""

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="quotes")
    sites = models.ManyToManyField(Site, through="QuoteSite", related_name="quotes")
    name = models.TextField(help_text="What it is about, for the list and the customer.")
    owner = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", help_text="Who follows it up.")
    chase_on = models.DateField(null=True, help_text="When its answer is chased next; null where none is awaited.")
    variation_of = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="variations")
    variation_why = models.TextField(default="", blank=True, help_text="What was found on site, and by whom.")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    objects = QuoteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="quote_has_a_name"),
            models.CheckConstraint(
                condition=Q(variation_of__isnull=True) | ~Q(variation_why=""), name="quote_variation_says_why"
            ),
        ]

    def __str__(self) -> str:
        return f"Quote {self.number}"


class QuoteSite(models.Model):
    """That a quote offers work at a site."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="at_sites")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["quote", "site"], name="quote_site_once")]
        indexes = [models.Index(fields=["site"], name="quote_of_site")]


class OfferQuerySet(QuerySet["Offer"]):
    def visible_to(self, user: Any) -> Self:
        """Those of the quotes that `user` may see."""
        return self.filter(quote__in=Quote.objects.visible_to(user))

    def current(self) -> Self:
        """One a quote: the version that the customer has; where they have none, the latest."""
        others = Offer.objects.filter(quote=OuterRef("quote"))
        better = others.filter(Q(state=State.SENT.value) | Q(number__gt=OuterRef("number")))
        return self.filter(Q(state=State.SENT.value) | ~Exists(better))

    def with_standing(self, today: date) -> Self:
        """With `standing`, one of `Standing`: what has lapsed and what is answered in part besides the states."""
        sent = Q(state=State.SENT.value)
        answered = Line.objects.filter(offer=OuterRef("pk"), kind=LineKind.WORK, answers__stands=True).values("pk")[:1]
        # Not `Exists`: for the rows of one page the database would gather the answers of all quotes first.
        partly = IsNull(Subquery(answered), False)
        return self.annotate(
            standing=Case(
                When(sent & Q(valid_until__lt=today), then=Value(Standing.LAPSED.value)),
                When(sent & Q(partly), then=Value(Standing.PARTLY.value)),
                default=F("state"),
                output_field=models.TextField(),
            )
        )

    def with_sums(self) -> Self:
        """With `net` and `to_pay` of the whole, of lines that exclude each other the dearest counted."""
        lines = Line.objects.filter(offer=OuterRef("pk")).counted().order_by().values("offer")
        zero = Value(Decimal(0), output_field=POUNDS)
        return self.annotate(
            net=Coalesce(Subquery(lines.annotate(n=Sum("price")).values("n")), zero),
            to_pay=Coalesce(Subquery(lines.annotate(n=Sum("pays")).values("n")), zero),
        )


class Offer(models.Model):
    """One version of a quote. Once sent it never changes (the database refuses it); a change is the next version.

    `said` is all that the customer was offered, as the PDF and the answering page show it; `fingerprint` is the
    document's.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="offers")
    number = models.IntegerField(default=1, help_text="Of the version: 1, 2, 3 …")
    state = models.TextField(choices=[(s.value, WORDS[s]) for s in State], default=State.DRAFT.value)
    consumer = models.BooleanField(
        help_text="Somebody acting outside trade: totals with VAT first, the right to cancel."
    )
    vat_registered = models.BooleanField(default=True)
    reverse_charge = models.BooleanField(default=False)
    customer_vat_number = models.TextField(default="", blank=True)
    cis_reportable = models.BooleanField(null=True, help_text="Whether the payment is reportable under the CIS.")
    end_user = models.BooleanField(null=True, help_text="Whether the customer said in writing to be an end user.")
    text_before = models.TextField(default="", blank=True)
    text_after = models.TextField(default="", blank=True)
    valid_until = models.DateField(null=True, blank=True, help_text="The last day, included.")
    work_until = models.DateField(null=True, blank=True, help_text="By when the work is expected to be done.")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    sent_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    sent_at = models.DateTimeField(null=True)
    sent_how = models.TextField(choices=SentHow, default="", blank=True)
    sent_to = models.TextField(default="", blank=True, help_text="The e-mail address, or to whom it was handed.")
    said = models.JSONField(default=dict)
    fingerprint = models.TextField(default="", blank=True)
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    end_reason = models.TextField(default="", blank=True, help_text="Why it was withdrawn.")
    version = models.IntegerField(default=1)

    objects = OfferQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["quote", "number"], name="offer_number_once"),
            models.UniqueConstraint(fields=["quote"], condition=Q(state="draft"), name="offer_one_draft"),
            models.UniqueConstraint(fields=["quote"], condition=Q(state="sent"), name="offer_one_stands"),
            models.CheckConstraint(condition=Q(state__in=[s.value for s in State]), name="offer_state"),
            models.CheckConstraint(
                condition=Q(state="draft")
                | (
                    Q(valid_until__isnull=False, sent_at__isnull=False, sent_by__isnull=False, file__isnull=False)
                    & ~Q(fingerprint="")
                    & ~Q(sent_how="")
                ),
                name="offer_sent_is_complete",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "sent", "answered"]) | Q(ended_at__isnull=False), name="offer_ended"
            ),
            models.CheckConstraint(condition=~Q(state="withdrawn") | ~Q(end_reason=""), name="offer_withdrawn_why"),
            models.CheckConstraint(
                condition=Q(reverse_charge=False)
                | (
                    Q(consumer=False, vat_registered=True, cis_reportable=True, end_user=False)
                    & ~Q(customer_vat_number="")
                ),
                name="offer_reverse_charge_conditions",
            ),
        ]

    def __str__(self) -> str:
        return f"Quote {self.quote.number}, version {self.number}"


class LineQuerySet(QuerySet["Line"]):
    def visible_to(self, user: Any) -> Self:
        """Those of the quotes that `user` may see."""
        return self.filter(offer__quote__in=Quote.objects.visible_to(user))

    def with_pays(self) -> Self:
        """With `pays`: what is paid for it, with VAT, without under the reverse charge."""
        return self.annotate(
            pays=Case(
                When(offer__reverse_charge=True, then=F("price")), default=F("price") + F("vat"), output_field=POUNDS
            )
        )

    def counted(self) -> Self:
        """Those that make up the sum of the whole, with `pays`: of lines that exclude each other the dearest."""
        others = Line.objects.filter(offer=OuterRef("offer"), either=OuterRef("either")).with_pays()
        same = Q(pays=OuterRef("pays"), position__lt=OuterRef("position"))
        dearer = others.filter(Q(pays__gt=OuterRef("pays")) | same)
        return self.with_pays().filter(Q(either="") | ~Exists(dearer))


class Line(models.Model):
    """One line that the customer says yes or no to. Sums are pounds; `price` and `cost` without VAT.

    `key` is the same line's in every version. Lines with the same `either` exclude each other; `needs` are the keys of
    lines that must be accepted with it.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    offer = models.ForeignKey(Offer, on_delete=models.CASCADE, related_name="lines")
    key = models.UUIDField(default=new_id)
    position = models.IntegerField()
    kind = models.TextField(choices=LineKind, default=LineKind.WORK)
    site = models.ForeignKey(
        Site, on_delete=models.PROTECT, null=True, related_name="+", help_text="Where; null: of the whole quote."
    )
    remedials = models.ManyToManyField(Remedial, through="LineRemedial", related_name="quote_lines")
    visits = models.IntegerField(null=True, help_text="How many visits a call-out counts; null for work.")
    words = models.TextField(help_text="What is done, in plain words.")
    danger = models.TextField(default="", blank=True, help_text="The danger it removes, in plain words.")
    code = models.TextField(default="", blank=True, help_text="The worst code it puts right, when it was written.")
    cost = models.DecimalField(max_digits=12, decimal_places=2)
    price = models.DecimalField(max_digits=12, decimal_places=2)
    treatment = models.TextField(choices=Treatment, default=Treatment.STANDARD)
    rate = models.DecimalField(max_digits=5, decimal_places=2, help_text="Percent, as reckoned when it was written.")
    vat = models.DecimalField(max_digits=12, decimal_places=2)
    certainty = models.TextField(choices=Certainty, default=Certainty.FIXED)
    optional = models.BooleanField(default=False, help_text="Offered besides: a no needs no reason.")
    either = models.TextField(default="", blank=True)
    needs = ArrayField(models.UUIDField(), default=list, blank=True)
    made_at = models.DateTimeField()
    written_in = models.IntegerField(default=1, help_text="The offer's `version` when this line was last written.")

    objects = LineQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["offer", "key"], name="line_once_an_offer"),
            models.UniqueConstraint(
                fields=["offer", "position"], name="line_position", deferrable=models.Deferrable.DEFERRED
            ),
            models.CheckConstraint(condition=~Q(words=""), name="line_says_what"),
            models.CheckConstraint(condition=Q(price__gte=0, cost__gte=0, vat__gte=0), name="line_not_negative"),
            models.CheckConstraint(condition=Q(kind__in=LineKind.values), name="line_kind"),
            models.CheckConstraint(condition=Q(treatment__in=Treatment.values), name="line_treatment"),
            models.CheckConstraint(condition=Q(certainty__in=Certainty.values), name="line_certainty"),
            models.CheckConstraint(condition=Q(code__in=["", "C1", "C2", "C3", "FI"]), name="line_code"),
            models.UniqueConstraint(
                fields=["offer", "site"], condition=Q(kind="call-out"), nulls_distinct=False, name="line_one_call_out"
            ),
            models.CheckConstraint(
                condition=Q(kind="work", visits__isnull=True) | Q(kind="call-out", visits__gte=1, visits__lte=100),
                name="line_call_out_counts_visits",
            ),
        ]
        ordering = ["position"]

    @property
    def version(self) -> int:
        """The version of its offer: by it somebody says which state of the draft they saw."""
        return self.offer.version


class LineRemedial(models.Model):
    """That a line offers a remedial: one line may offer several, and a remedial stand in lines that exclude each other."""

    line = models.ForeignKey(Line, on_delete=models.CASCADE, related_name="offers_remedials")
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="offered_in")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["line", "remedial"], name="line_remedial_once")]
        indexes = [models.Index(fields=["remedial"], name="line_of_remedial")]
