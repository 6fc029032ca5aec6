"""`manage.py doctor`: what is set up wrongly, in words."""

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.running.doctor import examine
from jobsite.words import many


class Command(BaseCommand):
    help = "Say what is set up wrongly and what to do about it; ends with an error where anything is wrong. Changes nothing."
    requires_system_checks: list[str] = []  # it says itself that the database does not answer

    def handle(self, *args: object, **options: object) -> None:
        found = sorted(examine(clock.now()), key=lambda finding: not finding.wrong)
        for finding in found:
            self.stdout.write(f"{'WRONG' if finding.wrong else 'Note '}  {finding.words}")
        bad = sum(finding.wrong for finding in found)
        if bad:
            raise CommandError(f"{many(bad, 'thing is', 'things are')} wrong.")
        self.stdout.write("Nothing is wrong.")
