"""How the firm's people are named to customers: by their first name, unless the firm chooses otherwise."""

import re
from dataclasses import dataclass
from functools import lru_cache
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


def _named_shorter(text: str, people: tuple[str, ...]) -> str:
    """`text` with each full name of `people` shortened."""
    names, shorter = _full_names(people)
    return names.sub(lambda found: shorter[(found.lastindex or 1) - 1], text) if names else text


@lru_cache(maxsize=8)
def _full_names(people: tuple[str, ...]) -> tuple[re.Pattern[str] | None, list[str]]:
    """What finds the names that have a shorter one, each a group, and these; longer names first: none is cut in two."""
    full = [name for name in sorted(people, key=len, reverse=True) if for_customers(name, surnames=False) != name]
    either = "|".join(f"({re.escape(name)})" for name in full)
    names = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE) if full else None
    return names, [for_customers(name, surnames=False) for name in full]


def as_customers_read() -> AsCustomersRead:
    """The firm's choice. One statement; `words` changes nothing."""
    return AsCustomersRead(the_firm().surnames)


def words_as_customers_read() -> AsCustomersRead:
    """The firm's choice with the names of all of its people, for free text too. Two statements."""
    return AsCustomersRead(the_firm().surnames, tuple(User.objects.values_list("name", flat=True)))
