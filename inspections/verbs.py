"""What the ledger says of inspections, observations and readings; the labels are read in the history of a site."""

from django.db.models import TextChoices


class Verb(TextChoices):
    STARTED = "inspection.started", "inspection entered"
    EDITED = "inspection.edited", "particulars of the inspection changed"
    ISSUED = "inspection.issued", "report issued"
    LIMITED = "limitation.added", "limitation noted"
    UNLIMITED = "limitation.removed", "limitation taken off the draft"
    COVERED = "limitation.covered", "limitation covered by a later inspection"
    NOTED = "observation.noted", "observation noted"
    CHANGED = "observation.changed", "observation changed before issue"
    DROPPED = "observation.dropped", "observation dropped before issue"
    REPORTED = "observation.reported", "defect reported"
    REVIEWED = "observation.reviewed", "code decided"
    FOUND = "observation.finding", "investigation ended in a finding"
    TAKEN_ON = "observation.taken-on", "next step given to somebody"
    RECOUNTED = "observation.recounted", "dates counted again"
    PHOTOGRAPHED = "observation.photographed", "photo added"
    ENDED = "observation.ended", "observation closed"
    REOPENED = "observation.reopened", "observation open again"
    MADE_SAFE = "made-safe.done", "made safe for now"
    LOOKED_AGAIN = "made-safe.looked-again", "looked again at what was made safe"
    RECONNECTED = "made-safe.reconnected", "reconnected: danger present again"
    NOTICE_GIVEN = "notice.given", "danger notice given"
    NOTICE_ANSWERED = "notice.answered", "danger notice answered"
    READ = "reading.taken", "reading taken"
