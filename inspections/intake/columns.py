"""The columns of the sheets that can be taken in. This table feeds the matching, the templates and the page that lists them."""

from __future__ import annotations

from .heads import Column

_BOARD_FACTS = (
    Column(
        "board_label", "Label found", "what is marked on the board, even where it is wrong",
        others=("label", "board label", "label on board", "marked", "existing label", "label as found"), example="old crane",
    ),
    Column(
        "board_place", "Place", "where the board is",
        others=("location", "board location", "board place", "position", "room", "where"), example="store behind the office",
    ),
    Column(
        "board_phases", "Phases", "L1, L2, L3, single phase or three phase", needed=True,
        others=("board phases", "no of phases", "number of phases", "phase", "ph", "supply phases"), example="three phase",
    ),
    Column(
        "main_switch", "Main switch", "the board's main switch in words",
        others=("board main switch", "main isolator", "isolator", "incomer", "incoming device"), example="100 A four-pole",
    ),
    Column(
        "main_switch_kind", "Main switch disconnects", "all, lines, contactor, or no main switch; nothing where it is not known",
        others=("main switch parts", "main switch isolates", "main switch kind"), example="all",
    ),
    Column(
        "fed_from", "Fed from", "the board that feeds it, or “supply”; the way may follow: Main intake 4L2",
        others=("supplied from", "fed by", "feed", "supplied by", "source board", "origin", "upstream board"), example="supply",
    ),
    Column(
        "feed_way", "From way", "the way at the feeding board, such as 4 or 4L2",
        others=("feed way", "feeding way", "fed from way", "supply way", "source way", "way"), example="4L2",
    ),
    Column(
        "feed_verified", "Feed verified how", "traced, switched, read or told; nothing where it is only believed",
        others=("feed verified", "feed checked", "how verified", "verified how", "verified"), example="traced",
    ),
    Column(
        "feed_verified_on", "Feed verified on", "the day, where the feed is verified",
        others=("verified on", "date verified", "feed verified date", "feed checked on"), example="03/02/2025",
    ),
    Column(
        "other_feed", "Other feed", "a second, alternative feed (changeover): the board, or “supply”",
        others=("alternative feed", "alternative supply", "second feed", "changeover from", "standby feed"),
    ),
    Column(
        "other_feed_way", "Other feed way", "the way of that other feed",
        others=("alternative feed way", "second feed way", "standby feed way"),
    ),
    Column(
        "zdb_ohm", "Zdb (Ω)", "earth fault loop impedance at the board, ohms",
        others=("zdb", "ze at board", "board zs", "zs at board", "zdb ohm", "zdb ohms", "z db"), example="0.21",
    ),
    Column(
        "fault_current_ka", "Fault current (kA)", "prospective fault current at the board, kA",
        others=("fault current", "ipf", "pfc", "pscc", "ipf at db", "prospective fault current", "ipf ka", "pfc ka"), example="2.4",
    ),
    Column(
        "board_notes", "Board notes", "anything else worth knowing of the board",
        others=("notes", "remarks", "comments", "board remarks"),
    ),
)  # fmt: skip
"""What a board has besides its name."""

BOARDS = (
    Column(
        "board", "Board", "the board's designation, once each", needed=True,
        others=(
            "designation", "board designation", "board name", "board ref", "board reference", "board no", "board number",
            "distribution board", "db", "db ref", "db reference", "db name", "consumer unit", "cu", "name", "reference",
        ),
        example="Main intake",
    ),
    *_BOARD_FACTS,
)  # fmt: skip

_CIRCUIT_FACTS = (
    Column(
        "way", "Way", "the way's number, with its phase where the board has three: 5 or 5L1", needed=True,
        others=(
            "way no", "way number", "ways", "circuit no", "circuit number", "circuit ref", "circuit reference", "cct",
            "cct no", "cct ref", "no", "number", "circuit",
        ),
        example="5L1",
    ),
    Column(
        "phase", "Phase", "L1, L2, L3 or three phase, where the way doesn't say it",
        others=("circuit phase", "ph", "line", "phase line"), example="L1",
    ),
    Column(
        "label_found", "Label found", "what the chart or label says",
        others=("circuit label", "label", "chart says", "label as found", "existing label", "marked"), example="sockets shop",
    ),
    Column(
        "designation", "Designation", "what the circuit supplies",
        others=(
            "circuit designation", "description", "circuit description", "circuit details", "serves", "supplies",
            "circuit name", "circuit",
        ),
        example="Sockets, shop floor",
    ),
    Column(
        "device", "Device", "the protective device, whole: B32, BS EN 60898 type B 32A, RCBO B16 30mA, BS 3036 30A",
        others=("protective device", "ocpd", "overcurrent device", "protection", "breaker", "mcb", "fuse"), example="B32",
    ),
    Column(
        "device_standard", "Device standard", "BS EN 60898, BS EN 61009, BS 3036, …",
        others=("standard", "bs en", "bs", "bs no", "device bs", "device bs en", "ocpd bs en", "bs number"), example="BS EN 60898",
    ),
    Column(
        "device_type", "Device type", "B, C, D, 1 to 4, gG",
        others=("type", "type no", "curve", "ocpd type", "breaker type", "device curve"), example="B",
    ),
    Column(
        "rating_a", "Rating (A)", "the device's rating, amps",
        others=("rating", "device rating", "in", "amps", "rated current", "ocpd rating", "rating amps", "rating a"), example="32",
    ),
    Column(
        "poles", "Poles", "1 to 4",
        others=("no of poles", "number of poles", "device poles"), example="1",
    ),
    Column(
        "breaking_ka", "Breaking capacity (kA)", "what the device can break, as printed on it, kA",
        others=("breaking capacity", "breaking capacity ka", "rated breaking capacity", "short circuit capacity",
                "short circuit capacity ka", "icn", "icn ka", "bc ka"),
        example="6",
    ),
    Column(
        "rcd", "RCD", "30 mA, type A 30 mA, shared 30 mA, voltage-operated, or none",
        others=("rcd protection", "rcd details", "rccb"), example="type A 30 mA",
    ),
    Column(
        "rcd_ma", "RCD (mA)", "the rated residual current, mA",
        others=("rcd ma", "rcd rating", "i n", "idn", "iδn", "i δn", "rcd i n", "residual current", "ma"), example="30",
    ),
    Column(
        "rcd_kind", "RCD type", "AC, A, F, B, or S where it is time-delayed",
        others=("rcd kind", "type of rcd"), example="A",
    ),
    Column(
        "arrangement", "Arrangement", "ring, radial or distribution",
        others=("circuit type", "ring or radial", "wiring", "circuit arrangement", "type of circuit"), example="ring",
    ),
    Column(
        "line_mm2", "Line (mm²)", "the line conductor's size, mm²",
        others=("line mm2", "live", "live mm2", "live conductor", "line conductor", "conductor size", "csa", "csa live", "csa line",
                "cable size", "live csa", "line csa", "l n mm2", "conductor"),
        example="2.5",
    ),
    Column(
        "cpc_mm2", "cpc (mm²)", "the protective conductor's size, mm²",
        others=("cpc", "cpc mm2", "cpc csa", "csa cpc", "earth", "earth size", "cpc size", "protective conductor"), example="1.5",
    ),
    Column(
        "length_m", "Length (m)", "from the board to the furthest point, one way, metres",
        others=("length", "length m", "cable length", "cable length m", "circuit length", "run length", "metres"), example="18",
    ),
    Column(
        "points", "Points", "how many points it serves",
        others=("points served", "no of points", "number of points", "no points", "outlets", "pts"), example="8",
    ),
    Column(
        "must_not_lose_power", "Must not lose power", "what may not lose power: alarm, freezer, medical equipment, server",
        others=("keep on", "do not switch off", "critical load", "critical"), example="fire alarm",
    ),
    Column("spare", "Spare", "yes where the way is spare", others=("spare way", "not used", "unused"), example="yes"),
    Column(
        "blanked", "Blanked", "yes where a spare way is closed by a blank",
        others=("blank fitted", "blank", "blanking plate"), example="yes",
    ),
    Column(
        "second_source", "Second source", "PV, battery, generator or wind, where one comes in on this way",
        others=("source", "generation", "second supply", "embedded generation"), example="PV",
    ),
    Column("source_kw", "Source (kW)", "its rating, kW", others=("source rating", "source kw", "generation kw", "kw"), example="8"),
    Column(
        "isolate_supply_side", "Isolated on the supply side at", "where it is cut off from the installation",
        others=("ac isolator", "source isolator", "source isolated at", "isolated supply side"), example="isolator beside the board",
    ),
    Column(
        "isolate_source_side", "Isolated on the source side at", "where it is cut off from its source",
        others=("dc isolator", "isolated source side"), example="isolator beside the inverter",
    ),
    Column(
        "wait_minutes", "Wait (minutes)", "how long to wait after switching off, by its maker",
        others=("wait", "wait minutes", "discharge time", "waiting time"), example="15",
    ),
)  # fmt: skip

_BOARD_OF_CIRCUIT = Column(
    "board", "Board", "the designation of the board that the circuit is on", needed=True,
    others=(
        "board designation", "board name", "board ref", "board reference", "board no", "board number", "distribution board",
        "db", "db ref", "db reference", "db name", "consumer unit", "cu",
    ),
    example="Main intake",
)  # fmt: skip

CIRCUITS = (_BOARD_OF_CIRCUIT, *_CIRCUIT_FACTS)

_TAKEN_BY_CIRCUITS = {
    "label",
    "label found",
    "marked",
    "existing label",
    "label as found",
    "phase",
    "ph",
    "way",
    "feed way",
}
_ONLY_WITH_BOARD = {"Label found": "Board label", "Place": "Board place", "Phases": "Board phases"}


def _beside_circuits(column: Column) -> Column:
    head = _ONLY_WITH_BOARD.get(column.head, column.head)
    others = tuple(other for other in column.others if other not in {*_TAKEN_BY_CIRCUITS, head.casefold()})
    if column.head in {"Place", "Phases"}:
        others = (column.head.casefold(), *others)
    return Column(column.key, head, column.expected, others=others, example=column.example)


COMBINED = (*CIRCUITS, *map(_beside_circuits, _BOARD_FACTS))
"""One sheet for both: a row for each circuit, with what is known of its board beside it."""

OBSERVATIONS = (
    Column(
        "item", "Item", "the observation's number in the report, once each; without this column they are counted",
        others=("item no", "item number", "no", "number", "obs", "obs no", "observation no", "observation number", "ref", "reference",
                "id"),
        example="1",
    ),
    Column(
        "code", "Code", "C1, C2, C3 or FI", needed=True,
        others=("classification", "classification code", "class", "obs code", "observation code", "category", "severity"),
        example="C2",
    ),
    Column(
        "text", "Observation", "what was found, as the report words it", needed=True,
        others=("observations", "description", "details", "defect", "defects", "finding", "text", "comment", "comments", "remark",
                "remarks", "observation details"),
        example="No RCD for socket-outlets that supply equipment outdoors",
    ),
    Column(
        "board", "Board", "the designation of a board of this site, where the observation is about one",
        others=("db", "db ref", "db reference", "distribution board", "consumer unit", "cu", "board ref", "board reference",
                "board name", "board designation"),
        example="Main intake",
    ),
    Column(
        "way", "Way", "the way on that board, where it is about one circuit: 5 or 5L1",
        others=("circuit", "circuit no", "circuit number", "circuit ref", "way no", "way number", "cct", "cct no"), example="5L1",
    ),
    Column("phase", "Phase", "L1, L2, L3, where the way doesn't say it", others=("ph", "circuit phase"), example="L1"),
    Column("place", "Place", "where, in words", others=("location", "room", "area", "where", "position"), example="by the roller door"),
    Column(
        "first_recorded", "First recorded", "the day it was first written down, where that was before this report",
        others=("first recorded on", "date", "date recorded", "date found", "first noted", "date first recorded", "found on",
                "recorded on", "recorded"),
        example="03/02/2025",
    ),
)  # fmt: skip

ONLY_CIRCUITS_HAVE = frozenset(column.key for column in _CIRCUIT_FACTS) - {"way", "phase", "label_found", "designation"}
ONLY_BOARDS_HAVE = frozenset(column.key for column in _BOARD_FACTS)
