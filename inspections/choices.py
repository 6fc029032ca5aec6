"""The words that inspections and observations are described with."""

from django.db.models import TextChoices

from inspections.standards.quantities import Quantity
from inspections.standards.situation import Multiple


class Code(TextChoices):
    """Classification codes of BS 7671's condition report; empty: nobody competent has coded it yet, or it needs none."""

    C1 = "C1", "danger present"
    C2 = "C2", "potentially dangerous"
    FI = "FI", "further investigation required without delay"
    C3 = "C3", "improvement recommended"


DANGEROUS = (Code.C1, Code.C2, Code.FI)


class InspectionKind(TextChoices):
    PERIODIC = "periodic", "periodic inspection"
    INITIAL = "initial", "initial verification"
    SURVEY = "survey", "visual survey"
    CALL_OUT = "call-out", "call-out"


class InspectionState(TextChoices):
    DRAFT = "draft", "being written"
    ISSUED = "issued", "issued"
    REPLACED = "replaced", "replaced by a reissue"


class Outcome(TextChoices):
    SATISFACTORY = "satisfactory", "satisfactory"
    UNSATISFACTORY = "unsatisfactory", "unsatisfactory"
    NOT_STATED = "", "not stated"


class Decision(TextChoices):
    AGREE = "agree", "agrees"
    RECODE = "recode", "recodes"
    NO_CODE = "no-code", "finds that it deserves no code"


class Ended(TextChoices):
    """How an observation stopped being open."""

    OPEN = "", "open"
    REMEDIED = "remedied", "remedied"
    NO_CODE = "no-code", "needs no code"
    FINDING = "finding", "the investigation ended in a finding"
    OTHERS = "others", "done by others"
    CONTINUED = "continued", "continued by a later observation"
    GONE = "gone", "not there any more"
    WITHDRAWN = "withdrawn", "withdrawn"


class StillThere(TextChoices):
    """What a later inspection says of an open observation that it covers and does not note again."""

    GONE = "gone", "not there any more"
    NOT_LOOKED = "not-looked", "not looked at"
    UNANSWERED = "", "not answered"


class MadeSafeHow(TextChoices):
    LOCKED = "locked", "isolated and locked"
    COVERED = "covered", "covered"
    DISCONNECTED = "disconnected", "disconnected"


class MadeSafeEnd(TextChoices):
    REMEDIED = "remedied", "remedied"
    RECONNECTED = "reconnected", "reconnected: danger present again"
    LIFTED = "lifted", "lifted: found not to be needed"


class NoticeHow(TextChoices):
    HAND = "hand", "handed over"
    EMAIL = "email", "by e-mail"
    LEFT = "left", "left at the site"
    POST = "post", "by post"


class NoticeAnswer(TextChoices):
    ACKNOWLEDGED = "acknowledged", "acknowledged"
    REFUSED = "refused", "refused"
    NONE = "", "no answer yet"


QUANTITIES = [(quantity.value, quantity.label) for quantity in Quantity]
MULTIPLES = [(multiple.value, multiple.words) for multiple in Multiple]


class PaperAnswer(TextChoices):
    """How a paper that the law asks for was settled; empty: not yet.

    The last two come by themselves: what asked for it is no longer so, or its day had passed before we had the report.
    """

    DONE = "done", "done"
    NOT_NEEDED = "not-needed", "not needed"
    LAPSED = "lapsed", "no longer asked for"
    PAST = "past", "its day had passed when it came to us"


class SupplyHow(TextChoices):
    """How a paper reached somebody."""

    EMAIL = "email", "by e-mail"
    HAND = "hand", "by hand"
    POST = "post", "by post"
    DOOR = "door", "through the letterbox"
    AGENT = "agent", "through the landlord or the agent"
    ONLINE = "online", "on their own website, or through the firm's scheme"
    OTHER = "other", "in another way"


class SupplyCame(TextChoices):
    """What became of handing a paper over. What was only e-mailed has reached nobody until a person says so."""

    EMAILED = "emailed", "e-mailed"
    GIVEN = "given", "given"
    REFUSED = "refused", "refused to take it"


class AskedBy(TextChoices):
    """Who asked in writing for a copy of a report. The values are those of `standards.duty_rows.Trigger`."""

    AUTHORITY = "authority-asks", "the local authority"
    PROSPECTIVE_TENANT = "prospective-tenant-asks", "somebody who may become the tenant"


class Verdict(TextChoices):
    """The values are those of `standards.verdicts.Result`."""

    PASS = "pass", "pass"
    WARNING = "warning", "pass with a warning"
    FAIL = "fail", "fail"
    NOTED = "noted", "noted, nothing to judge it by"


class IntakeKind(TextChoices):
    BOARDS = "boards", "boards and circuits"
    REPORT = "report", "observations of an earlier report"


class IntakeState(TextChoices):
    RECEIVED = "received", "received, being read"
    READ = "read", "read, to be looked over"
    UNREADABLE = "unreadable", "could not be read"
    TAKING_IN = "taking-in", "being taken in"
    TAKEN_IN = "taken-in", "taken in"
    SET_ASIDE = "set-aside", "set aside"


class MeterUnit(TextChoices):
    WH = "Wh", "Wh"
    KWH = "kWh", "kWh"
    MWH = "MWh", "MWh"


class MetersFound(TextChoices):
    """What two meters say of each other; the values are those of `standards.metering.Found`."""

    AGREE = "agree", "they agree"
    POINTS = "points", "points to a common fault"
    UNEXPLAINED = "unexplained", "they do not agree"
    TOO_LITTLE = "too-little", "too little to tell"
