"""The demo firm and its people."""

from datetime import date, datetime, timedelta
from typing import Any

from jobsite import clock
from jobsite.firm.operations import describe_firm
from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.people import operations as people
from jobsite.people.models import Instrument, User
from remedials.desk.demo.story import Cast

PASSWORD = "copper and brass 48"  # noqa: S105 - the demo's, printed at the start
PEOPLE = (
    ("office", "Ruth Penhallow", "ruth@example.com", "01632 960101", ["office"]),
    ("engineer", "Dirk Achterberg", "dirk@example.com", "07700 900102", ["engineer"]),
    ("qualified", "Mina Okonjo", "mina@example.com", "07700 900103", ["engineer"]),
    ("manager", "Della Marsh", "della@example.com", "01632 960104", ["manager"]),
)
WORDS = {
    "office": "office: takes reports in, books, prices",
    "engineer": "engineer: does the work and closes it with proof (open it at the width of a phone)",
    "qualified": "engineer and qualified person: reviews codes and proof",
    "manager": "manager: people, competence, the firm's limits",
}


def engage(now: datetime) -> Cast:
    """Make the firm, its people with the demo's password, their competence, and the tester they share."""
    today, present, now = clock.local_day(now), now, now - timedelta(days=2_200)
    describe_firm(
        name="Tidewrack Electrical (demo)",
        address="2 Ropewalk Yard, Ebbsford QX4 7ZZ",
        phone="01632 960100",
        email="office@example.com",
        by=CLOCK,
        now=now,
    )
    made = {
        key: _person(now, name=name, email=email, phone=phone, roles=roles) for key, name, email, phone, roles in PEOPLE
    }
    made["leaver"] = _person(
        now, name="Ned Fathom", email="ned@example.com", phone="01632 960105", roles=["office"]
    )  # leaves in the course of the story
    people.record_competence(
        made["qualified"],
        id=new_id(),
        since=today - timedelta(days=6 * 365),
        until=None,
        evidence="inspection and testing certificate (invented)",
        by=made["manager"],
        now=now,
    )
    return Cast(**made, tester=_tester(present, today, made["manager"]))


def _person(now: datetime, **fields: Any) -> User:
    user, _ = people.invite_person(id=new_id(), subcontractor=False, by=CLOCK, now=now, **fields)
    user.set_password(PASSWORD)
    user.save(update_fields=["password"])
    return user


def _tester(now: datetime, today: date, manager: User) -> Instrument:
    tester = people.add_instrument(
        id=new_id(), name="Multifunction tester", serial_number="DEMO-4471", by=manager, now=now
    )
    return people.check_instrument(
        tester, checked_on=today - timedelta(days=350), check_due=today + timedelta(days=15), by=manager, now=now
    )


def sign_ins() -> list[tuple[str, str, str]]:
    """How to sign in as each kind of person: (address, password, what they do), as far as the demo was loaded."""
    known = set(User.objects.filter(email__in=[email for _, _, email, _, _ in PEOPLE]).values_list("email", flat=True))
    return [(email, PASSWORD, WORDS[key]) for key, _, email, _, _ in PEOPLE if email in known]
