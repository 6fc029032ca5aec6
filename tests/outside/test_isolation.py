"""Isolation against what published guidance asks of it. FACTS of this kind were read on secondary pages, named beside each."""

import pytest

from jobsite.premises.graph import BoardNode, CircuitNode, FeedEdge, Origin, SourceNode, SupplyGraph
from jobsite.premises.isolation import Isolation, Spot, Work, isolate
from jobsite.premises.isolation.words import tell

INTAKE = Origin("o", "Supply", 100, earthing="TN-C-S")
HOUSE, LOFT = BoardNode("house", "House", switch="all"), BoardNode("loft", "Loft", switch="all")
FEEDS = (FeedEdge("house", "o"), FeedEdge("loft", None, "house", circuit="house 1"))
CIRCUITS = tuple(
    CircuitNode(id_, id_.partition(" ")[0], f"way {id_[-1]}", poles=2) for id_ in ("house 1", "loft 1", "loft 2")
)


def home(*sources: SourceNode) -> SupplyGraph:
    return SupplyGraph((INTAKE,), (HOUSE, LOFT), FEEDS, sources, circuits=CIRCUITS)


def source(kind: str, *, circuit: str | None = None, isolator: str = "isolator beside it") -> SourceNode:
    return SourceNode("s", kind, "Second source", "loft", circuit=circuit, supply_side=isolator)


def places(answer: Isolation) -> set[str]:
    return {point.switch.place for point in answer.points}


@pytest.mark.parametrize("kind", ["pv", "battery", "generator", "wind"])
@pytest.mark.parametrize("work", [Work("inside", "loft"), Work("inside", "house"), Work("supply", "loft")])
def test_isolation_is_from_every_source(kind, work):
    """Electricity at Work Regulations 1989 reg. 12: disconnection from every source of energy; secondary sources (standby
    generators, UPS, microgeneration) too, as a UK page of a maker of testers on the steps says."""
    assert "isolator" in places(isolate(home(source(kind)), work))


def test_installation_that_cannot_be_isolated_from_another_source_is_called_out():
    """NHBC Standards 8.2.11: an installation must be capable of isolation from all other sources."""
    answer = isolate(home(source("battery", isolator="")), Work("inside", "loft"))
    assert ("no-isolator", "s") in [(caution.kind, caution.about) for caution in answer.cautions]
    assert Spot("bus", "loft") not in answer.dead


def test_battery_backup_may_keep_a_board_live():
    """NHBC Standards 8.2.11: inverters disconnect when the mains is lost, but battery backup may keep a board live."""
    answer = isolate(home(source("battery", isolator="")), Work("circuit", "house 1"))
    (backed,) = [item for item in answer.live if item.reason == "source"]
    assert (backed.power, Spot("bus", "loft") in backed.reaches) == (Spot("source", "s"), True)


def test_stored_charge_waits_as_long_as_its_maker_says():
    """A maker's manual for the UK (an inverter) asks for 45 minutes before it is opened: the wait is that of the record."""
    waits = SourceNode("s", "battery", "Second source", "loft", supply_side="isolator", wait_minutes=45)
    told = tell(home(waits), isolate(home(waits), Work("inside", "loft")))
    assert "stored charge: wait 45 min" in [more for line in told.live for more in line.more]
