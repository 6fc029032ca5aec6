"""Processes of the service beside a benchmark: with its own settings, on the database that is measured."""

import os
from pathlib import Path
from urllib.parse import quote

from django.db import connection

MADE_UP_SECRET = "made-up-for-measuring-only-kM3vQ8zR1tX6yB0nL5wJ9cF2hG7sD4a"


def environment(var: Path, email_url: str) -> dict[str, str]:
    """The environment of such a process, whose own files lie below `var`."""
    mine = {name: value for name, value in os.environ.items() if not name.startswith(("DJANGO_", "REDIS_"))}
    return mine | {
        "DJANGO_SETTINGS_MODULE": "jobsite.settings",
        "DATABASE_URL": database_url(),
        "JOBSITE_VAR": str(var),
        "EMAIL_URL": email_url,
        "SECRET_KEY": MADE_UP_SECRET,
        "ALLOWED_HOSTS": "works.example.com",
    }


def database_url() -> str:
    """The database of this process' own connection as an address."""
    at = connection.settings_dict
    host, port = str(at["HOST"]), f":{at['PORT']}" if at.get("PORT") else ""
    user = quote(str(at["USER"])) + (f":{quote(str(at['PASSWORD']), safe='')}" if at.get("PASSWORD") else "")
    where = f"{user}@/{host}" if host.startswith("/") else f"{user}@{host}{port}"
    return f"postgres://{where}/{at['NAME']}"
