"""What is done about visits."""

from remedials.visits.operations.booking import book_visit
from remedials.visits.operations.calling_off import cancel_visit
from remedials.visits.operations.moving import move_visit

__all__ = ["book_visit", "cancel_visit", "move_visit"]
