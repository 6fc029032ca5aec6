"""The statements of the pages that are asked for most, planned before somebody asks for them."""

from collections.abc import Iterable
from datetime import datetime

from inspections.models import Observation
from jobsite import clock
from jobsite.kept_plans import plan_kept
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.desk.queries import observation as observations
from remedials.desk.queries import site as one_site
from remedials.due import queries as due_list
from remedials.quotes.queries.lists import quotes_of


def plan_pages() -> None:
    """Read what the due list and the pages of a site and an observation read, for each sort of person who looks at them.

    What is read is of no use but this: the connection has planned it now (`jobsite.kept_plans`).
    """
    now = clock.now()
    people = due_list.everybody(today=clock.local_day(now))
    for user in _sorts(people):
        _due_list(user, people, now)
        _site(user, now)
        _observation(user, now)


def _sorts(people: Iterable[User]) -> Iterable[User]:
    """One person for each shape that the statements have: they tell apart who plans the work and who sees prices.

    Those of subcontractors are planned when they ask, as are those of narrowed lists.
    """
    ours = [person for person in people if person.is_active and not person.subcontractor and person.may(Right.SEE_WORK)]
    return {(person.may(Right.PLAN_WORK), person.may(Right.PRICE)): person for person in ours}.values()


def _due_list(user: User, people: list[User], now: datetime) -> None:
    today = clock.local_day(now)
    rows = due_list.rows_due(user, today=today)
    own = None if user.may(Right.PLAN_WORK) else user.pk
    mine = due_list.narrowed(rows, owner=str(own or ""))
    due_list.page_of_rows(mine, today=today, user=user, owner=own)
    leavers = [person.pk for person in people if not person.is_active]
    due_list.first_things(rows, today=today, leavers=leavers, user=user)


def _site(user: User, now: datetime) -> None:
    rows = one_site.with_columns(Site.objects.visible_to(user), user, now=now)
    if (key := Site.objects.order_by("pk").values_list("pk", flat=True).first()) is None:
        return
    with plan_kept():
        row = rows.get(pk=key)
    one_site.site_context(row, user, now=now)
    if user.may(Right.PRICE):
        quotes_of(user, row, today=clock.local_day(now))


def _observation(user: User, now: datetime) -> None:
    if (key := Observation.objects.order_by("pk").values_list("pk", flat=True).first()) is None:
        return
    with plan_kept():
        row = observations.with_columns(Observation.objects.visible_to(user)).get(pk=key)
    observations.observation_context(row, user, now=now)
