"""The visits of the large invented firm: its booked work, evenly over the engineers and days of the weeks from this one on."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from jobsite import clock
from jobsite.people.models import User
from remedials.visits.choices import Answered
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.works.models import Remedial


class Visits:
    """Writes the visits of a `Filling`: all booked work of a site at once."""

    def __init__(self, filling: Any) -> None:
        self.filling, self.engineers = filling, filling.engineers
        self.monday = filling.today - timedelta(days=filling.today.weekday())

    def write(self) -> None:
        """Visits with their lines and who goes; their remedials are the engineer's, due on the day."""
        visits, lines, attendances = [], [], []
        for n, (site, work) in enumerate(self._booked().items()):
            engineer, start, end = self._slot(n)
            visit = self._visit(n, site, start, end)
            visits.append(visit)
            attendances.append(Attendance(visit=visit, engineer=engineer, start=start, end=end))
            for remedial in work:
                remedial.owner, remedial.step_by = engineer, clock.local_day(start)
                lines.append(VisitLine(visit=visit, remedial=remedial))
        given = [line.remedial for line in lines if line.remedial]
        self.filling.again(Remedial, given, "owner", "step_by")
        for model, rows in ((Visit, visits), (VisitLine, lines), (Attendance, attendances)):
            self.filling.add(model, rows)

    def _booked(self) -> dict[Any, list[Remedial]]:
        found: dict[Any, list[Remedial]] = {}
        for remedial in self.filling.remedial_rows:
            if remedial.stage == "booked":
                found.setdefault(remedial.site_id, []).append(remedial)
        return found

    def _visit(self, n: int, site: Any, start: datetime, end: datetime) -> Visit:
        confirmed = n % 2 > 0
        return Visit(
            number=1001 + n, site_id=site, start=start, end=end, booked_by=self.filling.office[0], booked_at=self.filling.now,
            outage="Power off at the main switch" if n % 5 == 0 else "", confirm_by=self._day(start) if n % 3 else None,
            answered=Answered.CONFIRMED if confirmed else Answered.NOT_ASKED,
        )  # fmt: skip

    def _day(self, at: datetime) -> date:
        return clock.local_day(at) - timedelta(days=3)

    def _slot(self, n: int) -> tuple[User, datetime, datetime]:
        """Whose the visit number `n` is, from when to when: on each day one engineer after another, then around again."""
        week, day = self.filling.size.visits_a_week, n * 7 // self.filling.size.visits_a_week
        turn, place = divmod(n - -(-day * week // 7), len(self.engineers))
        local = datetime.combine(self.monday + timedelta(days=day), time(8 + 3 * turn), tzinfo=clock.LONDON)
        start = local.astimezone(UTC)
        minutes = 120 + 15 * (place % 3)
        return self.engineers[(place + day) % len(self.engineers)], start, start + timedelta(minutes=minutes)
