"""Loading the whole demo firm."""

from datetime import datetime

from django.db import transaction

from jobsite import clock
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.desk.demo import access, again, boatyard, leaving, letting, on_site, others, quotes, week
from remedials.desk.demo.people import engage
from remedials.desk.demo.story import Story

TALES = (
    others.bakery,
    others.plain_house,
    others.hall,
    others.school,
    others.flats,
    others.pottery,
    boatyard.tell,
    leaving.tell,
    again.traced,
    again.corrected,
    again.practice,
    again.seen_again,
    quotes.tell,
    access.tell,
    week.tell,
    on_site.tell,
    letting.tell,
)


def load_demo(*, now: datetime) -> int:
    """Tell every tale, all or nothing, then have a week proposed; returns how many sites there are.

    Raises Refused in a database in use.
    """
    week.propose(_told(now))
    return Site.objects.count()


@transaction.atomic
def _told(now: datetime) -> Story:
    if Site.objects.exists() or User.objects.exists():
        raise Refused("This database is in use: the demo firm is for an empty one.")
    today = clock.local_day(now)
    cast = engage(now)
    for tell in TALES:
        tell(Story(cast, today))
    return Story(cast, today)
