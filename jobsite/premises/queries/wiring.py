"""From rows to the wiring that tracing by switching off reads, and the names of what is in it."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Prefetch

from jobsite.premises import choices
from jobsite.premises.graph import led_to
from jobsite.premises.models import Board, BoardSeen, Circuit, CircuitLink, Feed, Site, Supply, SwitchingTest
from jobsite.premises.queries.labels import board_label, way_words
from jobsite.premises.tracing import Board as TracedBoard
from jobsite.premises.tracing import Device, Switching, Traced, Wiring, trace


@dataclass
class Ground:
    """What is recorded at a site about its feeds and about switching tests; ids are the keys of rows as text."""

    site: Site
    boards: dict[str, Board]
    circuits: dict[str, Circuit]
    supplies: dict[str, Supply]
    feeds: list[Feed]
    tests: list[SwitchingTest]
    wiring: Wiring

    @cached_property
    def traced(self) -> Traced:
        """What the tests that were not withdrawn tell."""
        return trace(self.wiring, [self.as_switching(test) for test in self.tests if test.withdrawn_at is None])

    def as_switching(self, test: SwitchingTest) -> Switching:
        """The test as tracing reads it; boards that were taken out say nothing."""
        seen: dict[str, set[str]] = {"dead": set(), "alive": set()}
        for row in test.seen.all():
            if str(row.board_id) in self.boards:
                seen[row.state].add(str(row.board_id))
        off = str(test.off_circuit_id or test.off_supply_id)
        return Switching(str(test.pk), off, frozenset(seen["dead"]), frozenset(seen["alive"]), test.others_off)

    def device_words(self, key: str) -> str:
        """ "Main intake, way 4L2 · B40", "Intake, the customer's isolator"; of what was taken out, that it was."""
        device = self.supplies.get(key) or self.circuits.get(key)
        return device_words(device) if device else "a device that was taken out"

    def lacks_isolator(self, key: str) -> str:
        """The supply whose own isolator, the customer's, isn't recorded as one that isolates; "" for every other device."""
        supply = self.supplies.get(key)
        return supply.name if supply and supply.isolator_kind not in choices.ISOLATING else ""

    def feeders_words(self, keys: Iterable[str]) -> list[str]:
        """Several in words, those of a board together: "Main intake, ways 1L1, 2L1"."""
        groups: dict[str, list[str]] = defaultdict(list)
        for key in keys:
            circuit = self.circuits.get(key)
            groups[str(circuit.board_id) if circuit else key].append(key)
        return [
            f"{self.board_words(board)}, ways {', '.join(self.circuits[key].way_name for key in ways)}"
            if len(ways) > 1
            else self.device_words(ways[0])
            for board, ways in groups.items()
        ]

    def board_words(self, key: str) -> str:
        """The board's label."""
        return board_label(self.boards[key])


def device_words(off: Circuit | Supply) -> str:
    """What can be switched off, in words: the device of a way of a board, or the customer's isolator of a supply."""
    if isinstance(off, Supply):
        return f"{off.name}, the customer's isolator"
    return f"{board_label(off.board)}, {way_words(off)}"


def feeder_key(feed: Feed) -> str:
    """The id of what the feed comes from."""
    return str(feed.from_circuit_id or feed.from_supply_id)


def ground_of(site: Site) -> Ground:
    """What is recorded of the feeds of `site` now. Eight statements whatever the size."""
    boards = {str(board.pk): board for board in site.boards.current().order_by("sort")}
    rows = Circuit.objects.current().filter(site=site, board__retired_at__isnull=True).select_related("board")
    circuits = {str(circuit.pk): circuit for circuit in rows.order_by("board__sort", "way", "phase")}
    supplies = {str(supply.pk): supply for supply in site.supplies.current().order_by("sort")}
    feeds = [
        feed
        for feed in Feed.objects.filter(site=site).order_by("-kind", "pk")
        if str(feed.board_id) in boards and feeder_key(feed) in circuits | supplies
    ]
    seen = BoardSeen.objects.select_related("board")
    tests = SwitchingTest.objects.filter(site=site).select_related("off_circuit__board", "off_supply", "by")
    tests = tests.select_related("withdrawn_by").prefetch_related(Prefetch("seen", seen)).order_by("-at", "-pk")
    found = Ground(site, boards, circuits, supplies, feeds, list(tests), Wiring())
    found.wiring = _wiring(found)
    return found


def _wiring(found: Ground) -> Wiring:
    beside = _beside(found)
    linked = {str(found.circuits[key].board_id) for key in beside}
    candidates, others = _feeders(found.feeds)
    needed = {device for devices in (*candidates.values(), *others.values()) for device in devices}
    needed |= {other for device in needed for other in beside[device]}
    needed |= {str(test.off_circuit_id) for test in found.tests if test.off_circuit_id}
    devices = [Device(key) for key in found.supplies]
    devices += [
        Device(key, str(circuit.board_id), tuple(beside[key]), circuit.must_not_lose_power)
        for key, circuit in found.circuits.items()
        if key in needed or circuit.must_not_lose_power
    ]
    return Wiring(tuple(_boards(found, candidates, others, linked)), tuple(devices))


def _boards(
    found: Ground, candidates: dict[str, list[str]], others: dict[str, list[str]], linked: set[str]
) -> Iterable[TracedBoard]:
    """The boards as tracing reads them; `linked`: those of which a circuit is also fed from elsewhere."""
    verified = {str(feed.board_id) for feed in found.feeds if feed.proven and feed.kind == choices.FeedKind.NORMAL}
    ways = Counter(str(circuit.board_id) for circuit in found.circuits.values() if not circuit.spare)
    sources: dict[str, set[str]] = defaultdict(set)
    for board, kind in found.site.second_sources.current().values_list("board_id", "kind"):
        sources[str(board)].add(kind)
    kept_alive = _kept_alive(found, {*sources, *(key for key in found.boards if others[key]), *linked})
    for key in found.boards:
        yield TracedBoard(
            id=key,
            candidates=tuple(candidates[key]),
            verified=key in verified,
            other_feeds=tuple(others[key]),
            sources=key in kept_alive,
            stand_by=choices.SourceKind.GENERATOR in sources.get(key, ()),
            circuits=ways[key],
        )


def _kept_alive(found: Ground, boards: set[str]) -> set[str]:
    """`boards`, to which power comes by another way too, and all that may feed one of them: it can come back up.

    Neither a changeover nor an inverter that should stop is relied on, as for isolation: seen alive, such a board would
    otherwise rule out the feed that is the true one.
    """
    fed = ((feed, found.circuits.get(feeder_key(feed))) for feed in found.feeds)
    return led_to(boards, ((str(feed.board_id), str(circuit.board_id)) for feed, circuit in fed if circuit))


def _feeders(feeds: list[Feed]) -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    """By board: the candidates of its normal feed, only the verified one where there is one; and its other feeds."""
    candidates: dict[str, list[str]] = defaultdict(list)
    others: dict[str, list[str]] = defaultdict(list)
    verified = {
        feed.board_id: feeder_key(feed) for feed in feeds if feed.proven and feed.kind in choices.CANDIDATE_FEEDS
    }
    for feed in feeds:
        if feed.kind not in choices.CANDIDATE_FEEDS:
            others[str(feed.board_id)].append(feeder_key(feed))
        elif verified.get(feed.board_id, feeder_key(feed)) == feeder_key(feed):
            candidates[str(feed.board_id)].append(feeder_key(feed))
    return candidates, others


def _beside(found: Ground) -> dict[str, list[str]]:
    """By circuit, those that feed the same by the record, either way round."""
    beside: dict[str, list[str]] = defaultdict(list)
    links = CircuitLink.objects.filter(site=found.site, kind=choices.LinkKind.FEED).order_by("pk")
    for pair in links.values_list("one_id", "other_id"):
        one, other = map(str, pair)
        if one in found.circuits and other in found.circuits:
            beside[one].append(other)
            beside[other].append(one)
    return beside
