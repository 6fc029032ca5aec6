"""`manage.py backup [FILE]`: everything that the firm has, as one archive."""

import os
import secrets
from argparse import ArgumentParser
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.template.defaultfilters import filesizeformat

from jobsite import clock
from jobsite.running.backing_up import CannotBackUp, back_up
from jobsite.running.operations import note_backed_up
from jobsite.running.programs import NoProgram
from jobsite.running.sealed import key_is_weak

ENDING = ".backup"


class Command(BaseCommand):
    help = (
        "Write the database and all files into one archive: FILE, or one named by the time in var/backups. It is encrypted "
        "where BACKUP_KEY is in the environment. People may go on working meanwhile."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", nargs="?", type=Path, metavar="FILE")
        parser.add_argument(
            "--keep",
            type=int,
            metavar="N",
            help="of the archives in var/backups keep the latest N only, if this one is whole",
        )
        parser.add_argument("--new-key", action="store_true", help="print a new BACKUP_KEY and do nothing else")

    def handle(self, *args: object, file: Path | None, keep: int | None, new_key: bool, **options: object) -> None:
        if new_key:
            self.stdout.write(secrets.token_urlsafe(40))
            return
        key = os.environ.get("BACKUP_KEY", "")
        if key and (why := key_is_weak(key)):
            raise CommandError(why)
        if keep is not None and (file or keep < 1):
            raise CommandError("--keep takes a number from 1 on, and no FILE: it is about var/backups.")
        now = clock.now()
        folder = settings.VAR / "backups"
        path = file or folder / f"{now:%Y-%m-%dT%H%M%SZ}{ENDING}"
        try:
            made = back_up(path, key=key, now=now)
        except (CannotBackUp, NoProgram, OSError) as error:
            raise CommandError(f"No backup was made: {error}") from error
        note_backed_up(whole=not made.missing, now=now)
        rows = sum(made.about.tables.values())
        self.stdout.write(
            f"{path}: {rows:,} rows, {made.about.files:,} files, {filesizeformat(made.size)}, "
            f"{'encrypted' if key else 'NOT encrypted: whoever has it reads it'}."
        )
        if made.missing:
            # Before any earlier archive goes: what the storage lost is in those alone.
            raise CommandError(
                f"The backup was made, but the storage has lost or altered {len(made.missing)} files, so they are not in it: "
                f"{', '.join(name[:12] for name in made.missing[:5])}. Look for them in an earlier backup: none was removed."
            )
        for old in sorted(folder.glob(f"*{ENDING}"))[:-keep] if keep else []:
            old.unlink()
