"""What the ledger says of bundles, of how long data are kept, and of what was erased."""

from django.db.models import TextChoices


class Verb(TextChoices):
    BUNDLE_ASKED = "bundle.asked", "bundle of the record asked for"
    RETENTION_SET = "retention.set", "how long data are kept was set"
    EXPORTED = "customer.exported", "copy of a customer's own data handed over"
    ERASED = "customer.erased", "customer's personal data erased"
    DATA_SHED = "data.shed", "data past their time erased"
