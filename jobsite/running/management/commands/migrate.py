"""`manage.py migrate`, safe beside a running service: it never makes people wait long behind a lock that it waits for itself.

Whoever waits for a table's lock holds up everybody who comes after. So each wait is short; then all is tried again, since a
migration that did not get its lock has changed nothing. An empty database gets the tables of `schema.sql` at once (`schema.py`).
"""

import time
from typing import Any

from django.core.management.base import CommandError
from django.core.management.commands.migrate import Command as DjangosOwn
from django.db import OperationalError, connections
from psycopg.errors import LockNotAvailable

from jobsite.running.schema import lay_down

LOCK_TIMEOUT = "3s"
TRIES = 10
PAUSE = 5.0  # seconds for those who queued meanwhile


class Command(DjangosOwn):
    def handle(self, *args: Any, **options: Any) -> None:
        connection = connections[options["database"]]
        if _all_of_it(options):
            lay_down(connection)
        for attempt in range(1, TRIES + 1):
            with connection.cursor() as cursor:
                cursor.execute("SELECT set_config('lock_timeout', %s, false)", [LOCK_TIMEOUT])
            try:
                super().handle(*args, **options)
            except OperationalError as error:
                if not isinstance(error.__cause__, LockNotAvailable):
                    raise
                if attempt == TRIES:
                    raise CommandError(
                        "The migrations did not get a lock that they need: others are using that table all the time. Nothing "
                        "is half done; try again when it is quieter."
                    ) from error
                self.stderr.write(f"A table is in use; trying again in {PAUSE:.0f} s.")
                connection.close()
                time.sleep(PAUSE)
            else:
                break
        with connection.cursor() as cursor:
            cursor.execute("RESET lock_timeout")


def _all_of_it(options: dict[str, Any]) -> bool:
    """Whether every migration is to run, and not some, or none but a look."""
    apart = ("app_label", "plan", "check_unapplied", "fake", "fake_initial", "prune")
    return not any(options.get(name) for name in apart)
