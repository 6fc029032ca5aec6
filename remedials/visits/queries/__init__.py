"""What pages read of visits."""

from remedials.visits.queries.visits import FORTNIGHT, around, begins, bookable, diary, my_day, visit_page

__all__ = ["FORTNIGHT", "around", "begins", "bookable", "diary", "my_day", "visit_page"]
