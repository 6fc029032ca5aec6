"""What a customer's page says, in plain words and never more than is known. Pure: counts and dates in, sentences out."""

from remedials.status.rules.first_words import SURVEY, Basis, Known, OpenItem, first_words, mood, not_known
from remedials.status.rules.words import (
    CODE_WORDS,
    ORDER,
    SHORT,
    basis_words,
    completion_words,
    confirmation_words,
    ended_words,
    how_many,
    listed,
    long_day,
    meaning,
    promised_words,
    undecided_words,
    work_words,
)

__all__ = [
    "CODE_WORDS",
    "ORDER",
    "SHORT",
    "SURVEY",
    "Basis",
    "Known",
    "OpenItem",
    "basis_words",
    "completion_words",
    "confirmation_words",
    "ended_words",
    "first_words",
    "how_many",
    "listed",
    "long_day",
    "meaning",
    "mood",
    "not_known",
    "promised_words",
    "undecided_words",
    "work_words",
]
