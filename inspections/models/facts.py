"""What a qualified person put in the place of a published fact that the program ships."""

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.people.models import User


class FactCorrection(models.Model):
    """One correction of a fact of `standards.registry` from a day on, by the fact's key; the latest that holds is in force.

    An empty `value` puts the shipped one back. Never changed: what was judged before keeps the limit of its day.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    fact = models.TextField(help_text="The key of a fact of standards.registry.")
    value = models.TextField(default="", blank=True, help_text="As the fact's own `text` spells it.")
    source = models.TextField(default="", blank=True)
    reason = models.TextField()
    holds_from = models.DateField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(fact="") & ~Q(reason=""), name="correction_says_why"),
            models.CheckConstraint(condition=Q(value="") | ~Q(source=""), name="correction_has_source"),
        ]
        indexes = [models.Index(fields=["fact", "-holds_from", "-at"], name="correction_of_fact")]

    def __str__(self) -> str:
        return self.fact

    @property
    def puts_back(self) -> bool:
        """Whether the shipped value holds again from its day on."""
        return self.value == ""
