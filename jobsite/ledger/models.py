"""What was done, by whom and when: append-only, chained; and files kept by their content."""

import pgtrigger
from django.db import models
from django.db.models import Q
from django.db.models.fields.json import KT

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
        indexes = [
            models.Index(fields=["subject"], name="entry_by_subject"),
            # Whoever holds a file learns which entry tells of it.
            models.Index(KT("facts__file"), condition=Q(facts__has_key="file"), name="entry_by_file"),
        ]
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
        triggers = [
            pgtrigger.Trigger(
                name="kept_while_held",
                when=pgtrigger.Before,
                operation=pgtrigger.Update | pgtrigger.Delete,
                declare=[("held", "boolean")],
                func="""
                    WITH RECURSIVE leads_to(chain) AS (
                        SELECT chain FROM ledger_entry WHERE id = OLD.entry
                        UNION
                        SELECT c.closed_into FROM ledger_chain c JOIN leads_to l ON c.id = l.chain
                        WHERE c.closed_into IS NOT NULL
                    )
                    SELECT EXISTS (
                        SELECT 1 FROM ledger_hold h
                        WHERE h.lifted_at IS NULL AND (h.site IS NULL OR h.site IN (SELECT chain FROM leads_to))
                    ) INTO held;
                    IF held THEN RAISE EXCEPTION 'these words are held'; END IF;
                    IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
                    RETURN NEW;
                """,
            )
        ]


class StoredFile(models.Model):
    """A file by the SHA-256 of its content. Who may see it is decided by the row that refers to it."""

    hash = models.TextField(primary_key=True)
    size = models.BigIntegerField()
    media_type = models.TextField()
    received_hash = models.TextField(help_text="SHA-256 of the bytes as they arrived, before a photograph was cleaned.")
    stored_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(size__gt=0), name="stored_file_not_empty")]


class DoneOnce(models.Model):
    """What a request with an Idempotency-Key did, so that the same one again is answered and does nothing.

    Written in the transaction of what was done: both are there or neither. Kept 30 days, looked up by person and key.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    person = models.UUIDField()
    key = models.TextField()
    fingerprint = models.BinaryField(max_length=32, help_text="SHA-256 of method, address and what was sent.")
    status = models.SmallIntegerField()
    headers = models.JSONField(default=dict, help_text="Those of the answer that whoever sends again needs.")
    body = models.BinaryField(help_text="Of an answer in JSON; empty for a page.")
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "key"], name="done_once_by_person_and_key")]
        indexes = [models.Index(fields=["at"], name="done_once_by_age")]


class Document(models.Model):
    """A document as it was made and handed out: by its file, whoever holds a copy learns whether it is ours.

    `kind` is a word of the app that makes it. The scope is plain keys, since those rooms are above this one. `said` is the
    hash of what it says apart from the instant: while that is the same, the same file is handed out again. "" for one
    that is made once, such as a bundle.
    """

    id = models.UUIDField(primary_key=True, default=new_id)
    kind = models.TextField()
    title = models.TextField()
    name = models.TextField(help_text="What it is called as a file.")
    site = models.UUIDField(null=True)
    unit = models.UUIDField(null=True)
    party = models.UUIDField(null=True, help_text="Whose sites it is about, where it is about all of them.")
    subject = models.UUIDField(null=True, help_text="What else it is about: an inspection, a notice, a quote.")
    as_of = models.DateField(null=True, help_text="The day whose state it tells.")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    fingerprint = models.TextField(
        default="", blank=True, help_text="Hash of its facts: its start stands on each page."
    )
    said = models.TextField(default="", blank=True)
    actor_kind = models.TextField(choices=Entry.ActorKind)
    actor = models.UUIDField()
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(kind="") & ~Q(title="") & ~Q(name=""), name="document_is_named"),
            models.CheckConstraint(condition=Q(actor_kind__in=["person", "clock", "link"]), name="document_actor_kind"),
            models.UniqueConstraint(
                fields=["kind", "site", "unit", "party", "subject", "as_of", "said"],
                condition=~Q(said=""),
                nulls_distinct=False,
                name="document_said_once",
            ),
        ]
        indexes = [
            models.Index(fields=["site", "-made_at"], name="document_of_site"),
            models.Index(fields=["party", "-made_at"], name="document_of_party"),
        ]

    def __str__(self) -> str:
        return self.title


class Hold(models.Model):
    """That nothing of a site (or, without one, of the firm) may be erased, whatever the retention says, until it is lifted."""

    id = models.UUIDField(primary_key=True, default=new_id)
    site = models.UUIDField(null=True)
    reason = models.TextField(help_text="What for: a claim, an accident, a request of a court or an insurer.")
    placed_by = models.UUIDField()
    placed_at = models.DateTimeField()
    lifted_by = models.UUIDField(null=True)
    lifted_at = models.DateTimeField(null=True)
    lifted_why = models.TextField(default="", blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="hold_says_why"),
            models.CheckConstraint(
                condition=Q(lifted_at__isnull=True, lifted_by__isnull=True, lifted_why="")
                | Q(lifted_at__isnull=False, lifted_by__isnull=False) & ~Q(lifted_why=""),
                name="hold_lifted_by_somebody",
            ),
        ]
        indexes = [models.Index(fields=["site"], condition=Q(lifted_at__isnull=True), name="hold_in_force")]

    def __str__(self) -> str:
        return self.reason
