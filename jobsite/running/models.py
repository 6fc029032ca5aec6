"""What the service notes of its own running."""

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id


class SlowStatement(models.Model):
    """An SQL statement that took long at one place: a route or a task. As it is written, with no value of any person in it."""

    id = models.UUIDField(primary_key=True, default=new_id)
    place = models.TextField()
    digest = models.TextField(help_text="SHA-256 of its words.")
    words = models.TextField()
    times = models.BigIntegerField()
    total_ms = models.FloatField()
    worst_ms = models.FloatField()
    first_at = models.DateTimeField()
    last_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["place", "digest"], name="slow_statement_once_a_place"),
            models.CheckConstraint(condition=Q(times__gte=1), name="slow_statement_times"),
        ]

    def __str__(self) -> str:
        return self.words[:80]
