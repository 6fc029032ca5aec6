"""The due list: one view over every open obligation."""

from django.db import models

from jobsite.people.models import User
from jobsite.premises.models import OfSite, Site, Unit


class DueRow(models.Model):
    """One open obligation, read from the view `due_list`.

    `loose`: an open C1, C2 or FI without an owner or a date. `due` is 31 December 9999 where there is none.
    `shows_from`, `shows_until`: the first and last day on which it stands in the list. `rank`: 4 for C1, 3 C2, 2 FI, 1 C3,
    0 none; somebody alone in a place stands with that of a C1. `visit`: the booked one by which it will be done.
    """

    pk = models.CompositePrimaryKey("kind", "ref")
    kind = models.TextField()
    ref = models.UUIDField()
    site = models.ForeignKey(Site, on_delete=models.DO_NOTHING, related_name="+")
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

    objects = OfSite.as_manager()

    class Meta:
        managed = False
        db_table = "due_list"
