"""What a page says of a document."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DocumentLine:
    """A document to be had: `address` is below that of the page; `made` and `size` are empty until it was made once."""

    title: str
    says: str
    made: str
    size: str
    address: str
