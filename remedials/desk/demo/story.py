"""The teller: moves through the days before today and does what people did, through the operations."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from inspections import operations as found
from inspections.choices import Quantity
from inspections.models import Inspection, Observation
from inspections.standards.editions import edition_in_force
from inspections.standards.readings import read
from jobsite import clock
from jobsite.ids import new_id
from jobsite.people.models import Instrument, User
from jobsite.premises import operations as ground
from jobsite.premises.models import Board, Circuit, Party, Site, Supply, Unit
from remedials.desk.demo.pictures import after_picture, before_picture
from remedials.visits import operations as visits
from remedials.visits.operations.booking import Warned
from remedials.works import operations as works
from remedials.works.models import Remedial

FRIDAY = 4


@dataclass
class Cast:
    """The people of the firm and the tester they share."""

    office: User
    engineer: User
    qualified: User
    manager: User
    leaver: User
    apprentice: User
    lent: User
    tester: Instrument


@dataclass
class Story:
    """Tells one site's history. `now` moves with `day`; what is done is done then, by whom it falls to."""

    cast: Cast
    today: date
    now: datetime = field(init=False)

    def __post_init__(self) -> None:
        self.day(0)

    def day(self, days_ago: int, hour: int = 9) -> date:
        """Go to a day (negative: in the future only for dates, never for doing) and return its date."""
        on = self.today - timedelta(days=days_ago)
        self.now = datetime.combine(on, time(hour), tzinfo=clock.LONDON).astimezone(timezone.get_default_timezone())
        return on

    def working_day(self, ahead: int) -> date:
        """So many working days from today, weekends left out: two that are apart stay apart, whatever day it is loaded on."""
        day = self.today
        for _ in range(ahead):
            day += timedelta(days=1 if day.weekday() < FRIDAY else 7 - day.weekday())
        return day

    def date(self, days_ago: int) -> date:
        """The date that many days before today."""
        return self.today - timedelta(days=days_ago)

    def do(self, operation: Callable[..., Any], *things: Any, by: User | None = None, **more: Any) -> Any:
        """Do `operation` now, by the office unless told otherwise."""
        return operation(*things, by=by or self.cast.office, now=self.now, **more)

    def make(self, operation: Callable[..., Any], *things: Any, by: User | None = None, **more: Any) -> Any:
        """Do an operation that makes something, with a fresh key."""
        return self.do(operation, *things, by=by, id=new_id(), **more)

    # -- the ground

    def site(self, name: str, customer: Party, address: str, postcode: str, **more: Any) -> Site:
        site: Site = self.make(
            ground.open_site, name=name, customer=customer, address=address, postcode=postcode, **more
        )
        return site

    def party(self, name: str, *, organisation: bool = False, email: str, phone: str) -> Party:
        party: Party = self.make(ground.add_party, name=name, organisation=organisation, email=email, phone=phone)
        return party

    def board(self, site: Site, name: str, phases: str, feeder: Circuit | Supply | None, **more: Any) -> Board:
        """A board on `phases` ("123" or "2"), its feed verified where `verified` says how."""
        how = more.pop("verified", "traced")
        lines = [f"L{digit}" for digit in phases]
        board: Board = self.make(
            ground.add_board,
            site,
            designation=name,
            phases=lines,
            verified_how=more.pop("designation_how", how),
            **more,
        )
        if feeder is not None:
            self.feed(board, feeder, how=how)
        return board

    def feed(self, board: Board, feeder: Circuit | Supply, *, how: str = "traced", **more: Any) -> None:
        source = {"from_circuit": feeder} if isinstance(feeder, Circuit) else {"from_supply": feeder}
        self.make(ground.set_feed, board, verified=bool(how), verified_how=how, **source, **more)

    def circuit(self, board: Board, way: str, name: str, device: str, **more: Any) -> Circuit:
        """A circuit on `way` ("5L1", "2" three-phase) behind `device` ("B32", "C63")."""
        number, _, line = way.partition("L")
        phase = f"L{line}" if line else ("3" if len(board.phases) == 3 else board.phases[0])
        made: Circuit = self.make(
            ground.add_circuit,
            board,
            way=int(number),
            phase=phase,
            designation=name,
            label_found=more.pop("label_found", name),
            device_standard="BS EN 60898",
            device_type=device[0],
            rating_a=Decimal(device[1:]),
            **more,
        )
        return made

    def circuits(self, board: Board, *rows: tuple[str, str, str]) -> list[Circuit]:
        """Final circuits: (way, name, device) each."""
        return [self.circuit(board, *row, arrangement="radial") for row in rows]

    # -- what was found

    def report(
        self, site: Site, units: Iterable[Unit], days_ago: int, *, firm: str, taken_in: int | None = None, **more: Any
    ) -> Inspection:
        """Start another firm's report of an inspection that many days ago, taken in then or later."""
        on = self.date(days_ago)
        self.day(days_ago if taken_in is None else taken_in)
        inspection: Inspection = self.make(
            found.start_inspection,
            site,
            units=list(units),
            kind="periodic",
            other_firm=True,
            inspected_on=on,
            edition=edition_in_force(on).value,
            firm_name=firm,
            **more,
        )
        return inspection

    def own_inspection(self, site: Site, units: Iterable[Unit], days_ago: int, **more: Any) -> Inspection:
        """Start our own periodic inspection, by the qualified person."""
        on = self.day(days_ago)
        inspection: Inspection = self.make(
            found.start_inspection,
            site,
            by=self.cast.qualified,
            units=list(units),
            kind="periodic",
            other_firm=False,
            inspected_on=on,
            edition=edition_in_force(on).value,
            inspector_name=self.cast.qualified.name,
            **more,
        )
        return inspection

    def note(self, inspection: Inspection, item: str, code: str, text: str, **more: Any) -> Observation:
        """An observation of a report that is being entered."""
        more.setdefault("unit", inspection.units.order_by("sort")[0])
        by = more.pop("by", None) or inspection.recorded_by
        seen: Observation = self.make(
            found.note_observation, inspection, by=by, item=item, code=code, code_written=code, text=text, **more
        )
        return seen

    def issue(self, inspection: Inspection) -> Inspection:
        issued: Inspection = self.do(found.issue_inspection, inspection, by=inspection.recorded_by)
        return issued

    def review(self, seen: Observation, decision: str, code: str = "", reason: str = "") -> None:
        self.do(found.review, seen, decision=decision, code=code, reason=reason, by=self.cast.qualified)

    def take_on(self, seen: Observation, days_ahead: int, *, owner: User | None = None) -> None:
        by_day = clock.local_day(self.now) + timedelta(days=days_ahead)
        self.do(found.take_on, seen, owner=owner or self.cast.office, step_by=by_day)

    def picture(self, seen: Observation, kind: str) -> None:
        """The photograph taken when it was found."""
        self.do(found.add_photo, seen, data=before_picture(kind), by=self.cast.qualified)

    # -- the works

    def remedial(self, seen: Sequence[Observation], work: str, **more: Any) -> Remedial:
        remedial: Remedial = self.make(works.make_remedial, seen, work=work, **{"power_off": False} | more)
        return remedial

    def approve(self, remedial: Remedial, by_whom: str, how: str = "email", **more: Any) -> None:
        on = clock.local_day(self.now)
        self.do(works.approve_remedial, remedial, given_by=by_whom, how=how, given_on=on, **more)

    def book(self, remedials: Sequence[Remedial], days_ago: int, hour: int, hours: int = 2, **more: Any) -> Any:
        """Book a visit; `days_ago` negative is in the days to come, of which working days are counted."""
        day = self.working_day(-days_ago) if days_ago < 0 else self.date(days_ago)
        start = datetime.combine(day, time(hour), tzinfo=clock.LONDON)
        engineer = more.pop("engineer", None) or self.cast.engineer
        end = start + timedelta(hours=hours)
        site = remedials[0].site
        asked: dict[str, Any] = {"remedials": list(remedials), "engineers": [engineer], "start": start, "end": end}
        return self.booked(site, **asked, **more)

    def booked(self, site: Site, **asked: Any) -> Any:
        """Book a visit; where it is warned of something, since the day of loading decides which days are weekends, agreed so."""
        try:
            return self.make(visits.book_visit, site, **asked)
        except Warned:
            return self.make(visits.book_visit, site, **asked | {"despite": "Agreed with the customer."})

    def close(
        self, remedial: Remedial, kind: str, *, reading: Sequence[tuple[Circuit, Quantity, str]] = (), **more: Any
    ) -> Any:
        """The engineer closes with a photograph of each observation and, where asked for, readings."""
        engineer = more.pop("engineer", None) or self.cast.engineer
        for seen in remedial.observations.all():
            self.do(works.add_proof_photo, remedial, data=after_picture(kind), observation=seen, by=engineer)
        readings = []
        for circuit, quantity, typed in reading:
            taken = {"quantity": quantity, "value": read(quantity, typed), "instrument": self.cast.tester}
            readings.append(self.make(found.take_reading, circuit, by=engineer, **taken))
        return self.make(works.close_remedial, remedial, by=engineer, readings=readings, **more)

    def accept(self, proof: Any, **more: Any) -> None:
        """The qualified person accepts the proof."""
        self.do(works.review_proof, proof, decision="accepted", by=self.cast.qualified, **more)
