"""What the customer said to an offer, and what was asked about it."""

from typing import Any, Self

from django.db import models
from django.db.models import Q, QuerySet

from jobsite.ids import new_id
from jobsite.people.models import PrivateLink, User
from jobsite.premises.models import Party
from remedials.quotes.choices import AnsweredHow, Says, WhyNot
from remedials.quotes.models.offers import Line, Offer, Quote


class AnswerQuerySet(QuerySet["Answer"]):
    def visible_to(self, user: Any) -> Self:
        """Those of the quotes that `user` may see."""
        return self.filter(offer__quote__in=Quote.objects.visible_to(user))


class Answer(models.Model):
    """Answers that somebody gave at one time: to all lines or to some. When and how is kept: rights hang on it.

    Sums are those of the lines accepted in it, in pounds.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    offer = models.ForeignKey(Offer, on_delete=models.PROTECT, related_name="answers")
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="+", help_text="For whom it was given.")
    name = models.TextField(help_text="Who gave it, as they wrote it or as the office heard it.")
    how = models.TextField(choices=AnsweredHow)
    given_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    link = models.ForeignKey(PrivateLink, on_delete=models.PROTECT, null=True, related_name="+")
    recorded_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    order_number = models.TextField(default="", blank=True, help_text="The customer's own.")
    note = models.TextField(default="", blank=True)
    rights_shown = models.TextField(default="", blank=True, help_text="The right to cancel, in the words shown.")
    begin_at_once = models.BooleanField(null=True, help_text="A consumer's express request; null: not asked.")
    begin_words = models.TextField(default="", blank=True, help_text="The words of that request.")
    fingerprint = models.TextField(help_text="Of the version that was answered.")
    net = models.DecimalField(max_digits=12, decimal_places=2)
    vat = models.DecimalField(max_digits=12, decimal_places=2)
    to_pay = models.DecimalField(max_digits=12, decimal_places=2)
    taken_back_at = models.DateTimeField(null=True)
    taken_back_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    taken_back_why = models.TextField(default="", blank=True)

    objects = AnswerQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(name="") & ~Q(fingerprint=""), name="answer_says_who"),
            models.CheckConstraint(
                condition=Q(how="link", link__isnull=False) | (~Q(how="link") & Q(recorded_by__isnull=False)),
                name="answer_by_link_or_office",
            ),
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=True) | ~Q(taken_back_why=""), name="answer_taken_back_why"
            ),
        ]


class LineAnswer(models.Model):
    """What an answer says to a line. The first that stands counts."""

    answer = models.ForeignKey(Answer, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="answers")
    says = models.TextField(choices=Says)
    why_not = models.TextField(choices=WhyNot, default="", blank=True)
    words = models.TextField(default="", blank=True, help_text="What they said about a no.")
    stands = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["line"], condition=Q(stands=True), name="line_answer_one_stands"),
            models.UniqueConstraint(fields=["answer", "line"], name="line_answer_once"),
            models.CheckConstraint(condition=Q(says__in=Says.values), name="line_answer_says"),
        ]


class QuestionQuerySet(QuerySet["Question"]):
    def visible_to(self, user: Any) -> Self:
        """Those of the quotes that `user` may see."""
        return self.filter(quote__in=Quote.objects.visible_to(user))


class Question(models.Model):
    """Something asked about an offer: open while the customer had the last word, and then somebody of us owes a reply."""

    id = models.UUIDField(primary_key=True, default=new_id)
    quote = models.ForeignKey(Quote, on_delete=models.PROTECT, related_name="questions")
    line_key = models.UUIDField(null=True, help_text="The line it is about, in whatever version; null: the whole.")
    owner = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    reply_by = models.DateField()
    open = models.BooleanField(default=True)
    asked_at = models.DateTimeField()
    closed_why = models.TextField(default="", blank=True, help_text="Why it needs no reply; empty: it was answered.")
    closed_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    closed_at = models.DateTimeField(null=True)

    objects = QuestionQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["quote"], name="question_of_quote")]


class Remark(models.Model):
    """One thing said in the thread of a question: by the customer through a link, or by one of us."""

    id = models.UUIDField(primary_key=True, default=new_id)
    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="remarks")
    text = models.TextField()
    name = models.TextField()
    link = models.ForeignKey(PrivateLink, on_delete=models.PROTECT, null=True, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(text="") & ~Q(name=""), name="remark_says_something"),
            models.CheckConstraint(condition=Q(by__isnull=False) | Q(link__isnull=False), name="remark_by_somebody"),
        ]
        ordering = ["at", "id"]
