"""What the pages of figures cost with 60,000 remedials and 150,000 items of all kinds of ends.

A part of `make bench`, or by itself: `python -m tests.benchmarks.figures`. Nothing of it is history that anybody could read.
"""

import os
import statistics
import sys
import time
from dataclasses import asdict, dataclass
from typing import Any

ITEMS, REMEDIALS, VISITS, ROUNDS = 150_000, 60_000, 20_000, 7
AIM = "aim: each page in at most 10 statements and 1 s, whatever the firm has; 150 ms where nothing is counted by item"

# By chance that is the same each time: recorded within three years, four in five at an end, within half a year.
MORE_ITEMS = """
    INSERT INTO inspections_observation ({columns}, id, number, inspection_id, recorded_on, first_recorded_on, remedy_by, remedy_by_law, ended, ended_on)
    SELECT {theirs}, md5('item ' || n)::uuid, 3000000 + n, NULL, t.on_, t.on_, t.on_ + 27, n %% 3 = 0, t.came,
        CASE WHEN t.came = '' THEN NULL ELSE least(t.on_ + abs(hashtext('end ' || n)) %% 180, CURRENT_DATE) END
    FROM (
        SELECT o.*, n, CURRENT_DATE - abs(hashtext('on ' || n)) %% 1095 AS on_,
            (ARRAY['remedied', 'remedied', 'remedied', 'others', ''])[1 + abs(hashtext('came ' || n)) %% 5] AS came
        FROM generate_series(1, %s) n
        JOIN (SELECT o.*, row_number() OVER (ORDER BY number) AS at FROM inspections_observation o WHERE NOT draft AND number < 1010000) o
            ON o.at = 1 + n %% 5000
    ) t
"""
# Every twentieth was seen again: the next one continues it.
CONTINUED = (
    "UPDATE inspections_observation SET ended = 'continued', ended_on = recorded_on WHERE number > 3000000 AND number % 20 = 0",
    """UPDATE inspections_observation o SET continues_id = e.id FROM inspections_observation e
       WHERE o.number > 3000000 AND o.number % 20 = 1 AND e.number = o.number - 1""",
)
MORE_REMEDIALS = """
    INSERT INTO works_remedial ({columns}, id, number, site_id, unit_id, stage)
    SELECT {theirs}, md5('work ' || o.number)::uuid, o.number, o.site_id, o.unit_id,
        CASE WHEN o.ended = 'remedied' THEN 'reviewed' WHEN o.ended = 'others' THEN 'by-others'
             ELSE (ARRAY['approved', 'declined', 'to-price'])[1 + o.number %% 3] END
    FROM inspections_observation o CROSS JOIN (SELECT * FROM works_remedial ORDER BY number LIMIT 1) t
    WHERE o.number > 3000000 AND o.ended <> 'continued' ORDER BY o.number LIMIT %s
"""
FOR_THEM = (
    """INSERT INTO works_remedies (remedial_id, observation_id) SELECT r.id, o.id
       FROM works_remedial r JOIN inspections_observation o ON o.number = r.number WHERE r.number > 3000000""",
    """INSERT INTO works_wayout (id, remedial_id, stage, who, reason, "on", reference, recorded_at)
       SELECT gen_random_uuid(), r.id, 'declined', 'Somebody', '', CURRENT_DATE - 5, '', now()
       FROM works_remedial r WHERE r.number > 3000000 AND r.stage = 'declined'""",
    """INSERT INTO works_proof (id, remedial_id, state, done_by_id, supervisor_name, done_at, note, no_photo_reason,
           certificate_number, exception_reason)
       SELECT gen_random_uuid(), r.id, 'stands', u.id, '', o.ended_on + time '12:00', '', '', '', ''
       FROM works_remedial r JOIN inspections_observation o ON o.number = r.number
       JOIN (SELECT id, row_number() OVER (ORDER BY email) AS at FROM people_user WHERE 'engineer' = ANY (roles)) u
           ON u.at = 1 + r.number % 12
       WHERE r.number > 3000000 AND r.stage = 'reviewed'""",
)
MORE_VISITS = """
    INSERT INTO visits_visit ({columns}, id, number, start, "end")
    SELECT {theirs}, md5('visit ' || n)::uuid, 3000000 + n, now() - (n %% 700 + 1) * interval '1 day',
        now() - (n %% 700 + 1) * interval '1 day' + interval '1 hour'
    FROM (SELECT * FROM visits_visit ORDER BY number LIMIT 1) t CROSS JOIN generate_series(1, %s) n
"""
IN_VAIN = """
    INSERT INTO visits_attempt (id, site_id, visit_id, how, at, by_id, whom, said, got_in, reply, recorded_at)
    SELECT gen_random_uuid(), site_id, id, 'visit', start, booked_by_id, 'Somebody', '', false, '', start
    FROM visits_visit WHERE number > 3000000 AND number % 11 = 0
"""


@dataclass
class Figure:
    """What one page cost: statements, milliseconds (median and longest), bytes as sent without compression."""

    page: str
    statements: int
    median_ms: float
    most_ms: float
    bytes: int


def fill_up() -> None:
    """What the figures count, on top of a firm that was filled."""
    from django.db import connection

    from tests.benchmarks.due import _with_columns

    with connection.cursor() as cursor:
        cursor.execute(_with_columns("inspections_observation", MORE_ITEMS), [ITEMS])
        for sql in CONTINUED:
            cursor.execute(sql)
        cursor.execute(_with_columns("works_remedial", MORE_REMEDIALS), [REMEDIALS])
        for sql in FOR_THEM:
            cursor.execute(sql)
        cursor.execute(_with_columns("visits_visit", MORE_VISITS), [VISITS])
        cursor.execute(IN_VAIN)
        cursor.execute("ANALYZE")


def figures() -> list[Figure]:
    """Fill up, measure, and take it all back, so that the other parts measure the firm that they know."""
    from django.db import transaction

    with transaction.atomic():
        fill_up()
        found = _measured()
        transaction.set_rollback(True)
    return found


def _measured() -> list[Figure]:
    """Each page by turns, as a manager sees it, of the last year; and time to remedy of all years, and narrowed."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext
    from django.urls import reverse

    from jobsite.people.models import User
    from remedials.desk.figures.views import PAGES

    client = Client()
    client.force_login(User.objects.get(email="manager1@example.com"))
    pages = {title: reverse(f"figures:{name}") for name, title, _ in PAGES}
    pages["Time to remedy, all years"] = reverse("figures:remedy") + "?since=2000-01-01"
    pages["Time to remedy, narrowed"] = reverse("figures:remedy") + "?nation=england&site=Place&customer=Customer"
    times: dict[str, list[float]] = {name: [] for name in pages}
    found = {}
    for name, where in pages.items():
        client.get(where)
        with CaptureQueriesContext(connection) as captured:
            answer = client.get(where)
        if answer.status_code != 200:
            sys.exit(f"{name} answered {answer.status_code}")
        found[name] = len(captured), len(answer.content)
    for _ in range(ROUNDS):
        for name, where in pages.items():
            begun = time.perf_counter()
            client.get(where)
            times[name].append((time.perf_counter() - begun) * 1000)
    return [
        Figure(name, found[name][0], round(statistics.median(spent), 1), round(max(spent), 1), found[name][1])
        for name, spent in times.items()
    ]


def as_facts(found: list[Figure]) -> list[dict[str, Any]]:
    """For bench.json."""
    return [asdict(figure) for figure in found]


def table(found: list[Figure]) -> str:
    """The figures for reading, with what is aimed at."""
    head = f"{f'figures, {REMEDIALS:,} remedials':<30}{'statements':>11}{'median ms':>11}{'most ms':>9}{'bytes':>9}"
    rows = [f"{f.page:<30}{f.statements:>11}{f.median_ms:>11}{f.most_ms:>9}{f.bytes:>9,}" for f in found]
    return "\n".join([head, *rows, AIM])


def _alone() -> None:
    from jobsite import clock
    from remedials.desk.filling import Size, fill

    fill(Size(), now=clock.now())
    sys.stdout.write(f"{table(figures())}\n")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    from tests.benchmarks.measuring import on_a_database_of_its_own

    on_a_database_of_its_own(_alone, "bench_figures")
