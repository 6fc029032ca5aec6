"""What pages read of remedials."""

from remedials.works.queries.closing import fresh_readings, still_to_come, what_is_missing

__all__ = ["fresh_readings", "still_to_come", "what_is_missing"]
