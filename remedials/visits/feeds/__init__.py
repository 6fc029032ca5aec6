"""Calendar feeds: what a phone needs of visits, as text by RFC 5545. Pure: facts in, bytes out."""

from remedials.visits.feeds.calendar import Entry, calendar

__all__ = ["Entry", "calendar"]
