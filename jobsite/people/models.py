"""People of the firm, what they are competent for, the instruments they use, and the private links sent out."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.apps import apps
from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Case, Exists, ExpressionWrapper, F, OuterRef, Q, QuerySet, Value, When
from django.db.models.functions import Lower

from jobsite.firm.models import SecondStep
from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.rights import ASKED_OF, Role, roles_carry

UNKNOWN = "unknown"


class UserManager(BaseUserManager["User"]):
    """Looks people up by their address, whatever its case."""

    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email__iexact=username)


class User(AbstractBaseUser):
    """A person of the firm, with one or several roles."""

    id = models.UUIDField(primary_key=True, default=new_id)
    email = models.EmailField(max_length=254, unique=True)
    name = models.TextField()
    phone = models.TextField(default="", blank=True)
    roles = ArrayField(models.TextField(choices=[(r.value, r.value) for r in Role]), default=list)
    subcontractor = models.BooleanField(default=False, help_text="Sees only the sites of their own visits.")
    insured_until = models.DateField(null=True, blank=True, help_text="A subcontractor's insurance: its last day.")
    apprentice = models.BooleanField(default=False, help_text="Is never sent alone.")
    home_postcode = models.TextField(default="", blank=True, help_text="Where their day begins and ends.")
    home_latitude = models.DecimalField(max_digits=8, decimal_places=5, null=True, blank=True)
    home_longitude = models.DecimalField(max_digits=8, decimal_places=5, null=True, blank=True)
    is_active = models.BooleanField(default=True)
    sign_in_epoch = models.IntegerField(
        default=0, db_default=0, help_text="One more ends every session and every link that sets a password."
    )
    version = models.IntegerField(default=1)

    objects = UserManager()
    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]
    actor_kind = "person"

    class Meta:
        constraints = [
            models.UniqueConstraint(Lower("email"), name="user_email_once"),
            models.CheckConstraint(
                condition=Q(roles__contained_by=[r.value for r in Role]) & ~Q(roles=[]), name="user_has_known_roles"
            ),
            models.CheckConstraint(condition=~Q(name=""), name="user_has_a_name"),
            models.CheckConstraint(
                condition=Q(home_latitude__isnull=True, home_longitude__isnull=True)
                | Q(home_latitude__range=(-90, 90), home_longitude__range=(-180, 180)),
                name="user_home_on_earth",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def actor_id(self) -> UUID:
        return self.pk

    def may(self, right: str) -> bool:
        """Whether this person's roles carry `right`; a person who has left may nothing."""
        return self.is_active and roles_carry(frozenset(self.roles), right)

    @property
    def must_have_second_step(self) -> bool:
        """Whether the firm asks a second step of somebody with these roles. No statement for who signed in (`WithFirm`)."""
        asked: str | None = getattr(self, "asked", UNKNOWN)
        if asked == UNKNOWN:
            asked = the_firm().second_step_for
        return bool(ASKED_OF[asked or SecondStep.MANAGERS] & set(self.roles))

    @property
    def lacks_second_step(self) -> bool:
        """Whether nothing but their own sign-in pages opens, until a second step is set up."""
        if not self.must_have_second_step:
            return False
        has: bool | None = getattr(self, "has_second_step", None)
        return not (second_steps_of(self.pk).exists() if has is None else has)

    def get_session_auth_hash(self) -> str:
        """What a session must agree with: the password and, once anything was ended, how often."""
        return self._with_epoch(super().get_session_auth_hash())

    def get_session_auth_fallback_hash(self) -> Iterator[str]:
        """The same by the service's former secrets."""
        return map(self._with_epoch, super().get_session_auth_fallback_hash())

    def _with_epoch(self, digest: str) -> str:
        return f"{digest}:{self.sign_in_epoch}" if self.sign_in_epoch else digest


def second_steps_of(user: Any) -> QuerySet[Any]:
    """What counts as a second step of `user` (a key, or a reference to one): an app or a passkey; recovery codes only stand
    in for one."""
    rows: QuerySet[Any] = apps.get_model("mfa", "Authenticator").objects.filter(user_id=user)
    return rows.exclude(type="recovery_codes")


class SignIn(models.Model):
    """What happened at the door, and by which means: kept for `signin.limits.EVENTS_KEPT`, beside the ledger."""

    class What(models.TextChoices):
        IN = "in", "signed in"
        OUT = "out", "signed out"
        WRONG_PASSWORD = "wrong-password", "wrong password"
        WRONG_CODE = "wrong-code", "wrong code"
        SHUT = "shut", "too many wrong tries: not let in"

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="sign_ins")
    at = models.DateTimeField()
    what = models.TextField(choices=What)
    means = models.TextField(default="", blank=True, help_text="Such as: password, authenticator app.")
    address = models.GenericIPAddressField(null=True)
    device = models.TextField(default="", blank=True, help_text="How the browser calls itself.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(what__in=["in", "out", "wrong-password", "wrong-code", "shut"]), name="sign_in_what"
            )
        ]
        indexes = [models.Index(fields=["user", "-at"], name="sign_ins_of_user")]


class CompetenceQuerySet(QuerySet["Competence"]):
    def on(self, day: date) -> "CompetenceQuerySet":
        """Those that hold on `day`."""
        return self.filter(Q(until__isnull=True) | Q(until__gte=day), since__lte=day)


class Competence(models.Model):
    """What the firm records a person to be competent for, from when until when, and on what evidence."""

    class Kind(models.TextChoices):
        QUALIFIED = "qualified", "qualified person: reviews codes and proof, issues reports"

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="competences")
    kind = models.TextField(choices=Kind, default=Kind.QUALIFIED)
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    ended = models.BooleanField(default=False, help_text="Ended knowingly: nobody is asked to renew it.")
    evidence = models.TextField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True)

    objects = CompetenceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")), name="competence_ends_after_start"
            ),
            models.UniqueConstraint(fields=["user", "kind", "since"], name="competence_once_a_day"),
        ]


class Skill(models.Model):
    """That a person can do a kind of work, from when until when, and on what evidence; named as remedials name it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="skills")
    name = models.TextField()
    sort = models.TextField(editable=False, help_text="The name folded: by it a remedial's skill is compared.")
    since = models.DateField()
    until = models.DateField(null=True, blank=True, help_text="The last day; empty: it doesn't expire.")
    ended = models.BooleanField(default=False, help_text="Ended knowingly: nobody is asked to renew it.")
    evidence = models.TextField(default="", blank=True)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True)

    objects = CompetenceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")), name="skill_ends_after_start"
            ),
            models.CheckConstraint(condition=~Q(name=""), name="skill_named"),
            models.UniqueConstraint(fields=["user", "sort", "since"], name="skill_once_a_day"),
        ]


class WorkingWeek(models.Model):
    """A person's hours of the week from a day on. One without any has the firm's usual hours."""

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="working_weeks")
    holds_from = models.DateField()
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    version = models.IntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "holds_from"], name="working_week_once_a_day")]


class Shift(models.Model):
    """The local hours of one weekday (0 is Monday); a weekday without a row is not worked."""

    week = models.ForeignKey(WorkingWeek, on_delete=models.CASCADE, related_name="shifts")
    weekday = models.IntegerField()
    start = models.TimeField()
    end = models.TimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["week", "weekday"], name="shift_once_a_weekday"),
            models.CheckConstraint(condition=Q(weekday__gte=0, weekday__lte=6), name="shift_weekday"),
            models.CheckConstraint(condition=Q(end__gt=models.F("start")), name="shift_ends_after_start"),
        ]


class Leave(models.Model):
    """Days on which a person is away, both included. Why is nobody's business here beyond these words."""

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="leaves")
    first = models.DateField()
    last = models.DateField()
    what = models.TextField(choices=[("leave", "leave"), ("training", "training"), ("away", "away")], default="leave")
    withdrawn_at = models.DateTimeField(null=True)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(last__gte=models.F("first")), name="leave_in_order"),
            models.CheckConstraint(condition=Q(what__in=["leave", "training", "away"]), name="leave_what"),
        ]
        indexes = [models.Index(fields=["user", "first"], name="leave_of_user")]


class Instrument(models.Model):
    """A test instrument: its accuracy is checked at intervals, and its readings count only within them."""

    id = models.UUIDField(primary_key=True, default=new_id)
    name = models.TextField()
    serial_number = models.TextField(unique=True)
    checked_on = models.DateField(null=True, blank=True)
    check_due = models.DateField(null=True, blank=True)
    archived_at = models.DateTimeField(null=True, blank=True)
    version = models.IntegerField(default=1)

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(serial_number=""), name="instrument_has_serial_number")]

    def __str__(self) -> str:
        return f"{self.name}, {self.serial_number}"

    def in_check_on(self, day: date) -> bool:
        """Whether its accuracy check covers `day`. One statement for a day before its latest check, else none.

        What was read on a phone before that check may arrive after it: then the checks that were in force by then count.
        """
        if self.checked_on is None or day >= self.checked_on:
            return bool(self.checked_on and self.check_due and day <= self.check_due)
        checks = self.checks.filter(kind=InstrumentCheck.Kind.CALIBRATION, checked_on__lte=day)
        last = checks.order_by("-checked_on", "-recorded_at", "-pk").first()
        if last is None or last.due is None or last.due < day:
            return False
        return not self.faults.filter(found_on__gte=last.checked_on, found_on__lte=day).unanswered(day).exists()


class CheckQuerySet(QuerySet["InstrumentCheck"]):
    def good(self) -> "CheckQuerySet":
        """Those after which what the instrument shows counts: calibrations that it passed, if need be adjusted."""
        return self.filter(kind=InstrumentCheck.Kind.CALIBRATION).exclude(result=InstrumentCheck.Result.FAILED)


class InstrumentCheck(models.Model):
    """One accuracy check of an instrument. The latest calibration that it passed says until when its readings count.

    A comparison (with a check box, with another instrument, at a point whose value is known) extends nothing: it says that
    the instrument was still right on that day, or that it is wrong.
    """

    class Kind(models.TextChoices):
        CALIBRATION = "calibration", "calibration"
        COMPARISON = "comparison", "comparison between calibrations"

    class Result(models.TextChoices):
        PASSED = "passed", "within its accuracy"
        ADJUSTED = "adjusted", "adjusted, then within its accuracy"
        FAILED = "failed", "not within its accuracy"

    id = models.UUIDField(primary_key=True, default=new_id)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="checks")
    kind = models.TextField(choices=Kind, default=Kind.CALIBRATION)
    checked_on = models.DateField()
    due = models.DateField(null=True, blank=True, help_text="The next calibration; empty where this one failed.")
    result = models.TextField(choices=Result)
    by_whom = models.TextField(help_text="The laboratory, or who compared it with what in the firm.")
    certificate = models.TextField(default="", blank=True, help_text="Number of the calibration certificate.")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, related_name="+")
    note = models.TextField(default="", blank=True)
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    objects = CheckQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(result__in=["passed", "adjusted", "failed"]), name="check_result"),
            models.CheckConstraint(
                condition=Q(kind="calibration") | Q(kind="comparison", result__in=["passed", "failed"]),
                name="check_kind",
            ),
            models.CheckConstraint(
                condition=(Q(result="failed") | Q(kind="comparison")) & Q(due__isnull=True)
                | (~Q(result="failed") & Q(kind="calibration", due__isnull=False, due__gte=models.F("checked_on"))),
                name="check_due_after_check",
            ),
            models.CheckConstraint(condition=~Q(by_whom=""), name="check_says_by_whom"),
        ]
        indexes = [models.Index(fields=["instrument", "-checked_on"], name="check_of_instrument")]

    def __str__(self) -> str:
        return f"{self.get_result_display()}, {self.by_whom}"


class FaultQuerySet(QuerySet["InstrumentFault"]):
    def until(self, day: Any) -> Any:
        """With `answered`: whether a good check had followed by `day` (a date, or an expression of an outer row).

        A check answers what was found before its day; one that adjusted the instrument also what was found on that day.
        The instrument's own last check counts too: it may have been recorded before checks were kept as rows.
        """
        by_day = ExpressionWrapper(Value(day) if isinstance(day, date) else day, models.DateField())
        later = Q(checked_on__gt=OuterRef("found_on"))
        adjusted = Q(checked_on=OuterRef("found_on"), result=InstrumentCheck.Result.ADJUSTED)
        checks = InstrumentCheck.objects.good().filter(later | adjusted, instrument=OuterRef("instrument"))
        own = Q(instrument__checked_on__gt=F("found_on"), instrument__checked_on__lte=F("by_day"))
        answered = Q(Exists(checks.filter(checked_on__lte=OuterRef("by_day")))) | own
        whether = Case(When(answered, then=Value(True)), default=Value(False))
        return self.annotate(by_day=by_day).annotate(answered=whether)

    def unanswered(self, day: Any) -> "FaultQuerySet":
        """Those after which no good check had followed by `day`."""
        found: FaultQuerySet = self.until(day).filter(answered=False)
        return found


class InstrumentFault(models.Model):
    """That an instrument was found to measure wrongly: what it showed since it was last known to be right is doubtful."""

    id = models.UUIDField(primary_key=True, default=new_id)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="faults")
    last_good_on = models.DateField(help_text="The last day on which it was known to measure rightly.")
    found_on = models.DateField()
    what = models.TextField(help_text="How it was wrong, and who found it.")
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    objects = FaultQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(found_on__gte=models.F("last_good_on")), name="fault_found_after_good"),
            models.CheckConstraint(condition=~Q(what=""), name="fault_says_what"),
        ]
        indexes = [models.Index(fields=["instrument"], name="fault_of_instrument")]

    def __str__(self) -> str:
        return self.what


class PrivateLink(models.Model):
    """A link that needs no account. Only the hash of its token is kept.

    It opens one purpose for one unit, one site or one customer; those rooms are above this one, so they are keys here. One
    that opens all of a customer's sites has no site of its own: which they are is asked anew each time.
    """

    class Purpose(models.TextChoices):
        STATUS = "status", "read how the site stands"
        QUOTE = "quote", "read and answer a quote"
        VISIT = "visit", "say whether the time of a visit suits"
        TIMES = "times", "choose the time of a visit"
        PORTFOLIO = "portfolio", "read how all of a customer's sites stand"
        COPY = "copy", "read a report without personal data"

    id = models.UUIDField(primary_key=True, default=new_id)
    token_hash = models.BinaryField(max_length=32, unique=True)
    purpose = models.TextField(choices=Purpose)
    site = models.UUIDField(null=True)
    unit = models.UUIDField(null=True)
    party = models.UUIDField(null=True)
    thing = models.UUIDField(null=True, help_text="What it opens besides the site: the quote.")
    sent_to = models.TextField(default="", help_text="Whom it was given to, in the office's words.")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)
    last_used_at = models.DateTimeField(null=True)
    uses = models.IntegerField(default=0)

    actor_kind = "link"

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(expires_at__gt=models.F("made_at")), name="link_expires_after_start"),
            models.CheckConstraint(
                condition=Q(purpose="portfolio", site__isnull=True, unit__isnull=True, party__isnull=False)
                | ~Q(purpose="portfolio") & Q(site__isnull=False),
                name="link_opens_something",
            ),
        ]
        indexes = [
            models.Index(fields=["site"], name="link_of_site"),
            models.Index(fields=["thing"], condition=Q(thing__isnull=False), name="link_of_thing"),
            models.Index(fields=["party"], condition=Q(party__isnull=False), name="link_of_party"),
        ]

    @property
    def actor_id(self) -> UUID:
        return self.pk

    def may(self, right: str) -> bool:
        """A link only reads."""
        return False


class TokenQuerySet(QuerySet["AccessToken"]):
    def standing(self, now: datetime) -> "TokenQuerySet":
        """Those that open anything at `now`; whether their person is still with the firm is asked apart."""
        return self.filter(ended_at__isnull=True, expires_at__gt=now)


class AccessToken(models.Model):
    """What another program shows (Authorization: Bearer) to act for a person. Only the hash of it is kept.

    It may do what the person may at that moment, reading only where its scope says so, and ends by its day, by hand, and
    when the person leaves.
    """

    class Scope(models.TextChoices):
        READ = "read", "reads only"
        WRITE = "write", "reads and changes"

    id = models.UUIDField(primary_key=True, default=new_id)
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="access_tokens")
    token_hash = models.BinaryField(max_length=32, unique=True)
    name = models.TextField(help_text="Which program has it, in the person's words.")
    scope = models.TextField(choices=Scope)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    last_used_at = models.DateTimeField(null=True, help_text="To five minutes.")
    ended_at = models.DateTimeField(null=True)

    objects = TokenQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(scope__in=["read", "write"]), name="token_scope"),
            models.CheckConstraint(condition=~Q(name=""), name="token_named"),
            models.CheckConstraint(condition=Q(expires_at__gt=models.F("made_at")), name="token_expires_after_start"),
        ]
        indexes = [models.Index(fields=["user", "-made_at"], name="token_of_user")]

    def __str__(self) -> str:
        return self.name

    @property
    def reads_only(self) -> bool:
        return self.scope == self.Scope.READ
