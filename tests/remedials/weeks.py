"""A full week of an invented firm for the diary: many visits of many engineers, as pages and benchmarks need them."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from jobsite.words import LONDON
from tests import factories as make

CODES = ("C1", "C2", "C2", "FI", "C3")


def full_week(engineers, *, visits: int = 150, monday: date = date(2026, 2, 2)) -> list:
    """`visits` spread over seven days: one after another for each engineer, with places, outages and dangers that vary."""
    made = []
    sites = [
        make.make_site(
            f"Sample Place {n}",
            latitude=Decimal("52.5") + Decimal(n % 7) / 20,
            longitude=Decimal("-0.5") + Decimal(n % 5) / 20,
        )
        for n in range(min(visits, 40))
    ]
    work = [
        make.make_remedial(make.make_observation(site, code=CODES[n % 5], made_safe=n % 5 == 3), stage="booked")
        for n, site in enumerate(sites)
    ]
    for n in range(visits):
        day, turn = (n // len(engineers)) % 7, n // (7 * len(engineers))
        start = datetime.combine(monday + timedelta(days=day), time(8 + 3 * turn), tzinfo=LONDON).astimezone(UTC)
        fields = {"outage": "The main switch"} if n % 4 == 0 else {}
        fields |= {"answered": "confirmed"} if n % 3 == 0 else {}
        lines = [work[n]] if n < len(work) else []
        who = [engineers[n % len(engineers)]]
        hours = 2 + n % 3 / 4
        made.append(make.make_visit(sites[n % len(sites)], *lines, engineers=who, start=start, hours=hours, **fields))
    return made
