"""Where a feed is not verified: the first verified point upstream that lies before every candidate."""

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping

from jobsite.premises.graph import FeedEdge

from .answer import Sure, Work
from .network import Network, Spot

Feeds = Mapping[str, list[FeedEdge]]


def sure_points(network: Network, works: Iterable[Work]) -> tuple[Sure, ...]:
    """For each board worked in or before, whose feeds are not all verified; none where nothing lies before all of them."""
    feeds: dict[str, list[FeedEdge]] = defaultdict(list)
    for feed in network.graph.feeds:
        feeds[feed.child].append(feed)
    found: dict[str, Sure] = {}
    for work in works:
        board = network.circuits[work.id].board if work.kind == "circuit" else work.id
        doubted = work.kind != "circuit" and not all(feed.verified for feed in feeds[board])
        if doubted and board not in found and (upstream := _first_sure(network, feeds, board)):
            found[board] = Sure(board, upstream)
    return tuple(found.values())


def _first_sure(network: Network, feeds: Feeds, board: str) -> Spot | None:
    """The nearest board upstream by which all recorded ways lead and whose own feeds are verified, else the origin."""
    for feeder in _upstream(feeds, board):
        is_origin = feeder in network.origins
        known = is_origin or (bool(feeds[feeder]) and all(feed.verified for feed in feeds[feeder]))
        if known and not _reaches_a_root(network, feeds, board, without=feeder):
            return Spot("origin" if is_origin else "bus", feeder)
    return None


def _upstream(feeds: Feeds, board: str) -> list[str]:
    """All that feeds it, directly or not, nearest first."""
    found, queue = [board], deque([board])
    while queue:
        for feed in feeds[queue.popleft()]:
            if feed.feeder not in found:
                found.append(feed.feeder)
                queue.append(feed.feeder)
    return found[1:]


def _reaches_a_root(network: Network, feeds: Feeds, board: str, *, without: str) -> bool:
    """Whether the recorded feeds lead from the board to an origin, or to a board of unknown feed, past `without`."""
    found, ahead = {board, without}, [board]
    while ahead:
        here = ahead.pop()
        if here in network.origins or here in network.unknown:
            return True
        new = [feed.feeder for feed in feeds[here] if feed.feeder not in found]
        found.update(new)
        ahead += new
    return False
