"""What is done about visits."""

from remedials.visits.operations.booking import book_visit, cancel_visit

__all__ = ["book_visit", "cancel_visit"]
