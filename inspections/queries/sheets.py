"""The places and quantities that a page offers to type readings for, with what was read there last."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import QuerySet

from inspections.models import Reading
from inspections.queries.phone_limits import judge_words
from inspections.queries.situations import Ground, HowTested, Place, others_of
from inspections.standards.limits import EnterLimit, Limit
from inspections.standards.quantities import Quantity
from inspections.standards.readings import limits_for
from inspections.standards.situation import Multiple
from jobsite import words
from jobsite.marks import verdict_mark
from jobsite.premises.choices import Arrangement, FeedKind
from jobsite.premises.models import Board, Circuit, Supply

RING = (Quantity.RING_R1, Quantity.RING_RN, Quantity.RING_R2)
CROSS = (Quantity.RING_CROSS_RN, Quantity.RING_CROSS_R2)
HEADS = {
    Quantity.R1_R2: "R1+R2",
    Quantity.RING_R1: "r1",
    Quantity.RING_RN: "rn",
    Quantity.RING_R2: "r2",
    Quantity.INSULATION: "Insulation",
    Quantity.POLARITY: "Polarity",
    Quantity.LOOP: "Zs",
    Quantity.RCD_TIME: "RCD, 1 × IΔn",
}
Key = tuple[str, str, str]
BOUND = re.compile(r"^(at (least|most) [\d.]+|[\d.]+ to [\d.]+) (Ω|MΩ|ms|kA): ")


@dataclass
class Cell:
    """One value to type: what is read where, with its unit, what it is judged by, and what was read last.

    `enter`: why a person must enter the limit, "" where none must. `typed` and what follows is of the form.
    """

    place: Place
    quantity: Quantity
    multiple: Multiple = Multiple.ONE
    limit: str = ""
    basis: list[str] = field(default_factory=list)
    enter: str = ""
    judge: str = ""
    last: dict[str, str] | None = None
    typed: str = ""
    as_read: bool = False
    limit_typed: str = ""
    limit_source: str = ""
    corrected: bool = False
    error: str = ""
    doubt: bool = False
    verdict: dict[str, str] | None = None

    @property
    def name(self) -> str:
        """The name of its field, the same on every page that offers it."""
        return f"{self.place.pk.hex}-{self.quantity.value}-{self.multiple.value.replace('.', '')}"

    @property
    def label(self) -> str:
        """What is read, for those who don't see the column: "Way 5L1: insulation resistance"."""
        return f"{place_words(self.place)}: {self.what}"

    @property
    def what(self) -> str:
        """The quantity, an RCD's with its test current."""
        return what_words(self.quantity, self.multiple)

    @property
    def unit(self) -> str:
        """Ω, MΩ, ms, kA; empty for a check that is answered OK or not OK."""
        return self.quantity.unit

    @property
    def yes_no(self) -> bool:
        """Whether it is answered OK or not OK."""
        return self.quantity.yes_no

    @property
    def key(self) -> Key:
        """By which its last reading is found."""
        return str(self.place.pk), self.quantity.value, self.multiple.value


def what_words(quantity: Quantity, multiple: Multiple) -> str:
    """The quantity in words, an RCD's with its test current."""
    return f"{quantity.label}, {multiple.words}" if quantity is Quantity.RCD_TIME else quantity.label


def place_words(place: Place) -> str:
    """A place of a board as it is spoken of beside its fields."""
    if isinstance(place, Circuit):
        return f"Way {place.way_name}"
    return place.designation if isinstance(place, Board) else place.name


def circuits_of(board: Board) -> list[Circuit]:
    """The circuits of a board that are there and no spare ways, in the order of the board. One statement."""
    rows = Circuit.objects.filter(board=board, retired_at__isnull=True, spare=False)
    return list(rows.select_related("board", "site").order_by("way", "phase"))


def supplies_of(board: Board) -> list[Supply]:
    """The supplies that feed a board directly. One statement."""
    rows = Supply.objects.filter(feeds__board=board, feeds__kind=FeedKind.NORMAL, retired_at__isnull=True)
    return list(rows.order_by("sort").distinct())


def table_columns(circuits: Sequence[Circuit]) -> list[Quantity]:
    """The usual quantities of a board's table; ends of rings and RCDs only where it has any."""
    rings = any(c.arrangement == Arrangement.RING for c in circuits)
    rcds = any(c.rcd_ma for c in circuits)
    wanted = [Quantity.R1_R2, *(RING if rings else ()), Quantity.INSULATION, Quantity.POLARITY, Quantity.LOOP]
    return [*wanted, *([Quantity.RCD_TIME] if rcds else [])]


def offered(circuit: Circuit, quantity: Quantity) -> bool:
    """Whether a quantity is asked for on a circuit: ends of a ring only on one, an RCD's time only where there is one."""
    if quantity in RING or quantity in CROSS:
        return circuit.arrangement == Arrangement.RING
    return quantity is not Quantity.RCD_TIME or bool(circuit.rcd_ma)


def cells_of_circuit(circuit: Circuit) -> list[Cell]:
    """All that is read on a circuit: the dead tests first, then the live ones."""
    dead = [Quantity.R1_R2, Quantity.R2, *RING, *CROSS, Quantity.INSULATION]
    live = [Quantity.POLARITY, Quantity.LOOP, Quantity.FAULT_CURRENT, Quantity.FUNCTIONAL]
    found = [Cell(circuit, quantity) for quantity in (*dead, *live) if offered(circuit, quantity)]
    if offered(circuit, Quantity.RCD_TIME):
        found += [Cell(circuit, Quantity.RCD_TIME, multiple) for multiple in Multiple]
    return found


def with_limits(cells: Iterable[Cell], common: Ground) -> None:
    """Writes onto `cells` what a reading would be judged by. No statement."""
    for cell in cells:
        situation = common.situation(cell.place, HowTested(multiple=cell.multiple))
        found = limits_for(cell.quantity, situation, facts=common.facts)
        if isinstance(found.decides, Limit):
            cell.limit, cell.basis = found.decides.shown, [limit_words(found.decides)]
        if isinstance(found.decides, EnterLimit):
            cell.enter = found.decides.reason
        if isinstance(found.other, Limit):
            cell.basis.append(f"The other basis, which does not decide: {limit_words(found.other)}")


def with_judging(cells: Iterable[Cell], common: Ground) -> None:
    """Writes onto `cells` what a phone judges by, beside the latest other readings of each circuit. One statement."""
    cells = list(cells)
    circuits = {cell.place.pk: cell.place for cell in cells if isinstance(cell.place, Circuit)}
    others = others_of(list(circuits.values())) if circuits else {}
    for cell in cells:
        test = HowTested(multiple=cell.multiple)
        cell.judge = judge_words(cell.quantity, cell.place, common, test=test, others=others.get(cell.place.pk))


def limit_words(limit: Limit) -> str:
    """A limit with its basis and how sure it is: "At most 1.09 Ω: 0.80 × 1.366 Ω …"."""
    note = f" ({limit.confidence.note})" if limit.confidence.note else ""
    return f"{limit.shown[0].upper()}{limit.shown[1:]}: {without_bound(limit.basis)}{note}."


def without_bound(basis: str) -> str:
    """A basis without the bound that some begin with: it stands beside it already."""
    return BOUND.sub("", basis, count=1)


def with_last(cells: Iterable[Cell], rows: Iterable[Reading]) -> None:
    """Writes onto `cells` what was read there last, of `rows` from `latest`."""
    by_key = {(str(place_of(row)), row.quantity, row.multiple or "1"): row for row in rows}
    for cell in cells:
        if row := by_key.get(cell.key):
            cell.last = {"words": row.words, "mark": verdict_mark(row.passed, row.get_verdict_display())}
            cell.last["when"] = words.day(words.london(row.taken_at).date())


def place_of(row: Reading) -> Any:
    """The key of the place that a reading was taken at."""
    return row.circuit_id or row.board_id or row.supply_id


def latest(rows: QuerySet[Reading]) -> QuerySet[Reading]:
    """The latest reading of each quantity at each place, of `rows`. No statement of its own."""
    at = ("circuit", "board", "supply", "quantity", "multiple")
    return rows.order_by(*at, "-taken_at", "-pk").distinct(*at)
