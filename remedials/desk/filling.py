"""A large invented firm for measuring: rows written straight and in bulk, not history that anybody could read.

Deterministic for a seed and a day. Never for a database that somebody uses: `manage.py fill` refuses one with sites.
"""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from django.db import connection, models, transaction

from inspections.models import Inspection, InspectionDue, Observation
from jobsite import clock
from jobsite.firm.models import Firm, SecondStep, Sequence
from jobsite.people.models import Competence, PrivateLink, User
from jobsite.premises.models import Board, Circuit, Feed, Party, Site, Supply, Unit
from jobsite.sorting import sort_key
from remedials.desk.filling_quotes import Quotes
from remedials.desk.filling_visits import Visits
from remedials.works.models import Remedial, Remedies

TOKEN = "measuring-only-not-a-secret-0123456789abcdefghijk"  # noqa: S105 - opens nothing but an invented site
CODES = ("C1", *("C2",) * 5, *("FI",) * 2, *("C3",) * 12)
STAGES = ("to-price", "approved", "booked", "done", "reviewed")
DEFECTS = (
    "Blank missing",
    "Cover damaged",
    "No RCD for sockets outdoors",
    "Gland missing",
    "Label wrong",
    "Bonding missing",
)


@dataclass(frozen=True)
class Size:
    """How many of each."""

    sites: int = 500
    boards: int = 3_000
    circuits: int = 30_000
    observations: int = 15_000
    remedials: int = 6_000
    quotes: int = 1_500
    lines: int = 12_000
    visits_a_week: int = 150


class Filling:
    """Writes the firm in the order in which the rows refer to each other."""

    def __init__(self, size: Size, *, now: datetime, seed: int = 1) -> None:
        self.size, self.now, self.today = size, now, clock.local_day(now)
        self.random = Random(seed)  # noqa: S311 - invented data

    @transaction.atomic
    def write(self) -> None:
        """Write everything, or nothing."""
        self.people()
        self.sites()
        self.boards()
        self.circuits()
        self.feeds()
        self.inspections()
        self.observations()
        self.remedials()
        Visits(self).write()
        self.links()
        self.quotes = Quotes(self)
        self.quotes.write()
        self.numbers()
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # else the checks at the end of the transaction plan for empty tables

    def add(self, model: type[models.Model], rows: list[Any]) -> list[Any]:
        for row in rows:
            if hasattr(row, "sort_by"):
                row.sort = sort_key(getattr(row, row.sort_by))
        model._base_manager.bulk_create(rows, batch_size=2000)  # noqa: SLF001 - Django documents it
        return rows

    def again(self, model: type[models.Model], rows: list[Any], *fields: str) -> None:
        """Write `fields` of rows that stand already."""
        model._base_manager.bulk_update(rows, fields, batch_size=2000)  # noqa: SLF001 - Django documents it

    def some_day(self, years: float = 5) -> date:
        """A day in the past, later ones likelier."""
        return self.today - timedelta(days=int(365 * years * self.random.random() ** 2))

    def people(self) -> None:
        # For measuring only: no page of signing in is among what is measured.
        Firm.objects.update_or_create(only=True, defaults={"second_step_for": SecondStep.NOBODY})
        roles = [("office", 3), ("engineer", 12), ("manager", 1)]
        people = [
            User(name=f"{role.title()} {n}", email=f"{role}{n}@example.com", roles=[role], **self._home(role))
            for role, count in roles
            for n in range(1, count + 1)
        ]
        self.staff = self.add(User, people)
        self.office = [user for user in people if "office" in user.roles]
        self.engineers = [user for user in people if "engineer" in user.roles]
        self.add(
            Competence,
            [
                Competence(user=u, since=self.today.replace(year=2020, day=1), evidence="invented")
                for u in self.engineers[:3]
            ],
        )

    def _place(self) -> dict[str, Decimal]:
        """A place on the map within some 30 km of nowhere in particular."""
        north, east = self.random.uniform(-0.27, 0.27), self.random.uniform(-0.44, 0.44)
        return {"latitude": Decimal(f"{52.5 + north:.5f}"), "longitude": Decimal(f"{-0.5 + east:.5f}")}

    def _home(self, role: str) -> dict[str, Decimal]:
        return {f"home_{name}": value for name, value in self._place().items()} if role == "engineer" else {}

    def sites(self) -> None:
        customers = [
            Party(name=f"Customer {n}", email=f"customer{n}@example.com") for n in range(self.size.sites // 4 or 1)
        ]
        self.add(Party, customers)
        self.site_rows = self.add(
            Site,
            [
                Site(
                    number=1001 + n,
                    name=f"Sample Place {n}",
                    address=f"{n} Sample Street, Sampleton",
                    postcode="QX1 2AB",
                    customer=self.random.choice(customers),
                    **self._place(),
                )
                for n in range(self.size.sites)
            ],
        )
        kinds = ("house", "shop", "offices", "industrial", "educational")
        self.units = self.add(
            Unit,
            [
                Unit(site=site, name=site.name, whole_site=True, kind=self.random.choice(kinds), tenure="not-a-home")
                for site in self.site_rows
            ],
        )
        self.unit_of = {unit.site_id: unit for unit in self.units}
        lines = ["L1", "L2", "L3"]
        self.supplies = self.add(Supply, [Supply(site=s, phases=lines, earthing="TN-S") for s in self.site_rows])

    def spread(self, count: int, things: list[Any]) -> list[Any]:
        """`count` of `things`, each at least once where that is possible, the rest by chance."""
        first = [things[n % len(things)] for n in range(min(count, len(things)))]
        return first + self.random.choices(things, k=count - len(first))

    def boards(self) -> None:
        self.boards_at: dict[Any, list[Board]] = {}
        rows = []
        for site in self.spread(self.size.boards, self.site_rows):
            here = self.boards_at.setdefault(site.pk, [])
            board = Board(
                site=site, designation=f"Board {len(here) + 1}", place="plant room", phases=["L1", "L2", "L3"]
            )
            here.append(board)
            rows.append(board)
        self.board_rows = self.add(Board, rows)

    def circuits(self) -> None:
        ways: dict[Any, int] = {}
        rows = []
        for board in self.spread(self.size.circuits, self.board_rows):
            way = ways[board.pk] = ways.get(board.pk, 0) + 1
            rows.append(
                Circuit(
                    site_id=board.site_id,
                    board=board,
                    way=way,
                    phase="3" if way == 1 else self.random.choice(["L1", "L2", "L3"]),
                    designation=f"Circuit {way}",
                    device_standard="BS EN 60898",
                    device_type=self.random.choice("BC"),
                    rating_a=self.random.choice([6, 10, 16, 20, 32, 40]),
                )
            )
        self.first_way = {row.board_id: row for row in reversed(rows) if row.way == 1}
        self.circuit_rows = self.add(Circuit, rows)

    def feeds(self) -> None:
        rows = []
        supply_of = {supply.site_id: supply for supply in self.supplies}
        for site_id, boards in self.boards_at.items():
            rows.append(Feed(site_id=site_id, board=boards[0], from_supply=supply_of[site_id]))
            for n, board in enumerate(boards[1:], start=1):
                feeder = self.first_way.get(boards[(n - 1) // 3].pk)
                source = {"from_circuit": feeder} if feeder else {"from_supply": supply_of[site_id]}
                rows.append(Feed(site_id=site_id, board=board, verified=n % 3 > 0, verified_on=self.today, **source))
        self.add(Feed, rows)

    def inspections(self) -> None:
        rows = []
        for n, unit in enumerate(self.units):
            on = self.some_day(4)
            rows.append(
                Inspection(
                    number=1001 + n,
                    site_id=unit.site_id,
                    inspected_on=on,
                    edition="2018+A2:2022",
                    state="issued",
                    issued_at=self.now,
                    outcome="unsatisfactory",
                    recorded_by=self.office[0],
                    recorded_at=self.now,
                )
            )
        self.inspection_rows = self.add(Inspection, rows)
        self.add(
            Inspection.units.through,
            [Inspection.units.through(inspection=i, unit=u) for i, u in zip(rows, self.units, strict=True)],
        )
        due = [(u, i, i.inspected_on + timedelta(days=5 * 365)) for u, i in zip(self.units, rows, strict=True)]
        self.add(
            InspectionDue,
            [
                InspectionDue(
                    unit=u,
                    due_on=on,
                    basis="as recommended",
                    shows_from=on - timedelta(days=90),
                    after=i,
                    owner=self.office[0],
                )
                for u, i, on in due
            ],
        )

    def observations(self) -> None:
        inspection_of = {i.site_id: i for i in self.inspection_rows}
        rows = []
        for n, circuit in enumerate(self.random.choices(self.circuit_rows, k=self.size.observations)):
            inspection = inspection_of[circuit.site_id]
            code, on = self.random.choice(CODES), inspection.inspected_on
            rows.append(
                Observation(
                    number=1001 + n,
                    site_id=circuit.site_id,
                    unit=self.unit_of[circuit.site_id],
                    board_id=circuit.board_id,
                    circuit=circuit,
                    inspection=inspection,
                    item=str(n + 1),
                    text=self.random.choice(DEFECTS),
                    code_written=code,
                    code=code,
                    recorded_on=on,
                    first_recorded_on=on,
                    recorded_at=self.now,
                    recorded_by=self.office[0],
                    remedy_by=on + timedelta(days=27) if code != "C3" else None,
                    remedy_basis="the firm's 28 days",
                    owner=self.random.choice(self.office),
                    step_by=on + timedelta(days=self.random.randrange(1, 400)),
                    ended="" if self.random.random() < 0.8 else "remedied",
                )
            )
            rows[-1].ended_on = self.today if rows[-1].ended else None
        self.observation_rows = self.add(Observation, rows)

    def remedials(self) -> None:
        chosen = self.random.sample(self.observation_rows, min(self.size.remedials, len(self.observation_rows)))
        rows = []
        for n, seen in enumerate(chosen):
            stage = "reviewed" if seen.ended else self.random.choice(STAGES[:4])
            rows.append(
                Remedial(
                    number=1001 + n,
                    site_id=seen.site_id,
                    unit=seen.unit,
                    work=f"Put right: {seen.text.lower()}",
                    stage=stage,
                    owner=self.random.choice(self.office),
                    step_by=self.today + timedelta(days=self.random.randrange(-30, 60)),
                    made_by=self.office[0],
                    made_at=self.now,
                )
            )
        self.remedial_rows = self.add(Remedial, rows)
        self.add(Remedies, [Remedies(remedial=r, observation=o) for r, o in zip(rows, chosen, strict=True)])

    def links(self) -> None:
        busiest = max(self.boards_at, key=lambda key: len(self.boards_at[key]))
        self.busiest = busiest
        digest = hashlib.sha256(TOKEN.encode()).digest()
        fields = {"made_by": self.office[0], "made_at": self.now, "expires_at": self.now + timedelta(days=365)}
        self.add(PrivateLink, [PrivateLink(token_hash=digest, purpose="status", site=busiest, **fields)])

    def numbers(self) -> None:
        """So that the next number of each kind is a new one."""
        names = ("site", "inspection", "observation", "remedial", "visit", "quote")
        self.add(Sequence, [Sequence(name=new, last=1000 + self.size.circuits) for new in names])


def fill(size: Size, *, now: datetime, seed: int = 1) -> Filling:
    """Write a firm of `size`; returns what was written."""
    filling = Filling(size, now=now, seed=seed)
    filling.write()
    return filling
