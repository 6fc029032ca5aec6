"""What whoever works on a board must know of it: what is open there, what feeds it, what must not lose power.

All of it by the record, which can be wrong: nothing here says that anything is dead.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q

from inspections.choices import Code, MadeSafeHow
from inspections.models import Limitation, MadeSafe, Observation
from jobsite.addresses import address
from jobsite.columns import listed
from jobsite.marks import code_mark
from jobsite.premises.choices import HowVerified
from jobsite.premises.models import Board, Circuit, Feed, Site
from jobsite.words import day, joined

TO_KNOW = (Code.C1, Code.C2, Code.FI, "")
FULL_CIRCUIT = {"way": "way", "phase": "phase", "label": "label_found", "named": "designation"}

Row = dict[str, Any]


@dataclass(frozen=True)
class Ground:
    """The boards of a site, their feeds, the loads that must not lose power, what is open and dangerous, what nobody saw."""

    boards: list[Row]
    feeds: list[Row]
    loads: list[Row]
    dangers: list[Row]
    limits: list[Row]

    def around(self, boards: Iterable[UUID | None], *, besides: Iterable[UUID] = ()) -> Row:
        """What to know for work on `boards` (None: on no board that is named, so that all of the site counts).

        "open": what is open on them, on the boards that feed them or are fed by them, and every C1 of the site, but
        for the observations `besides` (what the work itself puts right). "limits": what no inspection has covered of them,
        or of the site at large. No statement.
        """
        named = {str(board) for board in boards if board}
        mine = named or {board["id"] for board in self.boards}
        left_out = {str(key) for key in besides}
        near = mine | self._beside(mine)
        open_here = [o for o in self.dangers if o["code"] == Code.C1 or o["board"] in near]
        below = self._below(mine)
        dangers = [_danger(o) for o in sorted(open_here, key=_worst_first) if o["id"] not in left_out]
        return {
            "open": dangers,
            "more": any(not one["bare"] for one in dangers),
            "fed": [words for board in self.boards if board["id"] in mine for words in self._fed(board)],
            "loads": [_load(load) for load in self.loads if load["board"] in below],
            "limits": [_limit(one) for one in self.limits if one["board"] is None or one["board"] in near],
            "named": bool(named),
        }

    def _beside(self, boards: set[str]) -> set[str]:
        """The boards that feed one of `boards` or are fed by one, directly."""
        pairs = [(feed["child"], feed["board"]) for feed in self.feeds if feed["board"]]
        return {up for down, up in pairs if down in boards} | {down for down, up in pairs if up in boards}

    def _below(self, boards: set[str]) -> set[str]:
        """`boards` and all that any of their feeds leads to, alternative and believed ones too."""
        onward: dict[str, list[str]] = defaultdict(list)
        for feed in self.feeds:
            onward[feed["board"]].append(feed["child"])
        found, ahead = set(boards), list(boards)
        while ahead:
            new = [child for child in onward[ahead.pop()] if child not in found]
            found.update(new)
            ahead += new
        return found

    def _fed(self, board: Row) -> list[Row]:
        feeds = [feed for feed in self.feeds if feed["child"] == board["id"]]
        if not feeds:
            return [{"words": f"What feeds {board['name']} is not recorded", "doubt": "look for it before you isolate"}]
        return [_feed(board, feed) for feed in feeds]


def ground_of(sites: Iterable[UUID]) -> dict[UUID, Ground]:
    """The ground of each of `sites`. One statement whatever the size."""
    own = {"site": OuterRef("pk"), "retired_at__isnull": True}
    loads = Circuit.objects.filter(**own, board__retired_at__isnull=True).exclude(must_not_lose_power="")
    rows = Site.objects.filter(pk__in=set(sites)).annotate(
        board_rows=listed(Board.objects.filter(**own).order_by("sort"), id="id", name="designation"),
        feed_rows=_feeds(),
        load_rows=listed(
            loads.order_by("board__sort", "way", "phase"),
            what="must_not_lose_power", board="board_id", name="board__designation", **FULL_CIRCUIT,
        ),
        danger_rows=_dangers(),
        limit_rows=_limits(),
    )  # fmt: skip
    return {
        row.pk: Ground(row.board_rows, row.feed_rows, row.load_rows, row.danger_rows, row.limit_rows)
        for row in rows.only("pk")
    }


def _feeds() -> Any:
    feeds = Feed.objects.filter(Q(from_circuit__isnull=True) | Q(from_circuit__board__retired_at__isnull=True))
    return listed(
        feeds.filter(site=OuterRef("pk"), board__retired_at__isnull=True).order_by("-kind", "pk"),
        child="board_id", kind="kind", verified="verified", how="verified_how", supply="from_supply__name", board="from_circuit__board_id",
        name="from_circuit__board__designation", way="from_circuit__way", phase="from_circuit__phase",
        changeover="changeover",
    )  # fmt: skip


def _dangers() -> Any:
    held = MadeSafe.objects.filter(observation=OuterRef("pk"), ended="")
    found = Observation.objects.open().filter(site=OuterRef("pk"), code__in=TO_KNOW)
    found = found.annotate(held=listed(held, how="how", what="what", lock="lock", key="key_holder"))
    return listed(
        found.order_by("number"),
        id="id", code="code", text="text", place="place", board="board_id", name="board__designation",
        way="circuit__way", phase="circuit__phase", made_safe="made_safe", held="held",
    )  # fmt: skip


def _limits() -> Any:
    standing = Limitation.objects.standing().filter(inspection__site=OuterRef("pk"))
    return listed(
        standing.order_by("-inspection__inspected_on", "id"), what="what", why="why", board="board_id",
        name="board__designation", report="inspection_id", on="inspection__inspected_on",
    )  # fmt: skip


def _limit(one: Row) -> Row:
    return {
        "what": joined(one["name"], one["what"]),
        "why": one["why"],
        "since": f"Report of {day(date.fromisoformat(one['on']))}",
        "href": address("inspections:inspection", one["report"]),
    }


def _worst_first(o: Row) -> tuple[int, bool]:
    return TO_KNOW.index(o["code"]), o["made_safe"]


def _danger(o: Row) -> Row:
    return {
        "mark": code_mark(o["code"], o["made_safe"]),
        "href": address("desk:observation", o["id"]),
        "text": o["text"],
        "where": joined(o["name"], _way(o), o["place"]),
        "bare": o["code"] == Code.C1 and not o["made_safe"],
        "held": held_words(o["held"][0]) if o["held"] else "",
    }


def held_words(held: Row) -> str:
    """What stands made safe (how, what, lock, key as columns): what was done, the lock, who has the key."""
    lock = f"lock {held['lock']}" if held["lock"] else ""
    key = f"key with {held['key']}" if held["key"] else ""
    return f"Made safe for now: {joined(MadeSafeHow(held['how']).label, held['what'], lock, key)}"


def _way(row: Row) -> str:
    if row["way"] is None:
        return ""
    return f"way {row['way']}" if row["phase"] == "3" else f"way {row['way']}{row['phase']}"


HOW_FED = {"normal": "", "may-be": "possibly ", "alternative": "also, as an alternative, "}


def _feed(board: Row, feed: Row) -> Row:
    source = joined(feed["name"], _way(feed)) if feed["board"] else feed["supply"]
    kind = HOW_FED[feed["kind"]]
    change = f" ({feed['changeover']})" if feed["changeover"] else ""
    sure = feed["verified"] and feed["how"] != HowVerified.TOLD  # what somebody was told is no proof
    doubt = "" if sure else "only believed, not verified"
    return {"words": f"{board['name']} is {kind}fed from {source}{change}", "doubt": doubt}


def _load(load: Row) -> str:
    circuit = load["named"] or load["label"]
    return f"{load['what']}: {joined(load['name'], _way(load), circuit)}"
