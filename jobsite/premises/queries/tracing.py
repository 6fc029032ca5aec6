"""The page on which feeds are traced by switching off: what is certain, what remains, what to switch off next."""

from typing import Any

from jobsite.addresses import address
from jobsite.premises.choices import Phase
from jobsite.premises.models import Board, Site, SwitchingTest
from jobsite.premises.queries.labels import circuit_label
from jobsite.premises.queries.wiring import Ground, device_words, feeder_key, ground_of
from jobsite.premises.tracing import Advice, Losing, RuledOut, Switching, loses_power
from jobsite.words import joined, many, when

OFFERED = 3  # pieces of advice; the rest can be chosen by hand


def tracing_page(site: Site) -> dict[str, Any]:
    """All that the page shows, as ready strings. Eight statements whatever the size, one less without tests."""
    found = ground_of(site)
    traced = found.traced
    clashing = {test.id for clash in traced.clashes for test in clash}
    certain = [_certain(found, board) for board in found.boards if board in traced.seen]
    return {
        "clashes": [_clash(found, clash) for clash in traced.clashes],
        "certain": [one for one in certain if not one["alone"]],
        "alone": [one for one in certain if one["alone"]],
        "open": [_open(found, board) for board in traced.open],
        "to_see": [_advice(found, advice) for advice in traced.confirm],
        "lost": [
            _board(found, board) | {"ring": board in traced.rings} for board in found.boards if not traced.left[board]
        ],
        "next": [_advice(found, advice) for advice in traced.next[:OFFERED]],
        "how_many": _how_many(found),
        "all_verified": bool(found.boards) and all(board.verified for board in found.wiring.boards),
        "any_boards": bool(found.boards),
        "tests": [_test(found, test, clashing) for test in found.tests],
    }


def _board(found: Ground, board: str) -> dict[str, str]:
    return {
        "name": found.board_words(board),
        "place": found.boards[board].place,
        "href": address("premises:board", board),
        "candidates": address("premises:candidates", board),
    }


def _certain(found: Ground, board: str) -> dict[str, Any]:
    """What went dead with just its feeder off; `alone` where no other is named that a test could have ruled out."""
    device, alone = found.traced.left[board][0], len(found.wiring.at[board].candidates) == 1
    return _board(found, board) | {"feeder": found.device_words(device), "pair": f"{board}:{device}", "alone": alone}


def _open(found: Ground, board: str) -> dict[str, Any]:
    return _board(found, board) | {
        "left": found.feeders_words(found.traced.left[board]),
        "out": _ruled_out(found, [one for one in found.traced.ruled_out if one.board == board]),
    }


def _ruled_out(found: Ground, several: list[RuledOut]) -> list[dict[str, str]]:
    """What is ruled out, by the test that does it."""
    at = {str(test.pk): f"by the test of {when(test.at)}" for test in found.tests}
    devices: dict[str, list[str]] = {}
    for one in several:
        devices.setdefault(one.test, []).append(one.device)
    return [
        {"feeder": words, "by": at.get(test, "by the tests together, or since it would feed itself")}
        for test, keys in devices.items()
        for words in found.feeders_words(keys)
    ]


def _how_many(found: Ground) -> str:
    """How many arrangements are left, and whether each was tried out."""
    traced = found.traced
    if not traced.open:
        return ""
    if traced.exact:
        return f"{many(traced.arrangements, 'way')} in which these boards can be fed together agree with the tests."
    return (
        f"There are too many ways in which these boards can be fed together (up to {traced.arrangements:,}) to try out "
        "each. Candidates are ruled out board by board: never the true one, but some may stand here longer than need be. "
        "What to switch off next is judged by a sample."
    )


def _advice(found: Ground, advice: Advice) -> dict[str, Any]:
    traced = found.traced
    after = max(1, round(traced.arrangements / 2**advice.bits))
    tells = f"is expected to leave about {after} of {traced.arrangements} possibilities"
    return {
        "device": found.device_words(advice.device),
        "look_at": joined(*map(found.board_words, advice.look_at)),
        "tells": tells if advice.bits and traced.exact else "",
        "others_off": advice.others_off,
        "no_isolator": found.lacks_isolator(advice.device),
        "note": address("premises:switching_new", found.site.pk, off=advice.device),
        **_losing(found, Losing(advice.boards, advice.circuits, advice.keep)),
    }


def _losing(found: Ground, lost: Losing) -> dict[str, Any]:
    boards = [found.boards[board] for board in lost.boards]
    bare = [str(board.pk) for board in boards if not found.wiring.at[str(board.pk)].circuits]
    keep = [f"{found.circuits[key].must_not_lose_power} ({device_words(found.circuits[key])})" for key in lost.keep]
    return {
        "loses": joined(*(found.board_words(board) for board in lost.boards)),
        "circuits": many(lost.circuits, "circuit"),
        "keep": joined(*keep, by="; "),
        "bare": joined(*map(found.board_words, bare)),
    }


def _clash(found: Ground, clash: tuple[Switching, ...]) -> dict[str, Any]:
    tests = [next(test for test in found.tests if str(test.pk) == one.id) for one in clash]
    missing = {b: one.off for one in clash for b in one.dead if one.off not in found.wiring.at[b].candidates}
    offered = [b for b in missing if not found.wiring.at[b].verified] if len(clash) == 1 else []
    return {
        "tests": [_test(found, test, set()) for test in tests],
        "alone": len(clash) == 1,
        "missing": [
            _board(found, board)
            | {
                "feeder": found.device_words(missing[board]),
                "candidates": address("premises:candidates", board, also=missing[board]),
            }
            for board in offered
        ],
    }


def _test(found: Ground, test: SwitchingTest, clashing: set[str]) -> dict[str, Any]:
    seen = {row.board.sort: (str(row.board_id), row) for row in test.seen.all()}
    states: dict[str, list[str]] = {"dead": [], "alive": []}
    for _, (key, row) in sorted(seen.items()):
        gone = "" if key in found.boards else " (taken out)"
        states[row.state].append(f"{row.board.designation}{gone}")
    device = found.device_words(str(test.off_circuit_id or test.off_supply_id))
    taken_out = str(test.off.pk) not in {**found.circuits, **found.supplies}
    return {
        "when": when(test.at),
        "by": joined(str(test.by), test.together_with and f"with {test.together_with}"),
        "device": f"{device_words(test.off)} (taken out since: it says nothing now)" if taken_out else device,
        "dead": joined(*states["dead"]) or "none",
        "alive": joined(*states["alive"]) or "none",
        "others_off": test.others_off,
        "note": test.note,
        "clashes": str(test.pk) in clashing,
        "withdrawn": _withdrawn(test),
        "withdraw": address("premises:switching_withdraw", test.pk),
    }


def _withdrawn(test: SwitchingTest) -> str:
    if test.withdrawn_at is None:
        return ""
    return f"Withdrawn by {test.withdrawn_by} on {when(test.withdrawn_at)}: {test.withdrawn_why}"


# --- what the form for a test offers ----------------------------------------------------------------------------------

Groups = list[tuple[str, list[tuple[str, str]]]]


IN_QUESTION = 40  # devices whose outage is told on a page for a phone without signal


def in_question(found: Ground) -> list[str]:
    """What may feed a board whose feed is not verified: what there is to switch off, the first 40."""
    unsure = [board for board in found.wiring.boards if not board.verified]
    return list(dict.fromkeys(device for board in unsure for device in board.candidates))[:IN_QUESTION]


def devices_to_switch(found: Ground) -> Groups:
    """What can be switched off: candidates of boards that are not verified first, then supplies, then every other way."""
    unsure = [board for board in found.wiring.boards if not board.verified]
    first = list(dict.fromkeys(device for board in unsure for device in board.candidates))
    rest = [key for key in (*found.supplies, *found.circuits) if key not in set(first)]
    groups: Groups = [("May feed a board that is in question", [(key, found.device_words(key)) for key in first])]
    by_board: dict[str, list[tuple[str, str]]] = {}
    for key in rest:
        circuit = found.circuits.get(key)
        head = found.board_words(str(circuit.board_id)) if circuit else "Supplies"
        by_board.setdefault(head, []).append((key, found.device_words(key)))
    return [group for group in (*groups, *by_board.items()) if group[1]]


def boards_to_look_at(found: Ground) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """The boards by key and name: those in question, and those whose feed is verified."""
    named = [
        (board.id, joined(found.board_words(board.id), found.boards[board.id].place)) for board in found.wiring.boards
    ]
    asked = {board.id for board in found.wiring.boards if not board.verified}
    return [pair for pair in named if pair[0] in asked], [pair for pair in named if pair[0] not in asked]


def before_switching(found: Ground, device: str) -> dict[str, Any]:
    """Who may lose power when `device` is switched off, to be said before it is."""
    lost = loses_power(found.wiring, found.traced.left, device)
    unfed = [found.board_words(board) for board in found.boards if not found.traced.left[board]]
    said = {"device": found.device_words(device), "unfed": joined(*unfed), "lost": _losing(found, lost)}
    return said | {"no_isolator": found.lacks_isolator(device)}


def may_feed(found: Ground, board: Board) -> list[dict[str, Any]]:
    """What may be named as feeding `board`: supplies, then by board its ways that have the phases; each with key and words.

    `any` stands for all ways of a board. What is recorded already and the board's own ways are left out.
    """
    known = {feeder_key(feed) for feed in found.feeds if feed.board_id == board.pk}
    supplies = [
        (key, supply.name)
        for key, supply in found.supplies.items()
        if key not in known and set(board.phases) <= set(supply.phases)
    ]
    groups: dict[str, list[tuple[str, str]]] = {}
    for key, circuit in found.circuits.items():
        phases = circuit.board.phases if circuit.phase == Phase.THREE else [circuit.phase]
        if key not in known and circuit.board_id != board.pk and not circuit.spare and set(board.phases) <= set(phases):
            groups.setdefault(str(circuit.board_id), []).append((key, circuit_label(circuit)))
    offered: list[dict[str, Any]] = [{"name": "From the network", "any": None, "ways": supplies}] if supplies else []
    for key, ways in groups.items():
        any_way = (f"any:{key}", f"any of these {len(ways)} ways") if len(ways) > 1 else None
        offered.append({"name": found.board_words(key), "any": any_way, "ways": ways})
    return offered
