"""Sessions that end by themselves: after a time without a request, and after a time altogether (`limits`)."""

from datetime import datetime
from typing import Any

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as Kept

from jobsite import clock
from jobsite.people.signin.limits import DESK, LASTS, SEEN_EVERY

BEGAN, SEEN, KIND = "began", "seen", "kind"


class SessionStore(Kept):
    """Django's sessions in the database. Times are in seconds since 1970, by our clock.

    The limits are looked at where a session is read, so that no page, file or call of the API passes them by.
    """

    def load(self) -> dict[str, Any]:
        """What the session holds; nothing once it is over, and then it is gone from the database too."""
        held: dict[str, Any] = super().load()
        if SESSION_KEY not in held:
            return held
        now = clock.now().timestamp()
        if is_over(held, now):
            self.delete(self.session_key)
            self._session_key = None
            return {}
        if now - held.get(SEEN, now) > SEEN_EVERY.total_seconds():
            held[SEEN] = now
            self.modified = True
        return held

    def save(self, must_create: bool = False) -> None:
        """Keep it; a sign-in without a beginning begins now."""
        if SESSION_KEY in self and BEGAN not in self:
            self[BEGAN] = self[SEEN] = clock.now().timestamp()
        super().save(must_create)


def begin(session: Any, *, kind: str, now: datetime) -> None:
    """Somebody signed in: count from now, by the limits of that kind of work (a key of `LASTS`)."""
    session[BEGAN] = session[SEEN] = now.timestamp()
    session[KIND] = kind


def is_over(held: dict[str, Any], now: float) -> bool:
    """Whether a signed-in session is past one of its limits at `now`."""
    lasts = LASTS.get(held.get(KIND, ""), DESK)
    began = held.get(BEGAN, 0)
    seen = held.get(SEEN, began)
    return now - began > lasts.altogether.total_seconds() or now - seen > lasts.idle.total_seconds()
