"""What personal data are kept, how long unless the firm says otherwise, and why. Pure.

No law gives a period here (UK GDPR, Article 5(1)(e): no longer than needed; read in a secondary page). The months below are
common practice, to be checked by whoever answers for the firm. Six years follow the time in which a claim from a contract
can be brought (from memory; in Scotland five).
"""

from calendar import monthrange
from dataclasses import dataclass
from datetime import date

VERIFY = "Common practice: check it with whoever advises the firm."
LEAST, MOST = 1, 1200


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of data that is shed by itself after some months. `counts_from`: from which day they count."""

    key: str
    label: str
    holds: str
    sheds: str
    counts_from: str
    months: int | None
    why: str


SHED = (
    Kind(
        "messages", "E-mails", "To whom, the subject and the words of each e-mail that the program sent.",
        "Address, subject and words go. That one was sent, when, about which site and what became of it stays.",
        "the day on which it was sent", 72,
        "Shows what was told, for as long as a claim from a contract can commonly be brought.",
    ),
    Kind(
        "links", "Whom a private link was given to", "The words in which the office noted whom a link was for.",
        "Those words go. That there was a link, and how often it was opened, stays.",
        "the day on which it ended or was withdrawn", 12,
        "Answers who could see a page, for a while after nobody can any more.",
    ),
    Kind(
        "attempts", "Attempts to get in", "Whom somebody asked to be let in, what was said, what they replied.",
        "Names and words go. That somebody tried, on which day and how, stays.",
        "the day of the attempt", 72,
        "Evidence of reasonable steps, which a landlord may have to show.",
    ),
    Kind(
        "times", "Answers about the time of a visit", "Who was asked or answered, and the words with it.",
        "Names and words go. What was answered, and when, stays.",
        "the day of the answer", 24,
        "Settles what was agreed about a visit.",
    ),
    Kind(
        "contacts", "Whom to ask to be let in", "Name, telephone, e-mail of a contact, best times, and what to mind there.",
        "All of it goes.",
        "the day on which the site was archived or the unit taken out", 6,
        "Needed only while somebody of the firm goes there. It may tell of somebody's health.",
    ),
    Kind(
        "access", "Access notes", "How to get in to a site, in the office's words.",
        "The words go.",
        "the day on which the site was archived", 6,
        "Needed only while somebody of the firm goes there.",
    ),
    Kind(
        "codes", "Alarm codes", "Sealed codes of a site.",
        "The code goes for good. That there was one, and who looked at it, stays.",
        "the day on which the site was archived; one that is taken out goes at once", 1,
        "A code that nobody needs any more is a danger only.",
    ),
)  # fmt: skip
BY_KEY = {kind.key: kind for kind in SHED}


@dataclass(frozen=True, slots=True)
class Stays:
    """One kind of data that stays although it may name people, and why."""

    label: str
    why: str


STAYS = (
    Stays(
        "Name, telephone number, e-mail address and postal address of customers: owners, landlords, agents, occupiers",
        "Kept for as long as somebody has, or had, something to do with a site in our care, to reach whoever answers for it, "
        "above all where it is dangerous. No day is set on which they go by themselves: whoever has nothing to do with a site "
        "any more can ask, and they are erased, unless a hold is in force.",
    ),
    Stays(
        "Reports, observations, readings, photographs and proof of works",
        "They say how safe an installation is. Whoever lives there next relies on them.",
    ),
    Stays(
        "Danger notices, what was made safe and with whom that was agreed",
        "Whether somebody was told of a danger, and who, must be shown even years later (claims: Article 17(3)(e)).",
    ),
    Stays(
        "What was handed over as the law asks of a landlord or of the firm",
        "A duty of law is met by it (Article 17(3)(b)).",
    ),
    Stays(
        "Quotes as they were sent, what was answered to them, and approvals of work",
        "VAT records are kept six years; a contract can be argued about for as long.",
    ),
    Stays(
        "Documents as they were handed out",
        "Each is checked against the record by its bytes: one with a name taken out would no longer be the one that was given.",
    ),
    Stays(
        "The record of who of the firm did what, when",
        "It names people and customers by keys only. Words that name a customer stand beside it and can be erased.",
    ),
    Stays("Competence of the firm's people, and their instruments", "They show that whoever did the work could."),
)
FORGOTTEN = (
    "Sessions and answers kept for phones end by themselves within weeks. Passwords and the addresses of private links are "
    "kept as hashes only. Nothing here is shown to anybody for advertising, and no page loads anything from elsewhere."
)
ARTICLES = (
    "Articles are those of the UK GDPR: Article 5 as a secondary page explains it, Articles 15 and 17 from memory. Check "
    "the current text; the Information Commissioner's Office explains it."
)
BACKUPS = "Copies of the database in a backup are not changed: keep no backup longer than what it holds may be kept."


def months_before(day: date, months: int) -> date:
    """The same day of the month so many calendar months before `day`; its last day where that month is shorter.

    Raises ValueError for months that lead before the year 1.
    """
    year, month = divmod(day.year * 12 + day.month - 1 - months, 12)
    if year < 1:
        raise ValueError(f"{months} months before {day} is no date")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def period_words(months: int | None) -> str:
    """72 as "6 years", 18 as "18 months"; None as "until somebody asks"."""
    if months is None:
        return "until somebody asks"
    number, unit = (months // 12, "year") if months % 12 == 0 else (months, "month")
    return f"{number} {unit}{'' if number == 1 else 's'}"
