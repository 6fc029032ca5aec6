"""The due list: one view over every open obligation; who has undertaken what of it; how people are reminded of it."""

from datetime import time
from typing import Self

from django.contrib.auth.models import AnonymousUser
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import OfSite, Party, Site, SiteAccess, Unit
from remedials.due.rules.sorts import Sort


class DueRowQuerySet(OfSite):
    def visible_to(self, user: "User | AnonymousUser") -> Self:
        """Rows of the sites that `user` sees. What no site has is seen by who plans the work, by others where it is theirs."""
        if not isinstance(user, User) or not user.is_active:
            return self.none()
        own = Q(site=None, owner=user)
        if user.subcontractor:
            return self.filter(own | Q(site__in=SiteAccess.objects.filter(user=user).values("site")))
        if user.may(Right.PLAN_WORK) or user.may(Right.KEEP_FIRM):
            return self
        return self.filter(own | Q(site__isnull=False))


class DueRow(models.Model):
    """One open obligation, read from the view `due_list`.

    `loose`: an open C1, C2 or FI without an owner or a date. `due` is 31 December 9999 where there is none.
    `shows_from`, `shows_until`: the first and last day on which it stands in the list. `rank`: 4 for C1, 3 C2, 2 FI, 1 C3,
    0 none; somebody alone in a place stands with that of a C1. `visit`: the booked one by which it will be done.
    `site` is None for what is the firm's own: instruments, what people are competent for. `person`: whom it is about.
    `in_hand_until`, `in_hand_why`: the owner's own word (`Undertaking`), while it stands. `own_owner`, `not_before` and
    `lacking` are there for lists to find rows by, fast: the view says what they are.
    """

    pk = models.CompositePrimaryKey("kind", "ref")
    kind = models.TextField()
    ref = models.UUIDField()
    site = models.ForeignKey(Site, on_delete=models.DO_NOTHING, related_name="+", null=True)
    unit = models.ForeignKey(Unit, on_delete=models.DO_NOTHING, related_name="+", null=True)
    observation = models.UUIDField(null=True)
    remedial = models.UUIDField(null=True)
    board = models.UUIDField(null=True)
    code = models.TextField()
    rank = models.IntegerField()
    made_safe = models.BooleanField()
    loose = models.BooleanField()
    subject = models.TextField()
    next_step = models.TextField()
    rule = models.TextField()
    owner = models.ForeignKey(User, on_delete=models.DO_NOTHING, related_name="+", null=True)
    waits_on = models.TextField()
    due = models.DateField()
    shows_from = models.DateField()
    first_recorded_on = models.DateField(null=True)
    remedy_by = models.DateField(null=True)
    quote = models.UUIDField(null=True)
    shows_until = models.DateField(null=True)
    visit = models.UUIDField(null=True)
    person = models.UUIDField(null=True)
    in_hand_until = models.DateField(null=True)
    in_hand_why = models.TextField(null=True)
    own_owner = models.ForeignKey(User, on_delete=models.DO_NOTHING, related_name="+", null=True)
    not_before = models.DateField(null=True)
    lacking = models.BooleanField()

    objects = DueRowQuerySet.as_manager()

    class Meta:
        managed = False
        db_table = "due_list"

    @property
    def site_name(self) -> str:
        """The name of its site; "" where it has none."""
        return self.site.name if self.site else ""


class Undertaking(models.Model):
    """That somebody has a row of the due list in hand until a day: it is theirs, and nobody is reminded of it before.

    Laid over the row (kind, ref) while that still has the owner and the day that it had: whoever gives the step to somebody,
    books it or moves its day has acted since. It ends with the row, when it is given back, or when another takes its place.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.TextField()
    ref = models.UUIDField()
    site = models.ForeignKey(Site, on_delete=models.PROTECT, null=True, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    instead_of = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="+", help_text="The row's own owner that day."
    )
    due_was = models.DateField(help_text="The row's own day; 31 December 9999 where it had none.")
    until = models.DateField()
    reason = models.TextField()
    at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["kind", "ref"], condition=Q(ended_at__isnull=True), name="undertaking_one_stands"
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="undertaking_says_why"),
        ]


class Reminding(models.Model):
    """When the firm's people and customers are written to, whatever it is about. Hours are those of Europe/London."""

    id = models.UUIDField(primary_key=True, default=new_id)
    only = models.BooleanField(default=True, unique=True)
    digest_at = models.TimeField(default=time(7, 0))
    working_days = ArrayField(models.IntegerField(), help_text="1 is Monday.")
    bank_holidays_off = models.BooleanField(default=True, help_text="Those of the firm's nation.")
    quiet_from = models.TimeField(default=time(20, 0))
    quiet_until = models.TimeField(default=time(7, 0))
    inspection_days = ArrayField(models.IntegerField(), help_text="Days before a due inspection on which to write.")
    inspection_overdue_every = models.IntegerField(default=7, help_text="Days between letters once it is overdue.")
    version = models.IntegerField(default=1)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(only=True), name="reminding_is_one"),
            models.CheckConstraint(condition=Q(inspection_overdue_every__gte=7), name="reminding_at_most_weekly"),
        ]

    @classmethod
    def shipped(cls) -> Self:
        """What holds until the firm sets its own: Monday to Friday; 90, 30 and 7 days before an inspection."""
        return cls(working_days=[1, 2, 3, 4, 5], inspection_days=[90, 30, 7])


class ReminderRule(models.Model):
    """When the firm's people hear of one sort of row. Days; the shipped ones hold where the firm has set none.

    `before`: so long before it is due its owner first hears of it. `every`: so often again once it is late.
    `qualified_after`, `manager_after`: so long after it is due, and nobody acted, a qualified person hears of it, and then
    the managers; empty: never.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    sort = models.TextField(choices=[(sort.value, sort.value) for sort in Sort], unique=True)
    before = models.IntegerField()
    every = models.IntegerField()
    qualified_after = models.IntegerField(null=True)
    manager_after = models.IntegerField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(sort__in=[sort.value for sort in Sort]), name="reminder_sort"),
            models.CheckConstraint(
                condition=Q(before__gte=0, before__lte=365, every__gte=1, every__lte=90), name="reminder_days"
            ),
            models.CheckConstraint(
                condition=(Q(qualified_after__isnull=True) | Q(qualified_after__gte=0))
                & (Q(manager_after__isnull=True) | Q(manager_after__gte=0)),
                name="reminder_passed_on_later",
            ),
        ]


class NoReminders(models.Model):
    """That a customer wants no reminders: what danger, the law or their own work asks for is still said."""

    id = models.UUIDField(primary_key=True, default=new_id)
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="+")
    address = models.TextField(help_text="The address that said so.")
    said_at = models.DateTimeField()
    noted_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, related_name="+", help_text="Empty: they said so by the link."
    )
    lifted_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["party"], condition=Q(lifted_at__isnull=True), name="no_reminders_one_stands"
            )
        ]


class Leaving(models.Model):
    """That the firm's part at a site ends: the closing letter says what is still open there, and its delivery is kept.

    Until it was delivered the site stays in every list. SOLD with a new owner whom the firm goes on working for is a
    handing over instead.
    """

    class Why(models.TextChoices):
        LEFT = "left", "the customer goes elsewhere"
        SOLD = "sold", "sold, the new owner is not ours"
        DIED = "died", "the customer has died"
        SILENT = "silent", "the customer does not answer"

    id = models.UUIDField(primary_key=True, default=new_id)
    number = models.BigIntegerField(unique=True)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="leavings")
    why = models.TextField(choices=Why)
    to_name = models.TextField(help_text="Whom the letter is for: the customer, their estate, their agent.")
    to_address = models.TextField(default="", blank=True, help_text="Postal or e-mail address.")
    reason = models.TextField()
    open_items = models.JSONField(help_text="What was open that day, as the letter lists it.")
    letter = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    owner = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    deliver_by = models.DateField()
    delivered_on = models.DateField(null=True)
    delivered_how = models.TextField(default="", blank=True)
    delivered_to = models.TextField(default="", blank=True)
    proof = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    written_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True, help_text="The letter was not sent after all, or they came back.")
    version = models.IntegerField(default=1)

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["site"], condition=Q(taken_back_at__isnull=True), name="leaving_one_stands"
            ),
            models.CheckConstraint(
                condition=Q(delivered_on__isnull=True) | (~Q(delivered_how="") & ~Q(delivered_to="")),
                name="leaving_says_how_delivered",
            ),
            models.CheckConstraint(condition=Q(why__in=["left", "sold", "died", "silent"]), name="leaving_why"),
        ]


class Trouble(models.Model):
    """What the sweep could not read or write, and therefore nobody is reminded of: the rest went on without it.

    The machine's own note, shown above every office page. It goes when the same part of the sweep ran without meeting it.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    part = models.TextField(help_text="Which part of the sweep met it.")
    what = models.TextField(help_text="What it is about, in words and keys.")
    error = models.TextField()
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["part", "what"], name="trouble_once")]
