"""What things are called where an isolation is told: work, boards, circuits, switches, ways from one to the other."""

from collections.abc import Iterable

from jobsite.premises.graph import SupplyGraph
from jobsite.premises.supply_words import board_name

from .answer import Work
from .network import Network, Spot, Switch

WORK_WORDS = {"circuit": "Work on", "inside": "Work inside", "supply": "Work on the supply side of"}


class Names:
    """The names of what stands in one supply graph; those that nobody verified in quotes."""

    def __init__(self, graph: SupplyGraph) -> None:
        self.network = Network(graph)

    def work(self, work: Work) -> str:
        what = self.circuit(work.id) if work.kind == "circuit" else self.board(work.id)
        return f"{WORK_WORDS[work.kind]} {what}"

    def board(self, id_: str) -> str:
        return board_name(self.network.boards[id_])

    def circuit(self, id_: str) -> str:
        circuit = self.network.circuits[id_]
        name = f" ({circuit.name})" if circuit.name else ""
        return f"{self.board(circuit.board)}, {circuit.way or 'a circuit'}{name}"

    def spot(self, spot: Spot) -> str:
        if spot.kind == "circuit":
            return self.circuit(spot.id)
        if spot.kind == "origin":
            return self.network.origins[spot.id].name
        if spot.kind == "source":
            return self.network.sources[spot.id].name
        return f"{self.board(spot.id)}, before its main switch" if spot.kind == "in" else self.board(spot.id)

    def switch(self, switch: Switch) -> str:
        if switch.place == "device":
            unknown = "" if self.network.circuits[switch.id].has_device else ", device not recorded"
            return f"{self.circuit(switch.id)}{unknown}"
        if switch.place == "main":
            words = self.network.boards[switch.id].main_switch
            return f"{self.board(switch.id)}, its main switch{f' ({words})' if words else ''}"
        if switch.place == "intake":
            origin = self.network.origins[switch.id]
            return f"{origin.name}, the customer's isolator{f' ({origin.isolator})' if origin.isolator else ''}"
        source = self.network.sources[switch.id]
        return f"{source.name}, {source.supply_side}"

    def path(self, path: Iterable[Spot]) -> str:
        """Each thing on the way once: "Supply → Main intake → Main intake, way 4"."""
        names = (self.board(spot.id) if spot.kind == "in" else self.spot(spot) for spot in path)
        return " → ".join(dict.fromkeys(names))
