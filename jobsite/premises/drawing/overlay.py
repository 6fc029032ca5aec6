"""What an isolation lays over the supply drawing: hatched what should go dead, red what may stay live, where to switch off."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from jobsite.premises.graph import FeedEdge, SupplyGraph
from jobsite.premises.isolation import Isolation, Network, Point, Spot

MAY = "may stay live"
SHOULD = "should go dead"
OFF = "switch off"

Notes = Mapping[str, tuple[tuple[str, str], ...]]


@dataclass(frozen=True)
class Overlay:
    """By id of board, origin or source: those hatched, those red, and notes as (style, words); feeds by their place."""

    dead: frozenset[str] = frozenset()
    live: frozenset[str] = frozenset()
    notes: Notes = field(default_factory=dict)
    dead_feeds: frozenset[int] = frozenset()
    live_feeds: frozenset[int] = frozenset()
    off_feeds: frozenset[int] = frozenset()

    def said_of(self, id_: str) -> tuple[str, ...]:
        """The same in words, for the list beside the drawing."""
        dead = (f"{SHOULD}, by the record",) if id_ in self.dead else ()
        return (*dead, *(words for _, words in self.notes.get(id_, ())))

    def state_of(self, place: int) -> str:
        """How the feed at this place of the graph is drawn: "live", "dead" or ""."""
        return "live" if place in self.live_feeds else "dead" if place in self.dead_feeds else ""


NOTHING = Overlay()


def overlay(graph: SupplyGraph, answer: Isolation) -> Overlay:
    """`answer` to a question on `graph`, for its drawing."""
    network = Network(graph)
    feeds = {place: _conductors(feed) for place, feed in enumerate(graph.feeds)}
    switched = {(point.switch.place, point.switch.id) for point in answer.points}
    notes: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for id_, style, words in (*_points(network, answer), *_live(network, answer)):
        if (style, words) not in notes[id_]:
            notes[id_].append((style, words))
    return Overlay(
        dead=frozenset(board.id for board in graph.boards if Spot("bus", board.id) in answer.dead),
        live=frozenset(id_ for id_, each in notes.items() if ("live", MAY) in each),
        notes={id_: tuple(each) for id_, each in notes.items()},
        dead_feeds=frozenset(place for place, spot in feeds.items() if spot in answer.dead),
        live_feeds=frozenset(p for p, spot in feeds.items() if spot in answer.around and spot not in answer.dead),
        off_feeds=frozenset(p for p, spot in feeds.items() if ("device", spot.id) in switched),
    )


def _conductors(feed: FeedEdge) -> Spot:
    """The spot that the line of a feed stands for: its circuit, or the board's tails where a supply feeds it."""
    return Spot("circuit", feed.circuit) if feed.circuit else Spot("in", feed.child)


def _points(network: Network, answer: Isolation) -> Iterator[tuple[str, str, str]]:
    feeding = {feed.circuit for feed in network.graph.feeds}
    for point in answer.points:
        if point.switch.place != "device":
            yield point.switch.id, "point", _words(point)
        elif point.switch.id not in feeding:
            circuit = network.circuits[point.switch.id]
            yield circuit.board, "point", f"{OFF} {circuit.way}"


def _words(point: Point) -> str:
    what = {"main": "its main switch", "intake": "the customer's isolator", "isolator": "its isolator"}
    return f"{OFF} {what[point.switch.place]}"


def _live(network: Network, answer: Isolation) -> Iterator[tuple[str, str, str]]:
    for spot in sorted(answer.around - answer.dead):
        if spot.kind == "bus":
            yield spot.id, "live", MAY
        elif spot.kind == "in":
            dead_behind = Spot("bus", spot.id) in answer.dead
            yield spot.id, "live", f"{MAY} before its main switch" if dead_behind else MAY
        else:
            circuit = network.circuits[spot.id]
            if Spot("bus", circuit.board) not in answer.around - answer.dead:
                yield circuit.board, "live", f"{circuit.way}: {MAY}"
    for item in answer.live:
        if item.reason == "own-side":
            yield item.power.id, "live", MAY
        elif item.reason == "link" and not item.reaches:
            circuit = network.circuits[item.power.id]
            yield circuit.board, "live", f"{circuit.way}: {MAY}"
