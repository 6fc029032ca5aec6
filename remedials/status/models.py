"""How long what is kept, what was erased, and the bundles that were drawn out of the record."""

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.ledger.models import Document
from jobsite.people.models import User
from jobsite.premises.models import Party, Site


class Retention(models.Model):
    """How long one kind of personal data is kept, as the firm set it; without a row the default of `rules` holds."""

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.TextField(unique=True)
    months = models.IntegerField(null=True, help_text="None: kept until somebody asks.")
    why = models.TextField(default="", blank=True)
    version = models.IntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(months__isnull=True) | Q(months__range=(1, 1200)), name="retention_months"
            )
        ]


class Erasure(models.Model):
    """That a customer's personal data were erased: who asked, when, what went and what stays, and by which reason.

    It holds no personal data itself.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="erasures")
    asked_on = models.DateField()
    erased = models.JSONField(help_text="Kinds of data and how many rows of each.")
    kept = models.JSONField(help_text="Kinds of data that stay, how many, and the reason of each.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["party"], name="erasure_of_party")]


class Bundle(models.Model):
    """What was known, said, delivered and refused as of an instant, asked for and drawn out as one archive."""

    class Kind(models.TextChoices):
        AS_OF = "as-of", "as of a date"
        ASSESSOR = "assessor", "for the firm's assessor"
        CUSTOMER = "customer", "a customer's own data"

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.TextField(choices=Kind)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, null=True, related_name="bundles")
    party = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, related_name="bundles")
    as_of = models.DateTimeField(help_text="What was recorded later is left out.")
    jobs = ArrayField(models.BigIntegerField(), default=list, help_text="The numbers of the remedials picked.")
    reason = models.TextField(help_text="Whom it is for, and why.")
    progress = models.ForeignKey(Progress, on_delete=models.PROTECT, related_name="+")
    document = models.ForeignKey(Document, on_delete=models.PROTECT, null=True, related_name="+")
    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="as-of", site__isnull=False, party__isnull=True)
                | Q(kind="assessor", party__isnull=True) & ~Q(jobs=[])
                | Q(kind="customer", party__isnull=False, site__isnull=True),
                name="bundle_of_something",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="bundle_says_why"),
        ]
        indexes = [models.Index(fields=["site", "-asked_at"], name="bundle_of_site")]


class ReportCopy(models.Model):
    """A copy of a report with personal data left out, as somebody of the office looked it over; its file is the document."""

    document = models.OneToOneField(Document, on_delete=models.PROTECT, primary_key=True, related_name="report_copy")
    facts = models.JSONField(help_text="What it says, as it was looked over: the page behind its link shows this.")
    changed = models.IntegerField(help_text="In how many places somebody changed or left out words.")

    def __str__(self) -> str:
        return self.document.title
