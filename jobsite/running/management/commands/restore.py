"""`manage.py restore FILE`: the firm's data back from an archive."""

import os
from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.running.programs import NoProgram
from jobsite.running.restoring import CannotRestore, Restored, look_over, restore
from jobsite.running.sealed import NotWhole


class Command(BaseCommand):
    help = (
        "Restore an archive of manage.py backup into the database of this installation, which must be empty. Stop web, worker "
        "and beat first. Everything is checked before it takes the place of what is there."
    )
    requires_system_checks: list[str] = []  # they may ask the database, which may not be there yet

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--check", action="store_true", help="only read the archive and say whether it is whole")
        parser.add_argument("--over", action="store_true", help="also over data, which is kept under another name")
        parser.add_argument(
            "--nothing-sent-since",
            action="store_true",
            help="what waited to be sent still waits: the service was stopped before the backup was made",
        )

    def handle(
        self, *args: object, file: Path, check: bool, over: bool, nothing_sent_since: bool, **options: object
    ) -> None:
        key = os.environ.get("BACKUP_KEY", "")
        try:
            if check:
                about, missing = look_over(file, key=key)
                self.stdout.write(
                    f"Whole: made {about.made_at}, {sum(about.tables.values()):,} rows, {about.files - len(missing):,} files."
                )
                return
            done = restore(
                file, key=key, over=over, nothing_sent_since=nothing_sent_since, now=clock.now(), tell=self.stdout.write
            )
        except (NotWhole, CannotRestore, NoProgram) as error:
            raise CommandError(f"Nothing was {'restored' if not check else 'changed'}. {error}") from error
        for line in told(done):
            self.stdout.write(line)


def told(done: Restored) -> list[str]:
    """What whoever restored must know, a sentence each."""
    about = done.about
    rows, files, chains = sum(about.tables.values()), about.files, len(about.heads)
    lines = [f"Restored as of {about.made_at}: {rows:,} rows, {files:,} files; the ledger holds in {chains:,} chains."]
    if done.migrated:
        lines.append(f"Brought up to this version by {len(done.migrated)} migrations.")
    if done.missing:
        lines.append(f"{len(done.missing)} files were missing already when the backup was made.")
    if done.in_doubt:
        lines.append(
            f"{done.in_doubt} messages waited then and may have gone out since: they stand as 'not known whether it was sent' "
            f"until somebody decides."
        )
    if done.kept_as:
        lines.append(f"The former database is kept as {done.kept_as}: drop it once all is well.")
    if done.other_secret:
        lines.append(
            "SECRET_KEY is not the one of then: name that one in SECRET_KEY_FALLBACKS, or alarm codes that were kept do not "
            "open."
        )
    lines.append("Everybody signs in anew. What was withdrawn or erased after the backup is there again: look it over.")
    return lines
