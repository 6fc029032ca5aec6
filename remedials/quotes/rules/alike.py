"""Which remedials are offered in one line: those of the same standard job, or with the same words. Values only."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

MOST_PLACES = 8


@dataclass(frozen=True, slots=True)
class Like:
    """What is compared: the work's words, its standard job (None: none), its site and how VAT falls on it."""

    key: UUID
    words: str
    job: UUID | None
    site: UUID
    treatment: str
    code: str = ""


def groups(works: Iterable[Like]) -> list[list[UUID]]:
    """`works` in groups, each to be one line, in the order in which the first of each came.

    Alike are two at one site, of one code and one treatment, with the same standard job or, where one has none, the
    same words but for blanks and capitals.
    """
    found: dict[tuple[object, ...], list[UUID]] = {}
    for work in works:
        what: object = work.job or " ".join(work.words.casefold().split())
        found.setdefault((work.site, work.code, work.treatment, what), []).append(work.key)
    return list(found.values())


def together_words(words: Sequence[str], places: Sequence[str]) -> str:
    """One text for several works: the words once where they are the same, and where each is."""
    different = list(dict.fromkeys(text.strip() for text in words))
    if len(words) == 1:
        return different[0]
    if len(different) > 1:
        return "\n".join(different)
    named = list(dict.fromkeys(filter(None, places)))
    where = "; ".join(named[:MOST_PLACES]) + (
        f"; and {len(named) - MOST_PLACES} more" if len(named) > MOST_PLACES else ""
    )
    return f"{different[0]} ({len(words)} of them{': ' + where if where else ''})"
