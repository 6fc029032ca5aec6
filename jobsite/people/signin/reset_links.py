"""The links that set a password: by whoever was invited, or forgot it. Each works once, and not for long."""

from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.utils.crypto import constant_time_compare
from django.utils.http import base36_to_int

from jobsite import clock
from jobsite.people.signin.limits import INVITATION, RESET_LINK


class LinkTokens(PasswordResetTokenGenerator):
    """A token is dead once the password, the address or `sign_in_epoch` changed, or the person left."""

    def _make_hash_value(self, user: Any, timestamp: int) -> str:
        return f"{super()._make_hash_value(user, timestamp)}{user.sign_in_epoch}{user.is_active}"

    def _now(self) -> datetime:
        return clock.now().replace(tzinfo=None)

    def check_token(self, user: Any, token: str | None) -> bool:
        """Whether `token` sets the password of `user` now: an hour for who has one, three days for who was invited."""
        if user is None or not token or not user.is_active:
            return False
        try:
            made = base36_to_int(token.split("-")[0])
        except ValueError:
            return False
        secrets = [self.secret, *self.secret_fallbacks]
        if not any(constant_time_compare(self._make_token_with_timestamp(user, made, s), token) for s in secrets):
            return False
        lasts = RESET_LINK if user.has_usable_password() else INVITATION
        return timedelta(seconds=self._num_seconds(self._now()) - made) <= lasts


link_tokens = LinkTokens()
