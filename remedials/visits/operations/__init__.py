"""What is done about visits."""

from remedials.visits.operations.booking import book_visit
from remedials.visits.operations.calling_off import cancel_visit
from remedials.visits.operations.feeds import count_feed, make_feed, withdraw_feed
from remedials.visits.operations.moving import move_visit

__all__ = ["book_visit", "cancel_visit", "count_feed", "make_feed", "move_visit", "withdraw_feed"]
