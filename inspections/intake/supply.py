"""Puts boards and circuits of a file together: what feeds what, which phases reach it, which ways are taken."""

from __future__ import annotations

import re
from collections import defaultdict, deque
from dataclasses import dataclass

from .cells import fold
from .circuits import CircuitRow
from .known import KnownSupply, Names, find_way
from .plan import BoardRow, Entry, FeedAsked, FeedRow, Plan
from .trouble import Unfit
from .ways import LINES, SINGLE, THREE, Way, way

SUPPLY_SAID = {
    "supply",
    "thesupply",
    "mains",
    "mainssupply",
    "incomingsupply",
    "incomer",
    "origin",
    "network",
    "intake",
    "meter",
}
TRAILING_WAY = re.compile(r"(.+?)[\s,/:·–-]+(?:way\s*)?(\d{1,3}\s*/?\s*(?:L[123]|TPN|TP)?)", re.IGNORECASE)


def settle(plan: Plan) -> None:
    """Resolves every reference and notes the troubles on the rows.

    1. Circuits go to their boards. 2. Feeds go to their feeders, by name. 3. Boards are taken feeders first, so that
    each finds the phases and ways of the one before it settled; those on a loop stay over. 4. Rows that need a refused
    row are refused.
    """
    names = Names(
        [*(board.name for board in plan.known.boards), *(entry.row.designation for entry in plan.by_name.values())]
    )
    for circuit in plan.circuits:
        _to_board(plan, circuit, names)
    feeders = {folded: _feeders(plan, entry, names) for folded, entry in plan.by_name.items()}
    for folded, board in plan.on_record.items():
        _settle_ways(plan, folded, board.phases)
    order, looped = _feeders_first(feeders)
    for folded in looped:
        plan.by_name[folded].reader.trouble(
            "fed_from", "goes round in a circle: the board would feed itself.", "the board that really feeds it"
        )
    for folded in [*order, *looped]:
        _settle_board(plan, folded, feeders[folded] if folded not in looped else [])
    _refuse_dependents([*plan.boards, *plan.circuits])


def _to_board(plan: Plan, circuit: Entry[CircuitRow], names: Names) -> None:
    if not circuit.row.board:
        return
    found = names.find(circuit.row.board)
    if found is None:
        circuit.reader.trouble(
            "board", f"“{circuit.row.board}” isn't a board of this file or site.", names.near(circuit.row.board)
        )
        return
    circuit.row.board = found
    folded = fold(found)
    plan.on_board[folded].append(circuit)
    if folded in plan.by_name:
        circuit.needs.append(plan.by_name[folded])


@dataclass(frozen=True, slots=True)
class _Feeder:
    """A feed whose feeder is found: a supply, or the folded name of a board."""

    asked: FeedAsked
    supply: KnownSupply | None = None
    board: str = ""
    way: Way | None = None


def _feeders(plan: Plan, entry: Entry[BoardRow], names: Names) -> list[_Feeder]:
    found = []
    for asked in entry.asked:
        try:
            found.append(_feeder(plan, asked, names))
        except Unfit as unfit:
            entry.reader.trouble(asked.from_key, unfit.wrong, unfit.expected)
    if not entry.asked:
        entry.reader.note("it isn't said what feeds the board.")
    return found


def _feeder(plan: Plan, asked: FeedAsked, names: Names) -> _Feeder:
    if board := names.find(asked.said):
        return _from_board(asked, board, asked.way)
    for supply in plan.known.supplies:
        if fold(supply.name) == fold(asked.said) or (len(plan.known.supplies) == 1 and fold(asked.said) in SUPPLY_SAID):
            return _Feeder(asked, supply=supply)
    if fold(asked.said) in SUPPLY_SAID:
        raise _no_one_supply(plan.known.supplies)
    trailing = TRAILING_WAY.fullmatch(asked.said)
    if trailing and (board := names.find(trailing[1])):
        return _from_board(asked, board, asked.way or way(trailing[2]))
    raise Unfit(f"“{asked.said}” isn't a board of this file or site.", f"“supply”, or {names.near(asked.said)}")


def _no_one_supply(supplies: tuple[KnownSupply, ...]) -> Unfit:
    if not supplies:
        return Unfit("says “supply”, but the site has none on record yet.", "add the supply to the site first")
    return Unfit("says “supply”, but the site has several.", f"one of {', '.join(supply.name for supply in supplies)}")


def _from_board(asked: FeedAsked, board: str, found: Way | None) -> _Feeder:
    if found is None:
        raise Unfit(f"names “{board}”, but not the way.", f"the way of “{board}” in the next column, or after its name")
    return _Feeder(asked, board=fold(board), way=found)


def _feeders_first(feeders: dict[str, list[_Feeder]]) -> tuple[list[str], list[str]]:
    """The boards in an order with feeders before what they feed, and those that hang on a loop or between loops."""
    above = {folded: {feed.board for feed in feeds if feed.board in feeders} for folded, feeds in feeders.items()}
    below: dict[str, set[str]] = defaultdict(set)
    for folded, ones in above.items():
        for one in ones:
            below[one].add(folded)
    order = _peeled(above, below)
    left = {folded: ones for folded, ones in above.items() if folded not in set(order)}
    # What only hangs below a loop isn't on it: peel the rest from the other end.
    tails = _peeled({one: below[one] & left.keys() for one in left}, {one: above[one] & left.keys() for one in left})
    looped = [folded for folded in left if folded not in set(tails)]
    return [*order, *reversed(tails)], looped


def _peeled(before: dict[str, set[str]], after: dict[str, set[str]]) -> list[str]:
    waiting = {node: len(ones) for node, ones in before.items()}
    ready = deque(node for node, count in waiting.items() if not count)
    done = []
    while ready:
        node = ready.popleft()
        done.append(node)
        for other in after.get(node, ()):
            waiting[other] -= 1
            if not waiting[other]:
                ready.append(other)
    return done


def _settle_board(plan: Plan, folded: str, feeds: list[_Feeder]) -> None:
    entry = plan.by_name[folded]
    if not entry.row.phases:
        entry.row.phases = _phases_used(plan, folded)
    for number, feed in enumerate(feeds):
        try:
            phases = _settle_feed(plan, entry, feed, alternative=feed.asked.from_key == "other_feed")
            if number == 0 and entry.row.phases == (SINGLE,) and len(phases) == 1:
                entry.row.phases = phases
            _refuse_lacking(entry, feed, phases)
        except Unfit as unfit:
            key = feed.asked.way_key if feed.way and entry.reader.has(feed.asked.way_key) else feed.asked.from_key
            entry.reader.trouble(key, unfit.wrong, unfit.expected)
    if entry.row.phases == (SINGLE,):
        entry.row.phases = LINES[:1]
        entry.reader.note("the board's phase isn't said; it was taken for L1.")
    _settle_ways(plan, folded, entry.row.phases)


def _phases_used(plan: Plan, folded: str) -> tuple[str, ...]:
    used = {circuit.row.way.phase for circuit in plan.on_board[folded]}
    phases = LINES if THREE in used or len(used & set(LINES)) > 1 else (tuple(used & set(LINES)) or (SINGLE,))
    if phases != (SINGLE,):
        plan.by_name[folded].reader.note("the board's phases aren't said; they were taken from its circuits.")
    return phases


def _settle_feed(plan: Plan, entry: Entry[BoardRow], feed: _Feeder, *, alternative: bool) -> tuple[str, ...]:
    """Writes the feed to the board's row and returns the phases that it brings."""
    asked = feed.asked
    if feed.supply:
        _add_feed(entry, FeedRow(feed.supply.name, "", None, alternative, asked.how, asked.on))
        return feed.supply.phases
    board = plan.by_name.get(feed.board)
    on_record = plan.on_record.get(feed.board)
    name = board.row.designation if board else on_record.name if on_record else ""
    taken = plan.taken.get(feed.board, {})
    ways = [Way(number, phase) for number, phases in taken.items() for phase in phases]
    found = find_way(feed.way or Way(0), ways, name)
    circuit = taken[found.number][found.phase]
    entry.needs += [one for one in (board, circuit) if one]
    _add_feed(entry, FeedRow("", name, found, alternative, asked.how, asked.on))
    return LINES if found.phase == THREE else (found.phase,)


def _add_feed(entry: Entry[BoardRow], feed: FeedRow) -> None:
    if any((other.supply, other.board, other.way) == (feed.supply, feed.board, feed.way) for other in entry.row.feeds):
        raise Unfit("is the same as the board's other feed.", "another feed, or nothing")
    entry.row.feeds.append(feed)


def _refuse_lacking(entry: Entry[BoardRow], feed: _Feeder, phases: tuple[str, ...]) -> None:
    lacking = [line for line in entry.row.phases if line in LINES and line not in phases]
    if lacking:
        brings = ", ".join(phases)
        raise Unfit(
            f"brings {brings}; the board has {', '.join(entry.row.phases)}.", "a feed with all of the board's phases"
        )


def _settle_ways(plan: Plan, folded: str, phases: tuple[str, ...]) -> None:
    """Settles the phase of each circuit on a board, and refuses the second one on a way."""
    taken = plan.taken.setdefault(folded, {})
    for known in plan.on_record[folded].ways if folded in plan.on_record else ():
        taken.setdefault(known.number, {})[known.phase] = None
    # What is left out comes last: it holds no way against a row that is taken in.
    for circuit in sorted(plan.on_board[folded], key=lambda entry: entry.reader.left_out):
        if circuit.row.way.number == 0:
            continue  # unreadable, and already refused for that
        try:
            circuit.row.way = found = _settled(circuit.row.way, phases, circuit.row.board)
            there = taken.setdefault(found.number, {})
            clash = next((phase for phase in there if THREE in {phase, found.phase} or phase == found.phase), None)
            if clash is not None:
                raise Unfit(f"way {found} of “{circuit.row.board}” is {_where(there[clash])}.", "each way once")
            there[found.phase] = circuit
        except Unfit as unfit:
            circuit.reader.trouble("way", unfit.wrong, unfit.expected)


def _settled(asked: Way, phases: tuple[str, ...], board: str) -> Way:
    if asked.phase in {"", SINGLE}:
        if len(phases) == 1:
            return Way(asked.number, phases[0])
        raise Unfit(
            f"says no phase, and “{board}” has {', '.join(phases)}.",
            f"{asked.number}L1, {asked.number}L2, {asked.number}L3 or {asked.number}TPN",
        )
    needed = LINES if asked.phase == THREE else (asked.phase,)
    if not set(needed) <= set(phases):
        raise Unfit(
            f"way {asked} needs {', '.join(needed)}, but “{board}” has {', '.join(phases)}.",
            "a phase that the board has",
        )
    return asked


def _where(circuit: Entry[CircuitRow] | None) -> str:
    return f"also in {circuit.row.sheet}, row {circuit.row.row}" if circuit else "already on record"


def _refuse_dependents(entries: list[Entry]) -> None:
    dependents: dict[int, list[Entry]] = defaultdict(list)
    for entry in entries:
        for need in entry.needs:
            dependents[id(need)].append(entry)
    refused = deque(entry for entry in entries if entry.reader.troubles)
    while refused:
        need = refused.popleft()
        for entry in dependents[id(need)]:
            if not entry.reader.troubles:
                refused.append(entry)
                where = f"{need.row.sheet}, row {need.row.row}"
                entry.reader.trouble("", f"needs {where}, which can't be taken in.", "put that row right first")
