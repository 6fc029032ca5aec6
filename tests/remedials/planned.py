"""Small makers for tests of the planner: engineers with a home, sites with a place, work that takes a while."""

from decimal import Decimal
from typing import Any

from tests import factories as make
from tests.remedials.work import on_the_way

HOME = (Decimal("52.20000"), Decimal("0.10000"))


def engineer_at_home(name: str = "Edwin Wireman", at=HOME, *skills: str, **fields: Any):
    """An engineer whose day begins at `at`, with `skills` since long ago."""
    from jobsite.people.models import Skill

    user = make.make_user(name, "engineer", home_latitude=at[0], home_longitude=at[1], **fields)
    for skill in skills:
        Skill.objects.create(user=user, name=skill, sort=skill.casefold(), since=make.TODAY.replace(year=2020))
    return user


def site_at(name: str, east: int = 0, north: int = 0, **fields: Any):
    """A site so many hundredths of a degree from HOME."""
    place = {"latitude": HOME[0] + Decimal(north) / 100, "longitude": HOME[1] + Decimal(east) / 100}
    return make.make_site(name, **place | fields)


def work_at(site, *codes: str, minutes: int | None = 60, remedy_by=None, **fields: Any):
    """An approved remedial of `site` for an observation of each code, with power on unless told otherwise."""
    remedial = on_the_way(*codes, site=site, minutes=minutes, **{"power_off": False} | fields)
    if remedy_by:
        remedial.observations.update(remedy_by=remedy_by)
    return remedial
