"""What pages read of visits."""

from remedials.visits.queries.visits import around, begins, bookable, my_day, visit_page

__all__ = ["around", "begins", "bookable", "my_day", "visit_page"]
