"""What the lists beside a row (`jobsite.columns.listed`) are read and ordered with."""

from collections.abc import Iterable
from datetime import date, datetime

from inspections.choices import Code
from jobsite.columns import listed
from jobsite.words import joined

__all__ = ["ORDER_OF_CODES", "day_of", "joined", "listed", "moment_of", "worst_first"]

ORDER_OF_CODES = (*(code.value for code in (Code.C1, Code.C2, Code.FI, Code.C3)), "")


def day_of(text: str | None) -> date | None:
    """The date in ISO text."""
    return date.fromisoformat(text) if text else None


def moment_of(text: str | None) -> datetime | None:
    """The instant in ISO text."""
    return datetime.fromisoformat(text) if text else None


def worst_first(codes: Iterable[str]) -> list[str]:
    """Codes in the order C1, C2, FI, C3, not coded."""
    return sorted(codes, key=ORDER_OF_CODES.index)
