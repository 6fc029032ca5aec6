"""What pages read of visits."""

from remedials.visits.queries import bring
from remedials.visits.queries.feeds import feed_file, feeds_page, find_feed, own_feed
from remedials.visits.queries.my_day import my_day
from remedials.visits.queries.sheets import job_sheet
from remedials.visits.queries.visits import around, begins, bookable, visit_page

__all__ = [
    "around",
    "begins",
    "bookable",
    "bring",
    "feed_file",
    "feeds_page",
    "find_feed",
    "job_sheet",
    "my_day",
    "own_feed",
    "visit_page",
]
