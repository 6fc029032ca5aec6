"""What the page of personal tokens shows, as ready strings."""

from datetime import datetime
from typing import Any

from jobsite.addresses import address
from jobsite.people.models import AccessToken, User
from jobsite.people.rights import Right
from jobsite.words import when

MOST = 200  # rows of a page; whoever has more sees the latest


def own(user: User, *, now: datetime) -> list[dict[str, Any]]:
    """The tokens of `user`, those that open something first, then the latest. One statement."""
    rows = AccessToken.objects.filter(user=user.pk).order_by("-made_at", "pk")[:MOST]
    shown = [_row(token, now) for token in rows]
    return sorted(shown, key=lambda row: not row["end"])


def of_others(user: User, *, now: datetime) -> list[dict[str, Any]]:
    """For who keeps people: everybody else's that open something. One statement, none for others."""
    if not user.may(Right.KEEP_PEOPLE):
        return []
    rows = AccessToken.objects.standing(now).exclude(user=user.pk).select_related("user")
    return [
        _row(token, now) | {"who": token.user.name} for token in rows.order_by("user__name", "-made_at", "pk")[:MOST]
    ]


def _row(token: AccessToken, now: datetime) -> dict[str, Any]:
    over = token.ended_at is not None or token.expires_at <= now
    state = (
        f"ended {when(token.ended_at)}"
        if token.ended_at
        else f"{'expired' if over else 'until'} {when(token.expires_at)}"
    )
    return {
        "name": token.name,
        "scope": token.get_scope_display(),
        "state": state,
        "made": when(token.made_at),
        "used": when(token.last_used_at) or "never",
        "end": "" if over else address("people:token_end_of", token.pk),
        "key": str(token.pk),
        "css": "gone" if over else "",
    }
