"""What of the ledger goes into an archive that leaves the house: by name, all else is sealed or left out. Pure."""

import re

# Entries of these verbs are given in full; a name that ends in a point stands for all that begin so.
TOLD = (
    "inspection.", "limitation.", "observation.", "not-seen-again.", "made-safe.", "notice.", "paper.", "reading.",
    "meters.", "occupancy.", "waiting.", "remedial.", "instrument.", "competence.", "skill.", "question.", "message.",
    "leaving.", "document.", "hold.", "bundle.", "site.", "unit.", "supply.", "board.", "circuit.", "circuits.", "feed.",
    "source.", "switching.", "link.", "visit.", "access.attempt", "quote.sent", "quote.answered",
    "quote.answer-taken-back", "quote.superseded", "quote.withdrawn", "quote.passed-on",
)  # fmt: skip
# … but not these: what the firm reckons for itself.
SEALED = ("remedial.priced",)
# What the firm says here to itself alone, often of whoever is given the archive: that it happened is told, why is not.
OWN_REASONS = ("hold.", "bundle.")
# Words that are never given: how to reach people and how to get in.
NEVER = frozenset(
    {"access", "access_notes", "address", "email", "phone", "tag", "held_for", "outage_with", "key_holder"}
)
# Words that name somebody, where a telephone number is at times written as well.
PEOPLE = frozenset(
    {
        "reported_by",
        "given_by",
        "given_to",
        "agreed_with",
        "answered_by",
        "who",
        "whom",
        "to",
        "sent_to",
        "on_whom",
        "name",
    }
)
EMAIL = re.compile(r"[^\s@]+@[^\s@]+")
NINE_DIGITS = re.compile(r"(?:\d[\s().-]*){9,}")
# As a telephone number is written: with its country, or from its trunk 0 on (common practice in the UK). Numbers of certificates
# and readings seldom begin so; where one does it is held back with the words around it.
TELEPHONE = re.compile(r"(?<![\w.,])(?:\+\d|\(?00?[1-9])(?:[\s().-]*\d){8,}")


def may_be_told(verb: str) -> bool:
    """Whether an entry of `verb` is given with what it says."""
    return verb not in SEALED and any(verb == name or (name.endswith(".") and verb.startswith(name)) for name in TOLD)


def may_be_given(verb: str, name: str, text: str) -> bool:
    """Whether the words `text`, kept under `name` beside an entry of `verb`, are given."""
    if (
        name in NEVER
        or verb.startswith(OWN_REASONS)
        or not may_be_told(verb)
        or EMAIL.search(text)
        or TELEPHONE.search(text)
    ):
        return False
    return not (name in PEOPLE and NINE_DIGITS.search(text))
