"""Sign-in: accounts come by invitation only."""

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class ClosedToSignUp(DefaultAccountAdapter):
    """Nobody makes an account for themselves."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False
