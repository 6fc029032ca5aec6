"""What the ledger says of the firm itself."""

from django.db.models import TextChoices


class Verb(TextChoices):
    DESCRIBED = "firm.described", "firm's details changed"
    POLICY_SET = "firm.policy-set", "firm's limits set"
