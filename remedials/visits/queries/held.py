"""What the forms of a visit that are usable without signal say of themselves (`jobsite/hold.js`)."""

from typing import Any
from uuid import UUID

from jobsite.addresses import address


def held(form: str, key: UUID, *, kind: str, label: str, visit: UUID | None = None) -> dict[str, str]:
    """The names that `_form.html` reads; of one `visit` nothing overtakes what was said before."""
    then = {"hold_then": address("visits:visit", visit), "hold_group": f"visit:{visit}"} if visit else {}
    return {"hold": f"{form}:{key}", "hold_kind": kind, "hold_label": label} | then


def held_check_out(visit: UUID) -> dict[str, Any]:
    """The button that says one is out and well."""
    out = held("check-out", visit, kind="out", label="Working alone: out and well", visit=visit)
    return out | {"action": address("visits:check_out", visit)}
