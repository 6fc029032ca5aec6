"""`manage.py take_out FILE`: everything that the firm owns, as one archive for programs or as workbooks for people."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.template.defaultfilters import filesizeformat

from jobsite import clock
from jobsite.refused import Refused
from remedials.desk.bulk.operations import note_taken_out
from remedials.desk.bulk.workbooks import save_workbooks
from remedials.desk.bulk.writing import save_archive


class Command(BaseCommand):
    help = (
        "Write all rows and files of the firm into one archive that programs read and manage.py bring_in brings back, or with "
        "--workbooks as spreadsheets for people. People may go on working meanwhile. For keeping the firm safe use backup."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        how = parser.add_mutually_exclusive_group()
        how.add_argument(
            "--workbooks", action="store_true", help="a ZIP of workbooks with a sheet for each kind of row"
        )
        how.add_argument(
            "--with-secrets",
            action="store_true",
            help="also what opens things: passwords' hashes, second factors, hashes of tokens, sealed alarm codes",
        )

    def handle(self, *args: object, file: Path, workbooks: bool, with_secrets: bool, **options: object) -> None:
        now = clock.now()
        if file.exists():
            raise CommandError(f"{file} is there already: name another, or remove it.")
        try:
            if workbooks:
                made = save_workbooks(file, now=now)
                note_taken_out("workbooks", made.fingerprint, secrets=False, now=now)
                said = f"{made.rows:,} rows in {made.sheets:,} sheets. Its SHA-256 is {made.fingerprint}."
            else:
                written = save_archive(file, secrets=with_secrets, now=now)
                note_taken_out("archive", written.fingerprint, secrets=with_secrets, now=now)
                said = (
                    f"{written.manifest.rows:,} rows, {written.manifest.files:,} files. "
                    f"The SHA-256 of its manifest.json is {written.fingerprint}."
                )
        except (Refused, OSError) as error:
            raise CommandError(f"Nothing was taken out: {error}") from error
        self.stdout.write(f"{file}: {filesizeformat(file.stat().st_size)}, {said}")
        if not workbooks and (missing := written.manifest.missing):
            raise CommandError(
                f"It was made, but the storage has lost or altered {len(missing)} files, so they are not in it: "
                f"{', '.join(name[:12] for name in missing[:5])}."
            )
