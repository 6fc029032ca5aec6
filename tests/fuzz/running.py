"""How the API is tried against its own description, by schemathesis and a real server process."""

import os
from datetime import timedelta
from typing import Any

import schemathesis

from jobsite import clock
from jobsite.ids import new_id
from jobsite.people.operations import make_token
from tests.fuzz.world import settled

CASES = int(os.environ.get("FUZZ", "25"))


def config(token: str, **more: Any) -> schemathesis.Config:
    """All checks and phases, `CASES` cases an operation, the same each time."""
    return schemathesis.Config.from_dict(
        {
            "headers": {"Authorization": f"Bearer {token}"},
            "generation": {"max-examples": CASES, "deterministic": True, "database": "none", "no-shrink": True},
            "continue-on-failure": True,
            **more,
        }
    )


def token() -> str:
    """A token of somebody who may do everything in a firm that is filled."""
    now = clock.now()
    by = settled()
    return make_token(id=new_id(), name="fuzz", scope="write", expires_at=now + timedelta(days=1), by=by, now=now)[1]
