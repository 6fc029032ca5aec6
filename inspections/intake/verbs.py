"""What the ledger says of spreadsheets that come in."""

from django.db.models import TextChoices


class Verb(TextChoices):
    RECEIVED = "intake.received", "spreadsheet received"
    READ = "intake.read", "spreadsheet read"
    UNREADABLE = "intake.unreadable", "spreadsheet could not be read"
    READ_AGAIN = "intake.read-again", "spreadsheet to be read again"
    LEFT_OUT = "intake.left-out", "row of a spreadsheet left out"
    PUT_BACK = "intake.put-back", "row of a spreadsheet put back"
    TAKEN_IN = "intake.taken-in", "spreadsheet taken in"
    SET_ASIDE = "intake.set-aside", "spreadsheet set aside"
