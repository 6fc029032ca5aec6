"""The answer in plain words, for the page and for whoever does not see the drawing. Everything is "should, by the record"."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from jobsite.premises.graph import BoardNode, FeedEdge, SupplyGraph
from jobsite.premises.supply_words import SOURCE_WORDS, board_name

from .answer import Caution, Isolation, Point, StaysLive, Why, Work
from .names import Names
from .network import Spot, Switch, supply_side

Locks = Mapping[str, Sequence[str]]

WHY_WORDS: dict[Why, str] = {
    "own": "its own device",
    "feed": "feeds {children}",
    "alternative": "alternative feed of {children}",
    "candidate": "may feed {children}: believed, not verified",
    "source": "second source",
    "other-end": "joined to what must go dead: {links}",
    "back-feed": "keeps away what cannot be switched off further up",
    "neutral": "disconnects all live conductors, the neutral too",
}
OWN_SIDE = {
    "pv": "the direct-current side is live in daylight, whatever is switched off",
    "battery": "its own side is live at all times",
    "generator": "its own side is live when it runs, and it can start by itself",
    "wind": "its own side is live whenever it turns",
}
CAUTION_WORDS = {
    "name-believed": "Nobody has verified what {circuit} supplies: what is worked on may hang on another circuit.",
    "no-point": "No isolation point here: network or meter operator. Nothing of the customer's isolates {origin}.",
    "not-recorded": "What feeds {board} is not recorded: look for it before anything is isolated.",
    "all-live": "{board}: the earthing is TT, or not recorded as TN, so all live conductors are to be disconnected.",
    "control": "The main switch of {board} is a contactor or an electronic control: it does not isolate.",
    "switch-not-known": "What the main switch of {board} disconnects is not recorded: it is not relied on.",
    "no-switch": "{board} has no main switch.",
    "lines-only": "The main switch of {board} disconnects the lines only: it does not isolate the neutral.",
    "switch-believed": "{board} is not verified: what its main switch disconnects is as somebody wrote it down.",
    "believed": "A feed of {board} is believed, not verified: it can be fed from elsewhere.",
    "changes-over": "{board} has an alternative feed, which can take over by itself.",
    "no-isolator": "Where {source} is isolated from the supply is not recorded.",
}
AT_THE_POINT = {
    "single-pole": "single-pole: it does not isolate the neutral",
    "not-all-live": "it does not disconnect all live conductors: the neutral stays joined, where there is one",
    "poles-not-recorded": "how many poles it has is not recorded: it counts as not isolating the neutral",
    "no-device": "its device is not recorded: find it and see that it isolates; where it does not, switch off further up",
    "lines-only": "it disconnects the lines only, not the neutral",
}
STANDING = "A contactor, a timer, a thermostat or any electronic control does not isolate, and nor does a plain functional switch."


@dataclass(frozen=True)
class Line:
    """One line of the answer: what, where it has a page, and what is to be said of it."""

    what: str
    href: str = ""
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Told:
    """The answer as it is read: what the work is, then lines in the order in which they are needed."""

    works: tuple[str, ...]
    points: tuple[Line, ...]
    sure: tuple[str, ...]
    no_point: tuple[str, ...]
    dead: tuple[Line, ...]
    live: tuple[Line, ...]
    boards: tuple[Line, ...]
    units: tuple[str, ...]
    loads: tuple[str, ...]
    cautions: tuple[str, ...]
    locks: tuple[str, ...]
    standing: str = STANDING


def tell(graph: SupplyGraph, answer: Isolation, locks: Locks | None = None) -> Told:
    """`answer` to a question on `graph` in words. `locks`: what is locked off already, in words, by board or circuit."""
    return _Teller(graph, answer, locks or {}).told()


def work_words(graph: SupplyGraph, work: Work) -> str:
    """ "Work inside Chandlery"."""
    return Names(graph).work(work)


class _Teller:
    def __init__(self, graph: SupplyGraph, answer: Isolation, locks: Locks) -> None:
        self.graph, self.answer, self.locks = graph, answer, locks
        self.names = Names(graph)
        self.network = self.names.network
        self.fed: dict[str, list[FeedEdge]] = defaultdict(list)
        for feed in graph.feeds:
            self.fed[feed.circuit or feed.feeder].append(feed)

    def told(self) -> Told:
        answer = self.answer
        at_points = {point.switch.id for point in answer.points}
        about = {"device", "main"}
        told_there = {p.switch.id for p in answer.points if p.switch.place in about}
        cautions = (c for c in answer.cautions if c.about not in told_there or c.kind not in AT_THE_POINT)
        return Told(
            works=tuple(map(self.names.work, answer.works)),
            points=tuple(map(self._point, answer.points)),
            sure=tuple(self._sure()),
            no_point=tuple(self.names.spot(Spot("origin", origin)) for origin in answer.no_point),
            dead=tuple(self._dead()),
            live=tuple(dict.fromkeys(map(self._live, answer.live))),
            boards=tuple(self._losing()),
            units=tuple(self._units()),
            loads=tuple(self._loads()),
            cautions=tuple(self._caution(c) for c in cautions if c.kind != "no-point"),
            locks=tuple(words for key, each in self.locks.items() if key not in at_points for words in each),
        )

    # -- where to switch off

    def _point(self, point: Point) -> Line:
        switch = point.switch
        more = [self._why(switch, why) for why in point.why]
        more += [AT_THE_POINT[c.kind] for c in self.answer.cautions if c.about == switch.id and c.kind in AT_THE_POINT]
        more += self.locks.get(switch.id, ())
        return Line(self.names.switch(switch), self._href(switch), tuple(more))

    def _href(self, switch: Switch) -> str:
        if switch.place == "intake":
            return ""
        at = {"device": lambda: self.network.circuits[switch.id].board, "main": lambda: switch.id}
        board = at.get(switch.place, lambda: self.network.sources[switch.id].on_board)()
        return self.network.boards[board].href

    def _why(self, switch: Switch, why: Why) -> str:
        feeds = [feed for feed in self.fed[switch.id] if _kind(feed) == why]
        children = " and ".join(dict.fromkeys(self.names.board(feed.child) for feed in feeds))
        return WHY_WORDS[why].format(children=children, links="; ".join(self._links(switch.id)))

    def _links(self, circuit: str) -> Iterator[str]:
        for join in self.network.joins[Spot("circuit", circuit)]:
            if join.upper.kind == join.lower.kind == "circuit":
                other = join.lower if join.upper.id == circuit else join.upper
                verb = "shares a neutral with" if join.only_neutral else "also fed from or feeding"
                yield f"{verb} {self.names.circuit(other.id)}"

    def _sure(self) -> Iterator[str]:
        for sure in self.answer.sure:
            board, where = self.names.board(sure.board), self.names.spot(sure.upstream)
            if sure.upstream.kind == "origin":
                yield f"Before every candidate for {board} lies only {where} itself: network or meter operator."
            else:
                yield f"The first verified point upstream of {board} is {where}: it lies before every candidate."
        doubted = {work.id for work in self.answer.works if Caution("believed", work.id) in self.answer.cautions}
        for id_ in sorted(doubted - {sure.board for sure in self.answer.sure}, key=self.names.board):
            yield f"No verified point lies before every candidate for {self.names.board(id_)}."

    # -- what should go dead, what may stay live

    def _dead(self) -> Iterator[Line]:
        dead = self.answer.dead
        for board in self.graph.boards:
            name, href = board_name(board), board.href
            circuits = [c for c in self.network.circuits.values() if c.board == board.id]
            if Spot("bus", board.id) in dead:
                live = [f"not {c.way}" for c in circuits if Spot("circuit", c.id) not in dead]
                behind = "" if Spot("in", board.id) in dead else "only behind its main switch"
                yield Line(f"{name} with its circuits", href, tuple(filter(None, (behind, *live))))
                continue
            if Spot("in", board.id) in dead:
                yield Line(f"{name}, before its main switch", href)
            yield from (Line(self.names.circuit(c.id), href) for c in circuits if Spot("circuit", c.id) in dead)

    def _live(self, item: StaysLive) -> Line:
        power, at = item.power, item.path[-1]
        if item.reason == "own-side":
            return self._own_side(power, item.wait_minutes)
        if item.reason == "supply-side":
            return Line(self.names.spot(power), more=(f"the supply side of {self._points_below(power)}",))
        if item.reason == "link" and not item.reaches:
            other = self.names.circuit(power.id)
            until = ", live until it is switched off too" if power in self.answer.dead else ""
            return Line(other, more=(f"the other end{until}: {self._link_words(power, at)}",))
        why = {
            "feed": f"still joined to {self.names.spot(power)}",
            "not-recorded": "what feeds it is not recorded",
            "source": f"from {self.names.spot(power)}, a second source",
            "neutral": "its neutral: the earthing does not hold it, and none of the points disconnects it",
            "joined-neutral": "its neutral, cut off from the supply's, is joined to a circuit that may be live",
            "link": f"its neutral: {self._link_words(at, power)}",
        }[item.reason]
        way = f"by way of {self.names.path(item.path)}" if len(item.path) > 1 else ""
        return Line(self._reached(item), more=tuple(filter(None, (why, way))))

    def _points_below(self, spot: Spot) -> str:
        """The points that have this spot on their supply side."""
        words = {"main": "the main switch", "intake": "the customer's isolator"}
        circuits = self.network.circuits
        here = [
            p.switch
            for p in self.answer.points
            if p.switch.place != "isolator" and supply_side(p.switch, circuits) == spot
        ]
        return ", ".join(words.get(switch.place) or circuits[switch.id].way or "a circuit" for switch in here)

    def _reached(self, item: StaysLive) -> str:
        """What it reaches, the board once for itself and its circuits."""
        names: dict[str, None] = {}
        bars = {spot.id for spot in item.reaches if spot.kind == "bus"}
        for spot in sorted(item.reaches, key=lambda spot: ("in", "bus", "circuit").index(spot.kind)):
            if spot.kind == "circuit" and self.network.board_of(spot) in bars:
                continue
            covered = spot.kind == "in" and spot.id in bars
            names[self.names.spot(Spot("bus", spot.id) if covered else spot)] = None
        return "; ".join(names)

    def _link_words(self, here: Spot, there: Spot) -> str:
        joins = (j for j in self.network.joins[here] if {j.upper, j.lower} == {here, there})
        shares = any(join.only_neutral for join in joins)
        verb = "shares a neutral with" if shares else "is also fed from, or feeds,"
        return f"{verb} {self.names.spot(there)}"

    def _own_side(self, power: Spot, wait: int | None) -> Line:
        source = self.network.sources[power.id]
        more = [OWN_SIDE[source.kind]]
        if source.source_side:
            more.append(f"isolated on its own side at {source.source_side}")
        if source.kind != "generator":
            known = f"wait {wait} min" if wait else "how long to wait is not recorded: see its maker's instructions"
            more.append(f"stored charge: {known}")
        return Line(f"{source.name} ({SOURCE_WORDS[source.kind]})", more=tuple(more))

    # -- who must be warned

    def _losing(self) -> Iterator[Line]:
        for board in self.graph.boards:
            if {Spot("in", board.id), Spot("bus", board.id)} & self.answer.loses:
                yield Line(board_name(board), board.href, (board.place,) if board.place else ())

    def _units(self) -> list[str]:
        boards: Collection[BoardNode] = self.network.boards.values()
        lost = [b for b in boards if {Spot("in", b.id), Spot("bus", b.id)} & self.answer.loses]
        units = {unit for board in lost for unit in board.units}
        units |= {
            c.unit for c in self.network.circuits.values() if c.unit and Spot("circuit", c.id) in self.answer.loses
        }
        return sorted(units)

    def _loads(self) -> Iterator[str]:
        for circuit in self.network.circuits.values():
            if circuit.load and Spot("circuit", circuit.id) in self.answer.loses:
                yield f"{circuit.load}: {self.names.circuit(circuit.id)}"

    def _caution(self, caution: Caution) -> str:
        network, about = self.network, caution.about
        names = {
            "origin": network.origins[about].name if about in network.origins else "",
            "board": self.names.board(about) if about in network.boards else "",
            "circuit": self.names.circuit(about) if about in network.circuits else "",
            "source": network.sources[about].name if about in network.sources else "",
        }
        return CAUTION_WORDS[caution.kind].format(**names)


def _kind(feed: FeedEdge) -> str:
    if not feed.verified:
        return "candidate"
    return "alternative" if feed.kind == "alternative" else "feed"
