"""Wrong passwords, counted so that a stranger stops at a few, and nobody can lock a person out of the devices they use.

A browser in which somebody signed in keeps a signed cookie that says so, and nothing else (OWASP calls it a device cookie). A
wrong password there counts for that device and account only; without it, for the account among all strangers, and for the
address it came from. So whoever tries passwords from outside shuts out other strangers, and themselves.
"""

import secrets
from datetime import datetime
from typing import Any

from allauth.account import app_settings
from allauth.core.internal import ratelimit
from django.conf import settings
from django.core import signing
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac

from jobsite.people.signin.limits import DEVICE_KNOWN_FOR, KNOWN_DEVICE

SALT = "jobsite.people.signin.tries"
AT_ONE_DEVICE = 5  # people that one browser is known for: the computer in the office


def cookie_name() -> str:
    """By https the browser itself sees that the cookie came from here alone (`__Host-`)."""
    return "__Host-device" if settings.SESSION_COOKIE_SECURE else "device"


def account_key(email: str) -> str:
    """By what name wrong passwords of an account are counted among strangers."""
    return email.strip().lower()


def device_key(request: HttpRequest, email: str) -> str:
    """By what name they are counted on a device where this account signed in before; "" on any other."""
    for number, whose in _known(request):
        if secrets.compare_digest(whose, _whose(email)):
            return f"{number}:{whose}"
    return ""


def remember_device(request: HttpRequest, response: HttpResponse, email: str) -> None:
    """Say in a cookie that this account signed in here."""
    known = [(number, whose) for number, whose in _known(request) if whose != _whose(email)]
    known = [(secrets.token_urlsafe(16), _whose(email)), *known][:AT_ONE_DEVICE]
    response.set_cookie(
        cookie_name(),
        signing.dumps(known, salt=SALT),
        max_age=int(DEVICE_KNOWN_FOR.total_seconds()),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def _known(request: HttpRequest) -> list[tuple[str, str]]:
    try:
        told = signing.loads(request.COOKIES.get(cookie_name(), ""), salt=SALT, max_age=DEVICE_KNOWN_FOR)
        return [(str(number), str(whose)) for number, whose in told]
    except (signing.BadSignature, ValueError, TypeError):
        return []


def _whose(email: str) -> str:
    return salted_hmac(SALT, account_key(email), algorithm="sha256").hexdigest()[:32]


def counted(request: HttpRequest, email: str) -> Any:
    """Count one try of a password. What came of it can be taken back; None where there were too many."""
    if device := device_key(request, email):
        action = "known_device"
        return ratelimit.consume(
            request, app="allauth.account", action=action, config={action: KNOWN_DEVICE}, key=device
        )
    return ratelimit.consume(request, app="allauth.account", action="login_failed", key=account_key(email))


def _account_keys(user: Any) -> list[tuple[str, Any]]:
    """Where the cache counts wrong passwords and wrong codes of an account, with how many there may be."""
    rates = [rate for rate in ratelimit.parse_rates(app_settings.RATE_LIMITS["login_failed"]) if rate.per == "key"]
    names = (account_key(user.email), f"mfa-auth-user-{user.pk}")
    request: Any = None  # which of them it is asked for tells only those that are counted by address
    return [
        (ratelimit.get_cache_key(request, app="allauth.account", action="login_failed", rate=rate, key=name), rate)
        for name in names
        for rate in rates
    ]


def clear(user: Any) -> None:
    """Forget the wrong passwords and codes that were tried for `user`, but for those on devices that they use."""
    cache.delete_many([key for key, _ in _account_keys(user)])


def is_shut(user: Any, *, now: datetime) -> bool:
    """Whether `user` is asked to wait before they may sign in on a device that is new to us."""
    for key, rate in _account_keys(user):
        lately = [at for at in cache.get(key, []) if at > now.timestamp() - rate.duration]
        if len(lately) >= rate.amount:
            return True
    return False
