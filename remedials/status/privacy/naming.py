"""Taking one person out of words: their name, e-mail address and telephone number. Pure.

They are found as they were entered, without the title in front, and by title and surname. A first name or a surname alone, a
nickname or a slip of the pen is not found: whoever erases is told so.
"""

import re
from dataclasses import dataclass

GONE = "[erased]"
TITLES = ("Mr", "Mrs", "Ms", "Miss", "Mx", "Dr", "Prof", "Professor", "Rev", "Sir", "Dame", "Lady", "Lord", "Cllr")
LEAST_DIGITS = 6
LEAST = 3
"""Letters of a name below which it would be found inside other words' company too often."""


@dataclass(frozen=True, slots=True)
class Person:
    """What names one customer, and the words that stand in its place."""

    name: str
    email: str
    phone: str
    address: str
    instead: str
    titles: bool = True
    """Whether they can have a title before their surname: not an organisation."""

    @property
    def needles(self) -> list[str]:
        """What a row must hold, at least one of them, to be looked at: for a search that ignores case."""
        return [text for text in (self.name, self.email, self.phone, *self._lines) if len(text) >= LEAST]

    @property
    def patterns(self) -> list[str]:
        """The same as regular expressions that PostgreSQL reads too: their number, and other spellings of their name."""
        return [_spelled(name) for name in self.names[1:] if len(name) >= LEAST] + (
            [self.number] if self.number else []
        )

    @property
    def names(self) -> list[str]:
        """How they are written: "Mr Odo Fennimore", "Odo Fennimore", "Mr Fennimore", "Mrs Fennimore" and so on.

        An organisation that is named by itself has no title, and a name of one word no surname.
        """
        words = self.name.split()
        bare = words[1:] if words and words[0].rstrip(".") in TITLES else words
        titled = [f"{title} {bare[-1]}" for title in TITLES] if self.titles and len(words) > 1 and bare else []
        return list(
            dict.fromkeys(name for name in (self.name, " ".join(bare) if len(bare) > 1 else "", *titled) if name)
        )

    @property
    def _lines(self) -> list[str]:
        """The address as it is written, and on one line. Not its single lines: the place of a site is no secret of theirs."""
        lines = [line.strip() for line in self.address.splitlines() if line.strip()]
        return list(dict.fromkeys([self.address.strip(), ", ".join(lines)])) if len(lines) > 1 else []

    def out_of(self, text: str) -> str:
        """`text` without them: the name by `instead`, the rest by GONE."""
        for needle in sorted({*self.needles, *self.names}, key=len, reverse=True):
            if len(needle) >= LEAST:
                by = self.instead if needle in self.names else GONE
                text = re.sub(rf"(?<![\w@]){_spelled(needle)}(?!\w)", by, text, flags=re.IGNORECASE)
        return self._phone_out_of(text)

    @property
    def number(self) -> str:
        """Their telephone number with whatever spaces, as a regular expression that PostgreSQL reads too; "" without one."""
        digits = re.sub(r"\D", "", self.phone)
        return "" if len(digits) < LEAST_DIGITS else "[ ()-]*".join(digits)

    def _phone_out_of(self, text: str) -> str:
        """The number with other spaces than it was entered with is theirs too."""
        return re.sub(rf"(?<!\d)\+?{self.number}(?!\d)", GONE, text) if self.number else text


def _spelled(words: str) -> str:
    """ "Mr Fennimore" as a regular expression that also finds "Mr. Fennimore" and two spaces."""
    return r"\.?\s+".join(re.escape(word) for word in words.split())
