"""What the ledger says of people, competence, instruments and private links."""

from django.db.models import TextChoices


class Verb(TextChoices):
    INVITED = "person.invited", "person invited"
    INVITED_AGAIN = "person.invited-again", "person invited again"
    EDITED = "person.edited", "person's details changed"
    LEFT = "person.left", "person left the firm"
    RETURNED = "person.returned", "person came back to the firm"
    COMPETENCE = "competence.recorded", "competence recorded"
    COMPETENCE_ENDED = "competence.ended", "competence ended"
    SKILL = "skill.recorded", "skill recorded"
    SKILL_ENDED = "skill.ended", "skill ended"
    WEEK = "hours.set", "hours of the week set"
    AWAY = "away.noted", "days away noted"
    NOT_AWAY = "away.withdrawn", "not away after all"
    INSTRUMENT = "instrument.added", "instrument added"
    CHECKED = "instrument.checked", "instrument's accuracy checked"
    FOUND_WRONG = "instrument.found-wrong", "instrument found to measure wrongly"
    ARCHIVED = "instrument.archived", "instrument taken out of use"
    LINK_MADE = "link.made", "private link made"
    LINK_WITHDRAWN = "link.withdrawn", "private link withdrawn"
    TOKEN_MADE = "token.made", "personal token made"
    TOKEN_ENDED = "token.ended", "personal token ended"
