"""Calendar feeds: a private address at which a phone reads the visits of one person, or of all."""

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.people.models import User


class Feed(models.Model):
    """One private address. Only the hash of its token is kept; `user` empty: everybody's visits."""

    id = models.UUIDField(primary_key=True, default=new_id)
    token_hash = models.BinaryField(max_length=32, unique=True)
    user = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="feeds")
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)
    last_used_at = models.DateTimeField(null=True)
    uses = models.IntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user"], condition=Q(withdrawn_at__isnull=True), nulls_distinct=False, name="feed_one_each"
            )
        ]
