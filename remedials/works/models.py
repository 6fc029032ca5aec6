"""Remedials: what is to be done, who said yes, what proves it, who looked at the proof."""

from datetime import date
from decimal import Decimal
from typing import Self

from django.db import models
from django.db.models import Exists, OuterRef, Q, Value
from django.db.models.functions import Coalesce

from inspections.choices import DANGEROUS, QUANTITIES, Quantity
from inspections.models import Observation, Reading
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import InstrumentFault, User
from jobsite.premises.models import Circuit, OfSite, Party, Site, Unit
from remedials.works.choices import ItemKind, Network
from remedials.works.states import CARRYING, WORDS, Stage

NO_DATE = date(9999, 12, 31)  # in the place of a day that is not set, so that it comes last


class RemedialQuerySet(OfSite):
    def carrying(self) -> Self:
        """Those that carry the next step of their observations: done ones only while they await their review."""
        return self.filter(stage__in=list(CARRYING)).exclude(stage=Stage.DONE, step_by=None)

    def awaiting_review(self) -> Self:
        """Those done whose proof a qualified person must look at: C1, C2, FI, uncoded, or with an exception."""
        items = Remedies.objects.filter(remedial=OuterRef("pk"))
        coded = Q(observation__code__in=DANGEROUS) | Q(observation__code="", observation__ended="")
        exception = Proof.objects.filter(remedial=OuterRef("pk"), state="stands").exclude(exception_reason="")
        return self.filter(Exists(items.filter(coded)) | Exists(exception), stage=Stage.DONE)

    def unfinished(self) -> Self:
        """Those that keep their observations open: the work is still to come, was declined, or awaits review."""
        to_come = [Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED, Stage.DECLINED]
        return self.filter(Q(stage__in=to_come) | Q(pk__in=Remedial.objects.awaiting_review().values("pk")))


class Remedial(models.Model):
    """Work that puts one or several observations right.

    `owner` and `step_by` say who must take its next step by when; the step follows from the stage.
    """

    STAGES = [(stage.value, WORDS[stage]) for stage in Stage]

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="remedials")
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="remedials")
    observations = models.ManyToManyField(Observation, through="Remedies", related_name="remedials")
    work = models.TextField()
    stage = models.TextField(choices=STAGES, default=Stage.TO_PRICE.value)
    skill = models.TextField(default="", blank=True)
    minutes = models.IntegerField(null=True, blank=True, help_text="Of the whole crew together on site.")
    crew = models.IntegerField(default=1, help_text="How many people it takes at once.")
    power_off = models.BooleanField(null=True, help_text="Whether power must go off; empty: not known yet.")
    see_to_first = models.TextField(default="", blank=True, help_text="Asbestos register, height, permit, plan.")
    parts_ready_on = models.DateField(
        null=True, blank=True, help_text="The first day on which all its parts are there; empty: none is waited for."
    )
    photo_required = models.BooleanField(default=True)
    certificate_kind = models.TextField(default="", blank=True, help_text="Which certificate it needs, or none.")
    notifiable = models.BooleanField(default=False)
    network = models.TextField(
        choices=Network, default="", blank=True, help_text="What the network operator is told of; empty: nothing."
    )
    owner = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    step_by = models.DateField(null=True, blank=True)
    call_back_of = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="call_backs")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    version = models.IntegerField(default=1)

    objects = RemedialQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(stage__in=[s.value for s in Stage]), name="remedial_stage"),
            models.CheckConstraint(condition=~Q(work=""), name="remedial_says_what"),
            models.CheckConstraint(condition=Q(minutes__isnull=True) | Q(minutes__gt=0), name="remedial_minutes"),
            models.CheckConstraint(condition=Q(crew__gte=1, crew__lte=20), name="remedial_crew"),
            models.CheckConstraint(condition=Q(network__in=Network.values), name="remedial_network"),
        ]
        indexes = [
            models.Index(fields=["stage", "step_by"], name="remedial_by_stage"),
            models.Index(
                fields=["step_by"],
                condition=Q(stage__in=["to-price", "quoted", "approved", "booked", "done"]),
                name="remedial_open_by_step",
            ),
            models.Index(fields=["site"], name="remedial_of_site"),
            models.Index(Coalesce("step_by", Value(NO_DATE)), "number", name="remedial_by_step_to_come"),
        ]

    def __str__(self) -> str:
        return self.work

    @property
    def step_to_come(self) -> bool:
        """Whether a step of it is to come: the same as `carrying` says of many, and as the due list sees it."""
        return self.stage in CARRYING and (self.stage != Stage.DONE or self.step_by is not None)


class Remedies(models.Model):
    """That a remedial remedies an observation (several may share one, one may have several)."""

    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="remedies")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="remedies")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["remedial", "observation"], name="remedies_once")]


class Item(models.Model):
    """What a remedial takes besides time: materials, access equipment, fixed items. Costs are pounds without VAT.

    Engineers see what, how much and from where; what it costs is the office's.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="items")
    position = models.IntegerField()
    kind = models.TextField(choices=ItemKind, default=ItemKind.MATERIAL)
    what = models.TextField()
    quantity = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(1))
    unit = models.TextField(default="", blank=True)
    cost_each = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    markup_percent = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        help_text="Empty: the firm's own mark-up; none on a fixed item.",
    )
    supplier = models.TextField(default="", blank=True)
    reference = models.TextField(default="", blank=True, help_text="The supplier's.")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=ItemKind.values), name="item_kind"),
            models.CheckConstraint(condition=~Q(what="") & Q(quantity__gt=0, cost_each__gte=0), name="item_sums"),
            models.CheckConstraint(
                condition=Q(markup_percent__isnull=True) | Q(markup_percent__gte=0, markup_percent__lte=1000),
                name="item_markup",
            ),
        ]
        indexes = [models.Index(fields=["remedial"], name="item_of_remedial")]
        ordering = ["position", "id"]


class RequiredReading(models.Model):
    """A reading that a remedial must pass. The limit is computed, or entered with its source where it can't be."""

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="required_readings")
    circuit = models.ForeignKey(Circuit, on_delete=models.PROTECT, related_name="+")
    quantity = models.TextField(choices=QUANTITIES, default=Quantity.LOOP.value)
    limit_entered = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    limit_source = models.TextField(default="", blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["remedial", "circuit", "quantity"], name="required_reading_once"),
            models.CheckConstraint(
                condition=Q(limit_entered__isnull=True) | (Q(limit_entered__gt=0) & ~Q(limit_source="")),
                name="required_reading_limit_has_source",
            ),
        ]


class Approval(models.Model):
    """Who said yes to a remedial, how and when: as the office recorded it, or by answering a quote themselves."""

    class How(models.TextChoices):
        PHONE = "phone", "by telephone"
        EMAIL = "email", "by e-mail"
        LETTER = "letter", "in writing"
        SPOKEN = "spoken", "spoken on site"
        STANDING = "standing", "standing limit for urgent work"
        QUOTE = "quote", "by answering its quote"

        @classmethod
        def recorded(cls) -> list[tuple[str, str]]:
            """Those that the office records by itself, for a form."""
            return [(value, label) for value, label in cls.choices if value != cls.QUOTE]

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="approvals")
    given_by = models.TextField()
    party = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    how = models.TextField(choices=How)
    given_on = models.DateField()
    pounds = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    reference = models.TextField(default="", blank=True, help_text="The customer's order number.")
    recorded_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="+", help_text="Empty: they answered on their link."
    )
    recorded_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, help_text="The answer to the quote was recorded by mistake.")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(given_by=""), name="approval_given_by"),
            models.CheckConstraint(condition=Q(how="quote") | Q(recorded_by__isnull=False), name="approval_recorded"),
            models.CheckConstraint(condition=Q(pounds__isnull=True) | Q(pounds__gte=0), name="approval_pounds"),
        ]


class Proof(models.Model):
    """One closing of a remedial: who did it, what shows it. The first that stands counts; later ones stand beside it."""

    class State(models.TextChoices):
        STANDS = "stands", "stands"
        BESIDE = "beside", "filed beside the first"
        SENT_BACK = "sent-back", "sent back"
        REOPENED = "reopened", "reopened"

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="proofs")
    state = models.TextField(choices=State, default=State.STANDS)
    done_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    supervisor_name = models.TextField(default="", blank=True)
    done_at = models.DateTimeField()
    note = models.TextField(default="", blank=True)
    no_photo_reason = models.TextField(default="", blank=True)
    certificate_number = models.TextField(default="", blank=True)
    certificate_file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    exception_reason = models.TextField(
        default="", blank=True, help_text="Why a failing or doubtful reading is put up."
    )
    readings = models.ManyToManyField(Reading, related_name="proofs", blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["remedial"], condition=Q(state="stands"), name="proof_one_stands"),
            models.CheckConstraint(
                condition=Q(state__in=["stands", "beside", "sent-back", "reopened"]), name="proof_state"
            ),
        ]


class PowerStep(models.Model):
    """What an engineer recorded between dead and live tests: power off and proved dead, or on again. Never changed.

    It is their word, not a claim of the program: the caution stands wherever it is shown.
    """

    class Kind(models.TextChoices):
        OFF = "off", "isolated, locked off and proved dead"
        ON = "on", "energised again"

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="power_steps")
    kind = models.TextField(choices=Kind)
    where = models.TextField(default="", blank=True, help_text="At which points, with which locks.")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=["off", "on"]), name="power_step_kind"),
            models.CheckConstraint(condition=Q(kind="on") | ~Q(where=""), name="power_step_says_where"),
        ]
        indexes = [models.Index(fields=["remedial", "at"], name="power_step_of_remedial")]


class Stint(models.Model):
    """What one engineer's time at a remedial came to: finished, part done or not done, how long, and what was used.

    Added by each closing and each leaving; never changed. `minutes` of this engineer on site, as they say them.
    """

    class Came(models.TextChoices):
        FINISHED = "finished", "finished"
        PART_DONE = "part-done", "part done"
        COULD_NOT = "could-not", "could not be done"

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="stints")
    proof = models.OneToOneField(Proof, on_delete=models.PROTECT, null=True, related_name="stint")
    came = models.TextField(choices=Came)
    because = models.TextField(default="", blank=True, help_text="Why it was not finished.")
    minutes = models.IntegerField(null=True, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(came__in=["finished", "part-done", "could-not"]), name="stint_came"),
            models.CheckConstraint(condition=Q(came="finished") | ~Q(because=""), name="stint_says_why"),
            models.CheckConstraint(condition=Q(came="finished") | Q(proof__isnull=True), name="stint_proof_finishes"),
            models.CheckConstraint(
                condition=Q(minutes__isnull=True) | Q(minutes__gte=1, minutes__lte=10_000), name="stint_minutes"
            ),
        ]
        indexes = [models.Index(fields=["remedial", "at"], name="stint_of_remedial")]


class Used(models.Model):
    """A material that was used in a stint: one of the remedial's items, or something besides."""

    stint = models.ForeignKey(Stint, on_delete=models.PROTECT, related_name="used")
    position = models.IntegerField()
    what = models.TextField()
    quantity = models.DecimalField(max_digits=9, decimal_places=3)
    unit = models.TextField(default="", blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["stint", "position"], name="used_one_place"),
            models.CheckConstraint(condition=~Q(what="") & Q(quantity__gt=0), name="used_says_what"),
        ]
        ordering = ["stint", "position"]


class ProofPhoto(models.Model):
    """A photograph after the work; for one observation, or for all of the remedial's."""

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="photos")
    proof = models.ForeignKey(Proof, on_delete=models.PROTECT, null=True, related_name="photos")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, null=True, related_name="after_photos")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    width = models.IntegerField()
    height = models.IntegerField()
    taken = models.TextField(default="", blank=True)
    added_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    added_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["remedial", "observation", "file"], nulls_distinct=False, name="proof_photo_once"
            )
        ]


class ProofReview(models.Model):
    """A qualified person's look at the proof. It says that the proof was reviewed, not that anybody reinspected."""

    class Decision(models.TextChoices):
        ACCEPTED = "accepted", "accepted"
        SENT_BACK = "sent-back", "sent back"

    id = models.UUIDField(primary_key=True, default=new_id)
    proof = models.OneToOneField(Proof, on_delete=models.PROTECT, related_name="review")
    decision = models.TextField(choices=Decision)
    reason = models.TextField(default="", blank=True)
    self_review = models.BooleanField(default=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(decision="accepted") | (Q(decision="sent-back") & ~Q(reason="")),
                name="proof_review_says_why",
            )
        ]


class RecallDecision(models.Model):
    """What was decided of one reading that an instrument found wrong had shown: read again, or kept with a reason.

    A change of mind is another row: the former one stays, with the moment from which it no longer stood.
    """

    class Decision(models.TextChoices):
        AGAIN = "again", "read again"
        KEPT = "kept", "kept"

    id = models.UUIDField(primary_key=True, default=new_id)
    fault = models.ForeignKey(InstrumentFault, on_delete=models.PROTECT, related_name="+")
    reading = models.ForeignKey(Reading, on_delete=models.PROTECT, related_name="recalls")
    decision = models.TextField(choices=Decision)
    reason = models.TextField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    replaced_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(decision__in=["again", "kept"]), name="recall_decision"),
            models.CheckConstraint(condition=~Q(reason=""), name="recall_says_why"),
            models.UniqueConstraint(
                fields=["fault", "reading"], condition=Q(replaced_at__isnull=True), name="recall_one_stands"
            ),
        ]
        indexes = [models.Index(fields=["reading"], name="recall_of_reading")]


class WayOut(models.Model):
    """Why a remedial left the due list without our work: declined, cancelled, done by others."""

    id = models.UUIDField(primary_key=True, default=new_id)
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, related_name="ways_out")
    stage = models.TextField(choices=Remedial.STAGES)
    who = models.TextField(help_text="Who declined, asked to cancel, or did the work.")
    reason = models.TextField(default="", blank=True)
    on = models.DateField()
    offer_again_on = models.DateField(null=True, blank=True)
    reference = models.TextField(default="", blank=True, help_text="The others' certificate or letter.")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    looked_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="+",
        help_text="The qualified person of ours who inspected the others' work; empty: accepted on paper alone.",
    )  # fmt: skip
    looked_on = models.DateField(null=True)
    recorded_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="+", help_text="Empty: they answered on their link."
    )
    recorded_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, help_text="The answer to the quote was recorded by mistake.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(stage__in=["declined", "cancelled", "by-others"]) & ~Q(who=""), name="way_out_complete"
            ),
            models.CheckConstraint(
                condition=Q(looked_by__isnull=True, looked_on__isnull=True)
                | Q(stage="by-others", looked_by__isnull=False, looked_on__isnull=False),
                name="way_out_looked_at",
            ),
        ]


class Waiting(models.Model):
    """That an observation or a remedial waits on somebody outside: who, for what, when to chase, who of us does."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="waitings")
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, null=True, related_name="waitings")
    remedial = models.ForeignKey(Remedial, on_delete=models.PROTECT, null=True, related_name="waitings")
    on_whom = models.TextField()
    for_what = models.TextField()
    reference = models.TextField(default="", blank=True)
    asked_on = models.DateField()
    promised_for = models.DateField(null=True, blank=True)
    chase_on = models.DateField()
    owner = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True)
    ended_how = models.TextField(default="", blank=True)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(on_whom="") & ~Q(for_what=""), name="waiting_complete"),
            models.CheckConstraint(
                condition=Q(observation__isnull=False) | Q(remedial__isnull=False), name="waiting_of_something"
            ),
        ]
        indexes = [models.Index(fields=["chase_on"], condition=Q(ended_at__isnull=True), name="waiting_to_chase")]
