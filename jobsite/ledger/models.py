"""What was done, by whom and when: append-only, chained; and files kept by their content."""

import pgtrigger
from django.db import models
from django.db.models import Q

from jobsite.ids import new_id


class Chain(models.Model):
    """The end of one chain of entries: a site's (its key is the site's) or the firm's (the nil key)."""

    id = models.UUIDField(primary_key=True)
    length = models.BigIntegerField(default=0)
    head = models.BinaryField(max_length=32)
    closed_into = models.UUIDField(null=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(length__gte=0), name="chain_length_not_negative")]


class Entry(models.Model):
    """One thing that was done. No foreign keys: an entry outlives what it tells of.

    `facts` hold identifiers, dates, codes and digests, no personal data; words that could be asked to be erased stand
    in `Words`, and `facts` holds their salted digest.
    """

    class ActorKind(models.TextChoices):
        PERSON = "person"
        CLOCK = "clock"
        LINK = "link"

    id = models.UUIDField(primary_key=True, default=new_id)
    chain = models.UUIDField()
    number = models.BigIntegerField()
    operation = models.UUIDField()
    at = models.DateTimeField()
    actor_kind = models.TextField(choices=ActorKind)
    actor = models.UUIDField()
    verb = models.TextField()
    subject_kind = models.TextField()
    subject = models.UUIDField()
    facts = models.JSONField()
    previous = models.BinaryField(max_length=32)
    hash = models.BinaryField(max_length=32)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["chain", "number"], name="entry_one_place_in_its_chain"),
            models.CheckConstraint(condition=Q(actor_kind__in=["person", "clock", "link"]), name="entry_actor_kind"),
        ]
        indexes = [models.Index(fields=["subject"], name="entry_by_subject")]
        triggers = [
            pgtrigger.Protect(name="append_only", operation=pgtrigger.Update | pgtrigger.Delete),
            pgtrigger.Trigger(
                name="no_truncate",
                level=pgtrigger.Statement,
                when=pgtrigger.Before,
                operation=pgtrigger.Truncate,
                func="RAISE EXCEPTION 'the ledger is append-only';",
            ),
        ]


class Words(models.Model):
    """Words that belong to an entry and can be erased without breaking its chain."""

    entry = models.UUIDField()
    name = models.TextField()
    text = models.TextField()
    salt = models.BinaryField(max_length=16)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry", "name"], name="words_once_an_entry")]


class StoredFile(models.Model):
    """A file by the SHA-256 of its content. Who may see it is decided by the row that refers to it."""

    hash = models.TextField(primary_key=True)
    size = models.BigIntegerField()
    media_type = models.TextField()
    received_hash = models.TextField(help_text="SHA-256 of the bytes as they arrived, before a photograph was cleaned.")
    stored_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(size__gt=0), name="stored_file_not_empty")]
