"""What was printed for a board: kept as it was handed out, so that a paper on a door can be told from today's record."""

from django.db import models
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.ledger.models import StoredFile
from jobsite.people.models import User
from jobsite.premises import choices
from jobsite.premises.models.boards import Board
from jobsite.premises.models.ground import OfSite
from jobsite.premises.models.sites import Site


class BoardDocument(models.Model):
    """A chart or a sheet of labels. `said` is the hash of what a chart says of the board: by it, an old one is known."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="board_documents")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="documents")
    kind = models.TextField(choices=choices.DocumentKind)
    words = models.TextField(default="", help_text="What was chosen: paper, labels.")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    fingerprint = models.TextField()
    said = models.TextField(default="", blank=True)
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    objects = OfSite.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=choices.DocumentKind.values), name="board_document_kind")
        ]
        indexes = [models.Index(fields=["board", "-made_at"], name="board_document_list")]
