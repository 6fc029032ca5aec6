"""Which passwords are refused: those that are known to others, and those that are made of what anybody knows of us."""

import re
from functools import cache
from typing import Any

from django.core.exceptions import ValidationError
from zxcvbn.frequency_lists import FREQUENCY_LISTS

from jobsite.firm.queries import the_firm

KNOWN = "This password is on a list of passwords that were stolen elsewhere: choose another."
GUESSED = (
    "This password is made of words that anybody would try first (the firm, its trade, your name): choose another."
)

# Words of the trade and of this program. The firm's own name, address and people's names come from the database.
TRADE = """jobsite remedial remedials inspection inspections electric electrics electrical electrician electricians
sparks sparky eicr circuit circuits board boards breaker fuse voltage engineer engineers office manager password
passphrase welcome letmein admin login signin england scotland wales"""
LEAST_LEFT = 6  # letters and figures that must be left without such words
MARKS = str.maketrans("013457@$", "oieastas")


@cache
def known_passwords() -> frozenset[str]:
    """30,000 passwords that occur most often among ten million stolen ones (M. Burnett's collection, in the list that the
    package zxcvbn carries, MIT licence). Django's own list of 20,000 common ones is asked beside it.
    """
    return frozenset(FREQUENCY_LISTS["passwords"])


class NotKnownToOthers:
    """Refuses a password that stands on the list, whatever its case and what stands around it."""

    def validate(self, password: str, user: Any = None) -> None:
        """Raises ValidationError."""
        plain = password.strip().lower()
        bare = re.sub(r"^[\W\d_]+|[\W\d_]+$", "", plain)
        twice = (plain + plain).find(plain, 1)  # "monkeymonkeymonkey" is as good as "monkey"
        if {plain, bare, plain[:twice]} & known_passwords():
            raise ValidationError(KNOWN, code="password_known")

    def get_help_text(self) -> str:
        """What stands beside the field."""
        return "No password that is known from a theft elsewhere."


class NotAboutUs:
    """Refuses a password that is little more than the firm's name, its trade, its place or the person's own name."""

    def validate(self, password: str, user: Any = None) -> None:
        """Raises ValidationError."""
        words = context_words(user)
        for left in {_letters(password), _letters(password.lower().translate(MARKS))}:
            rest = left
            for word in words:
                rest = rest.replace(word, "")
            if rest != left and len(re.sub(r"\d", "", rest)) < LEAST_LEFT:
                raise ValidationError(GUESSED, code="password_about_us")

    def get_help_text(self) -> str:
        """What stands beside the field."""
        return "Not the firm's name, its trade or your own name."


def context_words(user: Any = None) -> list[str]:
    """The words that count for nothing in a password, longest first: of the trade, the firm, its address and the person."""
    firm = the_firm()
    told = [TRADE, firm.name, firm.address, firm.email, getattr(user, "name", ""), getattr(user, "email", "")]
    words = {_letters(word) for text in told for word in re.split(r"[^\w]+", text)}
    return sorted((word for word in words if len(word) >= 3), key=lambda word: (-len(word), word))


def _letters(text: str) -> str:
    return re.sub(r"[\W_]", "", text.lower())
