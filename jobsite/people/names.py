"""How the firm's people are named to customers: by their first name, unless the firm chooses otherwise."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from jobsite.firm.queries import the_firm
from jobsite.people.models import User


def for_customers(name: str, *, surnames: bool) -> str:
    """ "Mina Vale" as a customer reads it: "Mina", with `surnames` (a setting of the firm) in full."""
    return name if surnames else (name.split() or [""])[0]


@dataclass(frozen=True, slots=True)
class AsCustomersRead:
    """The firm's choice, asked for once for a whole page or document, and how names and words read by it."""

    surnames: bool
    people: tuple[str, ...] = ()

    def name(self, name: str) -> str:
        """A name of one of the firm's people."""
        return for_customers(name, surnames=self.surnames)

    def words(self, text: str) -> str:
        """Free text in which one of the firm's people may be named in full, as "key with Mina Vale"."""
        if self.surnames:
            return text
        return _named_shorter(text, self.people)

    def everywhere(self, facts: Any) -> Any:
        """`facts` of a document (dicts, lists, text) with `words` said of every text in it."""
        if isinstance(facts, dict):
            return {key: self.everywhere(value) for key, value in facts.items()}
        if isinstance(facts, list):
            return [self.everywhere(value) for value in facts]
        return self.words(facts) if isinstance(facts, str) else facts


def _named_shorter(text: str, people: Iterable[str]) -> str:
    """`text` with each full name of `people` shortened; longer names first, so that none is cut in two."""
    for full in sorted(people, key=len, reverse=True):
        short = for_customers(full, surnames=False)
        if short != full:
            text = re.sub(rf"(?<!\w){re.escape(full)}(?!\w)", short, text, flags=re.IGNORECASE)
    return text


def as_customers_read() -> AsCustomersRead:
    """The firm's choice. One statement; `words` changes nothing."""
    return AsCustomersRead(the_firm().surnames)


def words_as_customers_read() -> AsCustomersRead:
    """The firm's choice with the names of all of its people, for free text too. Two statements."""
    return AsCustomersRead(the_firm().surnames, tuple(User.objects.values_list("name", flat=True)))
