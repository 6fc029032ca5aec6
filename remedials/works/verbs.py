"""What is done to remedials, as the record names it."""

from django.db.models import TextChoices


class Verb(TextChoices):
    MADE = "remedial.made", "remedial made"
    EDITED = "remedial.edited", "remedial changed"
    TAKEN_ON = "remedial.taken-on", "next step given to somebody"
    APPROVED = "remedial.approved", "approved"
    DECLINED = "remedial.declined", "declined"
    OFFERED_AGAIN = "remedial.offered-again", "offered again"
    CANCELLED = "remedial.cancelled", "cancelled"
    BY_OTHERS = "remedial.by-others", "done by others"
    BOOKED = "remedial.booked", "booked"
    UNBOOKED = "remedial.unbooked", "taken off its visit"
    PART_DONE = "remedial.part-done", "part done, the rest to book again"
    PHOTO_ADDED = "remedial.photo-added", "photo after the work added"
    PHOTO_REMOVED = "remedial.photo-removed", "photo taken away before closing"
    CLOSED = "remedial.closed", "closed with proof"
    FILED_BESIDE = "remedial.filed-beside", "closed a second time, filed beside the first"
    REVIEWED = "remedial.reviewed", "proof reviewed and accepted"
    SENT_BACK = "remedial.sent-back", "proof sent back"
    REOPENED = "remedial.reopened", "reopened"
    FOLLOWED = "remedial.followed", "goes on for a later observation of the same defect"
    WENT_BACK = "remedial.went-back", "is for the earlier observation alone again"
    WAITS = "waiting.begun", "waits on somebody outside"
    CHASED = "waiting.chased", "chased"
    WAITS_NO_MORE = "waiting.ended", "waits no more"
