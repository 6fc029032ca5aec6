"""What is done about visits."""

from remedials.visits.operations.booking import book_visit
from remedials.visits.operations.calling_off import cancel_visit
from remedials.visits.operations.confirming import answer_by_link, ask_whether_it_suits, record_confirmation
from remedials.visits.operations.feeds import count_feed, make_feed, withdraw_feed
from remedials.visits.operations.moving import move_visit
from remedials.visits.operations.settling import no_access, settle_line

__all__ = [
    "answer_by_link",
    "ask_whether_it_suits",
    "book_visit",
    "cancel_visit",
    "count_feed",
    "make_feed",
    "move_visit",
    "no_access",
    "record_confirmation",
    "settle_line",
    "withdraw_feed",
]
