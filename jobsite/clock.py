"""The one place where the time is read. Rules and operations get `now` passed in."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

LONDON = ZoneInfo("Europe/London")


def now() -> datetime:
    """The present instant, in UTC."""
    return datetime.now(UTC)


def local_day(instant: datetime) -> date:
    """The firm's date at `instant`: the day in London, never the day in UTC."""
    return instant.astimezone(LONDON).date()
