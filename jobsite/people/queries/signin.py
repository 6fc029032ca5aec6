"""How people sign in, for their own page and for a manager's, as ready strings."""

from datetime import UTC, datetime
from typing import Any

from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.urls import reverse

from jobsite.firm.queries import the_firm
from jobsite.people.models import SignIn, User
from jobsite.people.signin import tries
from jobsite.people.signin.limits import LASTS
from jobsite.people.signin.sessions import BEGAN, KIND, SEEN, SessionStore, is_over
from jobsite.words import when

AT_MOST = 20
LOUD = frozenset({SignIn.What.WRONG_PASSWORD, SignIn.What.WRONG_CODE, SignIn.What.SHUT})
# What a browser calls itself, and how people call it; the first that occurs counts.
BROWSERS = (("Edg/", "Edge"), ("OPR/", "Opera"), ("Firefox/", "Firefox"), ("Chrome/", "Chrome"), ("Safari/", "Safari"))
SYSTEMS = (
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"), ("Mac OS X", "Mac"),
    ("Linux", "Linux"),
)  # fmt: skip


def device_words(told: str) -> str:
    """ "Chrome on Android" of what a browser calls itself; its first words where it is none that we know."""
    browser = next((name for mark, name in BROWSERS if mark in told), "")
    system = next((name for mark, name in SYSTEMS if mark in told), "")
    if browser and system:
        return f"{browser} on {system}"
    return browser or system or told[:40] or "not told"


def sessions(user: User, *, here: str | None, now: datetime) -> list[dict[str, Any]]:
    """Where `user` is signed in, this session (`here`, its key) first, then what was used last. Two statements."""
    alive = _alive(user, now)
    rows = UserSession.objects.filter(user=user, session_key__in=alive)
    ordered = sorted(rows, key=lambda row: (row.session_key != here, -alive[row.session_key].get(SEEN, 0)))
    return [_session(row, alive[row.session_key], here) for row in ordered]


def _alive(user: User, now: datetime) -> dict[str, dict[str, Any]]:
    """What the sessions of `user` hold that still open something, by their keys."""
    keys = UserSession.objects.filter(user=user).values("session_key")
    found = {}
    for kept in Session.objects.filter(session_key__in=keys, expire_date__gt=now):
        held = SessionStore().decode(kept.session_data)
        digest = held.get("_auth_user_hash", "")
        if not is_over(held, now.timestamp()) and digest == user.get_session_auth_hash():
            found[kept.session_key] = held
    return found


def _session(row: UserSession, held: dict[str, Any], here: str | None) -> dict[str, Any]:
    began, seen = _at(held.get(BEGAN)), _at(held.get(SEEN))
    ends = LASTS.get(held.get(KIND, ""), LASTS["desk"])
    return {
        "device": device_words(row.user_agent),
        "address": row.ip,
        "since": when(began) if began else "",
        "seen": when(seen) if seen else "",
        "ends": when(began + ends.altogether) if began else "",
        "here": row.session_key == here,
        "end": reverse("people:session_end", args=[row.pk]),
    }


def _at(seconds: float | None) -> datetime | None:
    return datetime.fromtimestamp(seconds, UTC) if seconds else None


def events(user: User) -> list[dict[str, Any]]:
    """What happened at the door lately, the latest first. One statement."""
    return [
        {
            "at": when(row.at),
            "what": row.get_what_display(),
            "means": row.means,
            "device": device_words(row.device),
            "address": row.address or "",
            "loud": row.what in LOUD,
        }
        for row in user.sign_ins.order_by("-at", "-pk")[:AT_MOST]
    ]


def means(user: User) -> list[str]:
    """By what `user` may sign in, in words. One statement."""
    kinds = list(Authenticator.objects.filter(user_id=user.pk).order_by("created_at").values_list("type", flat=True))
    found = ["password"] if user.has_usable_password() else []
    found += ["authenticator app"] if "totp" in kinds else []
    keys = kinds.count("webauthn")
    found += [f"{keys} passkeys" if keys > 1 else "a passkey"] if keys else []
    found += ["recovery codes"] if "recovery_codes" in kinds else []
    return found


def of_person(user: User, *, now: datetime) -> dict[str, Any]:
    """What a manager sees of somebody's sign-in. Five statements."""
    have = means(user)
    return {
        "means": ", ".join(have) or "nothing yet",
        "has_second_step": len(have) > ("password" in have),
        "lacks": user.lacks_second_step,
        "shut": tries.is_shut(user, now=now),
        "sessions": sessions(user, here=None, now=now),
        "events": events(user),
    }


def asked_words() -> str:
    """Of whom the firm asks a second step. One statement."""
    return the_firm().get_second_step_for_display()


def without_second_step() -> list[str]:
    """The names of those of whom the firm asks a second step and who have none yet. Two statements."""
    have = set(Authenticator.objects.exclude(type="recovery_codes").values_list("user_id", flat=True))
    firm = the_firm()
    found = []
    for user in User.objects.filter(is_active=True).order_by("name"):
        user.asked = firm.second_step_for  # type: ignore[attr-defined]  # as WithFirm annotates it
        if user.must_have_second_step and user.pk not in have:
            found.append(user.name)
    return found
