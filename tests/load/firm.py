"""The large invented firm of the load: rows in bulk, a ledger whose chains hold, people who sign in, links of customers."""

from collections import defaultdict
from datetime import timedelta
from typing import Any
from uuid import UUID

from allauth.account.models import EmailAddress
from django.contrib.auth.hashers import make_password
from django.db import connection, transaction

from inspections.verbs import Verb as Seen
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger import operations as ledger
from jobsite.people.links import new_token, token_hash
from jobsite.people.models import PrivateLink, User
from jobsite.premises.verbs import Verb as Place
from remedials.desk.filling import Filling, Size, fill
from remedials.visits.models import Attendance, VisitLine
from remedials.works.models import Remedial
from remedials.works.verbs import Verb as Work
from tests.factories import PASSWORD
from tests.load.callers import CUSTOMERS, ENGINEERS, OFFICE

WHOLE = Size(
    sites=5_000, boards=20_000, circuits=200_000, observations=150_000, remedials=60_000, quotes=6_000, lines=48_000,
    visits_a_week=300,
)  # fmt: skip
TENTH = Size(
    sites=500, boards=2_000, circuits=20_000, observations=15_000, remedials=6_000, quotes=600, lines=4_800,
    visits_a_week=300,
)  # fmt: skip
ENTRIES_A_SITE = 100


def make_firm(size: Size) -> dict[str, Any]:
    """Write it; what those who use it need to know."""
    now = clock.now()
    filling = fill(size, now=now)
    more = people(filling)
    write_ledger(filling)
    tokens = links(filling)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE")
    return {
        "office": [user.email for user in more["office"]],
        "engineers": [user.email for user in more["engineer"]],
        "work": work_of(more["engineer"]),
        "units": {
            str(site.pk): str(filling.unit_of[site.pk].pk) for site in filling.site_rows[:: max(1, size.sites // 400)]
        },
        "busiest": str(filling.busiest),
        "tokens": tokens,
    }


@transaction.atomic
def people(filling: Filling) -> dict[str, list[User]]:
    """So many who sign in with PASSWORD; the visits of the filling are spread over all engineers."""
    hashed, made = make_password(PASSWORD), {}
    for role, count, there in (("office", OFFICE, filling.office), ("engineer", ENGINEERS, filling.engineers)):
        new = [
            User(name=f"{role.title()} {n}", email=f"{role}{n}@example.com", roles=[role])
            for n in range(len(there) + 1, count + 1)
        ]
        filling.add(User, new)
        made[role] = [*there, *new]
        for user in made[role]:
            user.password = hashed
        filling.again(User, made[role], "password")
        EmailAddress.objects.bulk_create(
            EmailAddress(user=user, email=user.email, verified=True, primary=True) for user in made[role]
        )
    return made


def work_of(engineers: list[User]) -> dict[str, list[str]]:
    """The remedials that each engineer may close: those of their own visits; who has none takes over an open one."""
    found: dict[str, list[str]] = {}
    for n, engineer in enumerate(engineers):
        visits = Attendance.objects.filter(engineer=engineer).values("visit")
        mine = VisitLine.objects.filter(visit__in=visits, remedial__stage="booked").values_list("remedial", flat=True)[
            :20
        ]
        keys = list(mine) or list(
            Remedial.objects.filter(stage="booked").values_list("pk", flat=True)[n * 5 : n * 5 + 5]
        )
        found[engineer.email] = [str(key) for key in keys]
    return found


def write_ledger(filling: Filling) -> None:
    """ENTRIES_A_SITE entries in the chain of each site, chained as the operations chain them."""
    by, at = filling.office[0], clock.now().isoformat(timespec="microseconds")
    told: dict[UUID, list[tuple[str, Any]]] = defaultdict(list)
    for row in filling.observation_rows:
        told[row.site_id].append((Seen.NOTED, row))
    for row in filling.remedial_rows:
        told[row.site_id].append((Work.MADE, row))
    for row in filling.circuit_rows:
        if len(told[row.site_id]) < ENTRIES_A_SITE:
            told[row.site_id].append((Place.CIRCUIT_ADDED, row))
    for site in filling.site_rows:
        about = told[site.pk] + [(Place.SITE_CHANGED, site)] * max(0, ENTRIES_A_SITE - len(told[site.pk]))
        with transaction.atomic():
            drafts = [
                ledger.Draft(
                    chain=site.pk, words={},
                    fields={
                        "at": at, "actor_kind": by.actor_kind, "actor": str(by.actor_id), "verb": str(verb),
                        "subject_kind": str(row._meta.model_name), "subject": str(row.pk), "facts": {},
                    },
                )
                for verb, row in about[:ENTRIES_A_SITE]
            ]  # fmt: skip
            ledger._append(ledger._locked(site.pk), new_id(), drafts)  # the clockwork may be sweeping the site by now


def links(filling: Filling) -> list[str]:
    """A private link for each customer who reads, each to another site."""
    usual = {"made_by": filling.office[0], "made_at": filling.now, "expires_at": filling.now + timedelta(days=365)}
    tokens = [new_token() for _ in range(CUSTOMERS)]
    sites = filling.random.sample(filling.site_rows, min(CUSTOMERS, len(filling.site_rows)))
    PrivateLink.objects.bulk_create(
        PrivateLink(token_hash=token_hash(token), purpose="status", site=site.pk, sent_to="the customer", **usual)
        for token, site in zip(tokens, sites, strict=False)
    )
    return tokens
