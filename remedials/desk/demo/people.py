"""The demo firm and its people."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
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
    ("apprentice", "Tam Brindle", "tam@example.com", "07700 900106", ["engineer"]),
    ("lent", "Sorrel Vane", "sorrel@example.com", "07700 900107", ["engineer"]),
)
# Where the day of each begins: invented places, degrees north and east.
HOMES = {
    "engineer": ("54.66310", "-2.23460"),
    "qualified": ("54.69020", "-2.16150"),
    "apprentice": ("54.65480", "-2.21010"),
    "lent": ("54.61240", "-2.26330"),
}
WEEK = [(day, time(8), time(16, 30)) for day in range(4)] + [(4, time(8), time(14))]
WORDS = {
    "office": "office: takes reports in, books, prices",
    "engineer": "engineer: does the work and closes it with proof (open it at the width of a phone)",
    "qualified": "engineer and qualified person: reviews codes and proof",
    "manager": "manager: people, competence, the firm's limits",
    "apprentice": "apprentice: never goes alone",
    "lent": "engineer of another firm: sees own visits only",
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
    # Whoever tries the demo signs in by the passwords that it prints; a firm of one's own asks a second step of managers.
    people.ask_second_step(of="nobody", by=CLOCK, now=now)
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
    _at_work(made, today, present)
    return Cast(**made, tester=_tester(present, today, made["manager"]))


def _at_work(made: dict[str, User], today: date, now: datetime) -> None:
    """Where and when each works, what they can do: one skill runs out soon, and somebody is away the week after next."""
    by, since = made["manager"], today - timedelta(days=900)
    own: dict[str, dict[str, Any]] = {
        "apprentice": {"apprentice": True},
        "lent": {"subcontractor": True, "insured_until": today + timedelta(days=40)},
    }
    for key, (north, east) in HOMES.items():
        user, home = made[key], {"home_latitude": Decimal(north), "home_longitude": Decimal(east)}
        made[key] = people.edit_person(user, version=user.version, by=by, now=now, **home, **own.get(key, {}))
    people.set_working_week(made["engineer"], id=new_id(), holds_from=since, shifts=WEEK, by=by, now=now)
    skills = (("qualified", "inspection", None), ("engineer", "solar panels", today + timedelta(days=25)))
    for key, name, until in skills:
        evidence = "course certificate (invented)"
        people.record_skill(
            made[key], id=new_id(), name=name, since=since, until=until, evidence=evidence, by=by, now=now
        )
    people.record_leave(
        made["qualified"], id=new_id(), first=today + timedelta(days=12), last=today + timedelta(days=16), what="leave",
        by=by, now=now,
    )  # fmt: skip


def _person(now: datetime, **fields: Any) -> User:
    user, _ = people.invite_person(id=new_id(), subcontractor=False, by=CLOCK, now=now, **fields)
    user.set_password(PASSWORD)
    user.save(update_fields=["password"])
    return user


def _tester(now: datetime, today: date, manager: User) -> Instrument:
    tester = people.add_instrument(
        id=new_id(), name="Multifunction tester", serial_number="DEMO-4471", by=manager, now=now
    )
    people.check_instrument(
        tester, id=new_id(), checked_on=today - timedelta(days=350), due=today + timedelta(days=15),
        by_whom="Sampleton Calibration", certificate="SC-20931", by=manager, now=now,
    )  # fmt: skip
    people.check_instrument(
        tester, id=new_id(), kind="comparison", checked_on=today - timedelta(days=21),
        by_whom="Compared with the firm's check box, 1 Ω and 100 Ω", by=manager, now=now,
    )  # fmt: skip
    tester.refresh_from_db()
    return tester


def sign_ins() -> list[tuple[str, str, str]]:
    """How to sign in as each kind of person: (address, password, what they do), as far as the demo was loaded."""
    known = set(User.objects.filter(email__in=[email for _, _, email, _, _ in PEOPLE]).values_list("email", flat=True))
    return [(email, PASSWORD, WORDS[key]) for key, _, email, _, _ in PEOPLE if email in known]
