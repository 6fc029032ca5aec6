"""Observations: what somebody saw, the code in force, and whether it is still open."""

from typing import Self

from django.db import models
from django.db.models import Q

from inspections.choices import DANGEROUS, Code, Ended
from inspections.models.inspections import Inspection
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, OfSite, Site, Unit


class ObservationQuerySet(OfSite):
    def open(self) -> Self:
        """Those that nothing has ended. Drafts of a report do not count before it is issued."""
        return self.filter(ended="", draft=False)

    def dangerous(self) -> Self:
        """Those whose code in force is C1, C2 or FI."""
        return self.filter(code__in=DANGEROUS)

    def bare(self) -> Self:
        """Those that are dangerous now: C1 in force, open, and nobody made it safe."""
        return self.open().filter(code="C1", made_safe=False)

    def uncoded(self) -> Self:
        """Those that no competent person has coded yet."""
        return self.filter(code="", draft=False, ended="")


class Observation(models.Model):
    """A defect or an improvement, on a board, a circuit or a place.

    `code_written` is what the report says, kept as written; `code` is the code in force: the last decision.
    The age runs from `first_recorded_on`, the date of the earliest observation that this one continues.
    `owner` and `step_by` say who decides by when what it needs, until a remedial carries the next step.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="observations")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="observations")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="observations")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, null=True, blank=True, related_name="observations")
    place = models.TextField(default="", blank=True)
    inspection = models.ForeignKey(
        Inspection, on_delete=models.PROTECT, null=True, blank=True, related_name="observations"
    )
    item = models.TextField(default="", blank=True, help_text="Its number in the report.")
    text = models.TextField()
    telling = models.GeneratedField(
        expression=models.Func("text", function="telling_words"),
        output_field=models.TextField(),
        db_persist=True,
        help_text="The words of `text` that tell one defect from another, folded; likeness is measured by them.",
    )
    code_written = models.TextField(default="", blank=True)
    code = models.TextField(choices=Code, default="", blank=True)
    draft = models.BooleanField(default=False)
    reviewed = models.BooleanField(default=False, help_text="A qualified person of ours has decided on its code.")
    recorded_on = models.DateField()
    first_recorded_on = models.DateField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    reported_by = models.TextField(default="", blank=True, help_text="Who rang, where no inspection found it.")
    may_be_dangerous = models.BooleanField(
        default=False, help_text="Whoever took in the report thought that it may be dangerous now; it is no code."
    )
    missed_in = models.ForeignKey(
        Inspection,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="missed",
        help_text="Another firm's report that should have had it: we added it on the review.",
    )
    continues = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="continued_by")
    make_safe_by = models.DateField(null=True)
    remedy_by = models.DateField(null=True)
    remedy_basis = models.TextField(default="", blank=True)
    remedy_by_law = models.BooleanField(default=False)
    made_safe = models.BooleanField(default=False, help_text="A made-safe stands now; the defect is still open.")
    owner = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    step_by = models.DateField(null=True, blank=True)
    ended = models.TextField(choices=Ended, default="", blank=True)
    ended_on = models.DateField(null=True)
    ended_reason = models.TextField(default="", blank=True)
    done_on = models.DateField(null=True, help_text="The day of the work that ended it, where that was not `ended_on`.")
    version = models.IntegerField(default=1)

    objects = ObservationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(code__in=["", *Code.values]), name="observation_code"),
            models.CheckConstraint(condition=Q(ended__in=Ended.values), name="observation_ended"),
            models.CheckConstraint(
                condition=Q(ended="", ended_on__isnull=True) | (~Q(ended="") & Q(ended_on__isnull=False)),
                name="observation_ended_has_date",
            ),
            models.CheckConstraint(condition=~Q(text=""), name="observation_says_something"),
            models.CheckConstraint(
                condition=Q(first_recorded_on__lte=models.F("recorded_on")), name="observation_age_runs_from_first"
            ),
        ]
        indexes = [
            models.Index(fields=["site"], condition=Q(ended=""), name="observation_open_at_site"),
            models.Index(fields=["inspection"], name="observation_of_inspection"),
            models.Index(
                fields=["step_by"], condition=Q(ended="", code="", draft=False), name="observation_uncoded_due"
            ),
            models.Index(fields=["step_by"], condition=Q(ended="", draft=False), name="observation_open_by_step"),
            models.Index(
                fields=["step_by"],
                condition=Q(ended="", draft=False, code="C1", made_safe=False),
                name="observation_danger_by_step",
            ),
            models.Index(
                fields=["step_by"], condition=Q(ended="", draft=False) & ~Q(code="C3"), name="observation_grave_by_step"
            ),
            models.Index(
                fields=["owner"], condition=Q(ended="", draft=False) & ~Q(code="C3"), name="observation_grave_of_owner"
            ),
            models.Index(fields=["board"], condition=Q(ended=""), name="observation_open_at_board"),
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def dangerous(self) -> bool:
        """Whether its code in force is C1, C2 or FI."""
        return self.code in DANGEROUS

    @property
    def alarming(self) -> bool:
        """Whether it is open, may be dangerous now by what was reported, and nobody competent has coded it yet."""
        return self.may_be_dangerous and not self.code and not self.ended

    @property
    def corrects(self) -> bool:
        """Whether it is the copy, in a reissue, of the observation that it continues: one record, not seen again."""
        former = self.continues
        report = self.inspection if former else None
        return bool(report and report.replaces_id and former and former.inspection_id == report.replaces_id)

    @property
    def needs_code(self) -> bool:
        """Whether it has a code or is still to be given one; False where a qualified person found that it needs none."""
        return self.ended != Ended.NO_CODE


class ObservationPhoto(models.Model):
    """A photograph of the defect as it was found."""

    id = models.UUIDField(primary_key=True, default=new_id)
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="photos")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    width = models.IntegerField()
    height = models.IntegerField()
    taken = models.TextField(default="", blank=True)
    caption = models.TextField(default="", blank=True)
    added_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["observation", "file"], name="observation_photo_once")]
