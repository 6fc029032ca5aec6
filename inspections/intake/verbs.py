"""What the ledger says of spreadsheets that come in."""

from django.db.models import TextChoices


class Verb(TextChoices):
    RECEIVED = "intake.received", "spreadsheet received"
    READ = "intake.read", "spreadsheet read"
    UNREADABLE = "intake.unreadable", "spreadsheet could not be read"
    READ_AGAIN = "intake.read-again", "spreadsheet to be read again"
    LEFT_OUT = "intake.left-out", "row of a spreadsheet left out"
    PUT_BACK = "intake.put-back", "row of a spreadsheet put back"
    CORRECTED = "intake.corrected", "row of a spreadsheet put right"
    UNCORRECTED = "intake.uncorrected", "row of a spreadsheet as it was in the file again"
    SAID_SAME = "intake.said-same", "row of a report said to be an open observation, or a new one"
    UNSAID_SAME = "intake.unsaid-same", "asked again whether a row of a report is an open observation"
    ASKED = "intake.asked", "spreadsheet to be taken in"
    NOT_TAKEN_IN = "intake.not-taken-in", "spreadsheet not taken in"
    TAKEN_IN = "intake.taken-in", "spreadsheet taken in"
    SET_ASIDE = "intake.set-aside", "spreadsheet set aside"
