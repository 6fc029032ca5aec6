"""What is said once after a form, kept in a cookie until the next page shows it."""

from django.conf import settings
from django.contrib.messages.storage.cookie import CookieStorage
from django.contrib.messages.storage.fallback import FallbackStorage
from django.contrib.messages.storage.session import SessionStorage


class OfThisHost(CookieStorage):
    """In a cookie of this host alone, as the session's is."""

    @property
    def cookie_name(self) -> str:  # type: ignore[override]
        """Its name."""
        return f"{settings.COOKIE_OF_HOST}messages"


class Said(FallbackStorage):
    """In the cookie while there is room, else in the session."""

    storage_classes = (OfThisHost, SessionStorage)
