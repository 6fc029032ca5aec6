"""An invented boatyard: seven boards, their circuits, and what an earlier report found there."""

from datetime import date

TRACED = {"feed_verified": "traced", "feed_verified_on": date(2025, 2, 3)}

BOARD_ROWS = [
    {
        "board": "Main intake", "board_label": "MAIN", "board_place": "store behind the office", "board_phases": "three phase",
        "main_switch": "100 A four-pole", "fed_from": "supply", "zdb_ohm": 0.18, "fault_current_ka": 2.9, **TRACED,
    },
    {
        "board": "Workshop", "board_label": "DB1", "board_place": "by the roller door", "board_phases": "three phase",
        "main_switch": "100 A four-pole", "fed_from": "Main intake", "feed_way": "1TPN", "zdb_ohm": 0.24, **TRACED,
    },
    {
        "board": "Slip hoist", "board_label": "old crane", "board_place": "lean-to beside the slip", "board_phases": "three phase",
        "main_switch": "80 A four-pole", "fed_from": "Main intake", "feed_way": "2TPN", "zdb_ohm": 0.31, **TRACED,
    },
    {
        "board": "Chandlery", "board_label": "SHOP", "board_place": "under the stairs", "board_phases": "L2",
        "main_switch": "63 A two-pole", "fed_from": "Main intake", "feed_way": "4L2", "zdb_ohm": 0.29, **TRACED,
    },
    {
        "board": "Café", "board_label": "kitchen", "board_place": "kitchen cupboard", "board_phases": "L3",
        "main_switch": "100 A two-pole", "fed_from": "Main intake 6L3", "zdb_ohm": 0.27, **TRACED,
    },
    {
        "board": "Pontoon A", "board_label": "1", "board_place": "feeder pillar, pillars 1 to 8", "board_phases": "L1",
        "main_switch": "63 A two-pole", "fed_from": "Slip hoist", "feed_way": "5L1", "zdb_ohm": 0.46, **TRACED,
    },
    {
        "board": "Pontoon B", "board_label": "2", "board_place": "feeder pillar, pillars 9 to 16", "board_phases": "L2",
        "main_switch": "63 A two-pole", "fed_from": "Slip hoist", "feed_way": "6L2", "board_notes": "Cable not traced under the slip.",
    },
]  # fmt: skip

KEYS = ("board", "way", "label_found", "designation", "device", "arrangement", "line_mm2", "cpc_mm2", "points")


def _circuit(*values: object, **more: object) -> dict[str, object]:
    return {key: value for key, value in zip(KEYS, values, strict=False) if value not in {None, ""}} | more


def _spare(board: str, way: str, *, blanked: bool = True) -> dict[str, object]:
    return {"board": board, "way": way, "spare": "yes", "blanked": "yes" if blanked else "no"}


MAIN, SHOP, HOIST, CHANDLERY, CAFE, A, B = (row["board"] for row in BOARD_ROWS)

CIRCUIT_ROWS = [
    _circuit(MAIN, "1TPN", "DB1", "Workshop board", "BS EN 60898 type C 63A", "distribution", 16, 16, 1),
    _circuit(MAIN, "2TPN", "crane", "Slip hoist board", "BS EN 60898 type C 63A", "distribution", 16, 16, 1),
    _circuit(MAIN, "3L1", "skts", "Sockets, office", "BS EN 61009 B32 30mA", "ring", 2.5, 1.5, 9),
    _circuit(MAIN, "3L2", "lts", "Lights, office and store", "BS EN 60898 type B 6A", "radial", 1.5, 1, 11),
    _circuit(MAIN, "3L3", "", "Fire alarm panel", "BS EN 60898 type B 6A", "radial", 1.5, 1.5, 1, must_not_lose_power="fire alarm"),
    _circuit(MAIN, "4L1", "yard", "Floodlights, yard", "BS EN 60898 type C 16A", "radial", 2.5, 1.5, 4),
    _circuit(MAIN, "4L2", "shop", "Chandlery board", "BS EN 60898 type B 40A", "distribution", 10, 10, 1),
    _circuit(MAIN, "4L3", "water htr", "Water heater, washroom", "BS EN 60898 type B 16A", "radial", 2.5, 1.5, 1),
    _circuit(MAIN, "5L1", "gate", "Entrance gate", "BS EN 60898 type C 10A", "radial", 2.5, 2.5, 1),
    _circuit(MAIN, "5L2", "?", "Comms cabinet", "BS EN 61009 B16 30mA", "radial", 2.5, 1.5, 2, must_not_lose_power="telephone and data"),
    _spare(MAIN, "5L3", blanked=False),
    _circuit(MAIN, "6L3", "café", "Café board", "BS EN 60898 type C 50A", "distribution", 16, 10, 1),
    _spare(MAIN, "6L1"),
    _spare(MAIN, "6L2", blanked=False),
    _circuit(SHOP, "1TPN", "comp", "Air compressor", "BS EN 60898 type D 32A", "radial", 6, 6, 1),
    _circuit(SHOP, "2TPN", "saw", "Band saw", "BS EN 60898 type C 20A", "radial", 4, 4, 1),
    _circuit(SHOP, "3TPN", "weld", "Welding socket 32 A", "BS EN 60898 type C 32A", "radial", 6, 6, 1, rcd="shared 30 mA"),
    _circuit(SHOP, "4L1", "skts", "Sockets, benches", "BS EN 61009 B32 30mA", "ring", 2.5, 1.5, 12),
    _circuit(SHOP, "4L2", "skts", "Sockets, store end", "BS EN 60898 type B 32A", "ring", 2.5, 1.5, 8),
    _circuit(SHOP, "4L3", "lts", "Lights, high bay", "BS EN 60898 type C 10A", "radial", 2.5, 1.5, 14),
    _circuit(SHOP, "5L1", "lts", "Lights, mezzanine", "BS EN 60898 type B 6A", "radial", 1.5, 1, 6),
    _circuit(SHOP, "5L2", "heater", "Unit heater fan", "BS 3871 type 2 15A", "radial", 2.5, 1.5, 1),
    _circuit(SHOP, "5L3", "door", "Roller door", "BS EN 60898 type C 10A", "radial", 2.5, 2.5, 1),
    _circuit(SHOP, "6L1", "", "Dust extractor", "BS EN 60898 type D 16A", "radial", 2.5, 2.5, 1),
    _circuit(SHOP, "6L2", "spray", "Spray booth fan", "BS EN 60898 type C 16A", "radial", 2.5, 1.5, 1),
    _spare(SHOP, "6L3"),
    _circuit(SHOP, "7L1", "charger", "Battery charging bench", "BS EN 61009 C16 30mA", "radial", 2.5, 1.5, 4),
    _circuit(SHOP, "7L2", "", "Emergency lights", "BS EN 60898 type B 6A", "radial", 1.5, 1, 7, must_not_lose_power="emergency lighting"),
    _spare(SHOP, "7L3", blanked=False),
    _spare(SHOP, "8TPN"),
    _circuit(
        SHOP, "9TPN", "solar", "Solar inverter, roof", "BS EN 60898 type C 32A", "radial", 6, 6, 1, second_source="PV", source_kw=8,
        isolate_supply_side="isolator beside the Workshop board", isolate_source_side="DC isolator below the inverter", wait_minutes=15,
    ),
    _circuit(HOIST, "1TPN", "crane", "Hoist motor", "BS EN 60898 type D 40A", "radial", 10, 10, 1),
    _circuit(HOIST, "2L1", "lts", "Lights, slip", "BS EN 60898 type C 10A", "radial", 2.5, 1.5, 5),
    _circuit(HOIST, "2L2", "skts", "Sockets, slip head", "BS EN 60898 type B 20A", "radial", 2.5, 1.5, 3),
    _circuit(HOIST, "2L3", "pump", "Bilge pump", "BS EN 60898 type C 10A", "radial", 2.5, 2.5, 1, must_not_lose_power="bilge pump"),
    _circuit(HOIST, "3TPN", "", "Hoist isolator and controls", "BS EN 60898 type C 20A", "radial", 4, 4, 2),
    _circuit(HOIST, "4L1", "wash", "Pressure washer", "BS EN 61009 C16 30mA", "radial", 2.5, 2.5, 1),
    _circuit(HOIST, "4L2", "", "Tide gauge", "BS EN 60898 type B 6A", "radial", 1.5, 1.5, 1),
    _spare(HOIST, "4L3", blanked=False),
    _circuit(HOIST, "5L1", "pont 1", "Pontoon A board", "BS EN 60898 type C 40A", "distribution", 16, 16, 1),
    _circuit(HOIST, "6L2", "pont 2", "Pontoon B board", "BS EN 60898 type C 40A", "distribution", 16, 16, 1),
    _spare(HOIST, "5L2"),
    _spare(HOIST, "5L3", blanked=False),
    _circuit(CHANDLERY, 1, "skts", "Sockets, shop floor", "BS EN 60898 type B 32A", "ring", 2.5, 1.5, 10),
    _circuit(CHANDLERY, 2, "lts", "Lights, shop", "BS EN 60898 type B 6A", "radial", 1.5, 1, 12),
    _circuit(CHANDLERY, 3, "lts up", "Lights, stairs and loft", "BS 3036 5A", "radial", 1, 1, 4),
    _circuit(CHANDLERY, 4, "heat", "Heaters, shop", "BS EN 60898 type B 20A", "radial", 2.5, 1.5, 2),
    _circuit(CHANDLERY, 5, "alarm", "Intruder alarm", "BS EN 60898 type B 6A", "radial", 1.5, 1, 1, must_not_lose_power="intruder alarm"),
    _circuit(CHANDLERY, 6, "sign", "Shop sign", "BS EN 60898 type C 6A", "radial", 1.5, 1, 1),
    _spare(CHANDLERY, "7", blanked=False),
    _spare(CHANDLERY, "8", blanked=False),
    _circuit(CAFE, 1, "cooker", "Range", "BS EN 60898 type B 40A", "radial", 10, 4, 1),
    _circuit(CAFE, 2, "skts kit", "Sockets, kitchen", "BS EN 61009 B32 30mA", "ring", 2.5, 1.5, 8),
    _circuit(CAFE, 3, "skts", "Sockets, tables", "BS EN 61009 B32 30mA", "ring", 2.5, 1.5, 7),
    _circuit(CAFE, 4, "lts", "Lights", "BS EN 60898 type B 6A", "radial", 1.5, 1, 15),
    _circuit(CAFE, 5, "d/w", "Dishwasher", "BS EN 60898 type C 20A", "radial", 2.5, 1.5, 1),
    _circuit(CAFE, 6, "cold", "Cold store", "BS EN 60898 type C 16A", "radial", 2.5, 1.5, 1, must_not_lose_power="cold store"),
    _circuit(CAFE, 7, "fan", "Kitchen extract", "BS EN 60898 type C 10A", "radial", 1.5, 1, 1),
    _circuit(CAFE, 8, "htr", "Water heater", "BS EN 60898 type B 16A", "radial", 2.5, 1.5, 1),
    _spare(CAFE, "9"),
    _spare(CAFE, "10", blanked=False),
    *(_circuit(A, pillar, f"p{pillar}", f"Pillar {pillar}", "BS EN 61009 C16 30mA", "radial", 6, 6, 2) for pillar in range(1, 5)),
    _circuit(A, 5, "lts", "Lights, pontoon A", "BS EN 60898 type B 6A", "radial", 2.5, 2.5, 8),
    _spare(A, "6"),
    *(_circuit(B, pillar, f"p{8 + pillar}", f"Pillar {8 + pillar}", "BS EN 60898 type C 16A", "radial", 6, 6, 2) for pillar in range(1, 5)),
    _circuit(B, 5, "lts", "Lights, pontoon B", "BS EN 60898 type B 6A", "radial", 2.5, 2.5, 8),
]  # fmt: skip

EARLIER = "14/03/2022"

OBSERVATION_ROWS = [
    (HOIST, "3", "hoist isolator", "Live parts can be touched: isolator cover broken", "C1"),
    (MAIN, None, "store behind the office", "No main protective bonding to the water service", "C2", EARLIER),
    (B, None, "pillars 9 to 16", "No 30 mA RCD for socket-outlets that supply equipment outdoors", "C3", EARLIER),
    (MAIN, "5L3", "", "Blank missing from a spare way, live busbar within reach", "C1"),
    (MAIN, "6L2", "", "Blank missing from a spare way", "C2"),
    (SHOP, "7L3", "", "Blank missing from a spare way", "C3"),
    (HOIST, "4L3", "", "Blank missing from a spare way", "C3"),
    (HOIST, "5L3", "", "Blank missing from a spare way", "C3"),
    (CHANDLERY, "7", "", "Blank missing from a spare way", "C3"),
    (CHANDLERY, "8", "", "Blank missing from a spare way", "C3"),
    (CAFE, "10", "", "Blank missing from a spare way", "C2"),
    (CHANDLERY, "3", "loft", "Shares a neutral with a circuit of another board; not to be parted without finding it", "FI"),
    (CHANDLERY, "3", "stairs", "Rewireable fuse carries 15 A wire in a 5 A carrier", "C2", EARLIER),
    (SHOP, "5L2", "", "Circuit-breaker of an older standard beside newer ones", "C3"),
    (SHOP, "4L2", "store end", "No RCD for indoor sockets", "C3", EARLIER),
    (SHOP, "4L1", "benches", "Ring not continuous: cpc open at one leg", "C2"),
    (SHOP, "2TPN", "band saw", "Emergency stop doesn't latch", "C2"),
    (SHOP, "3TPN", "welding socket", "Loop impedance above the limit for the device", "C2"),
    (SHOP, "4L3", "high bay", "Two fittings hang by their cable", "C2"),
    (SHOP, "9TPN", "roof", "No dual supply notice at the origin and at the board", "C3"),
    (SHOP, "9TPN", "roof", "DC isolator not found", "FI"),
    (SHOP, None, "by the roller door", "Cover of the board held by one screw", "C3"),
    (HOIST, None, "lean-to", "Label on the lid names another load", "C3", EARLIER),
    (HOIST, "1TPN", "motor", "Armour of the cable not earthed at the motor", "C2"),
    (HOIST, "2L2", "slip head", "Socket lid can't close over the lead in use outdoors", "C2"),
    (HOIST, "2L3", "bilge pump", "Insulation resistance 0.4 MΩ, cause not known", "FI"),
    (HOIST, "6L2", "", "Cable to pontoon B can't be traced under the slip", "FI"),
    (A, "1", "pillar 1", "RCD didn't operate at its rated residual current", "C2"),
    (A, "3", "pillar 3", "Door of the pillar missing, terminals behind a cover", "C3"),
    (A, "5", "pontoon", "Fitting full of water", "C2"),
    (B, "2", "pillar 10", "Gland loose, cable bears on its cores", "C2"),
    (B, "4", "pillar 12", "Terminal shows heat damage, extent not known", "FI"),
    (B, None, "feeder pillar", "Bolt of the earth bar corroded", "C2"),
    (CAFE, "1", "kitchen", "Range on a plain cable outlet without isolator in reach", "C3"),
    (CAFE, "5", "kitchen", "Dishwasher cable shows heat damage at the outlet", "C2"),
    (CAFE, "8", "", "Water heater on a 13 A plug under continuous load", "C3"),
    (CAFE, None, "kitchen cupboard", "Board stands behind stored goods", "C3"),
    (CAFE, "4", "", "Lampholder cracked above the counter", "C2"),
    (CHANDLERY, "1", "shop floor", "No RCD for sockets that may supply equipment outdoors", "C3", EARLIER),
    (CHANDLERY, "6", "sign", "No isolator for the sign", "C3"),
    (MAIN, "3L1", "office", "Socket cracked beside the door", "C2"),
    (MAIN, "4L3", "washroom", "No supplementary bonding, no RCD", "C2"),
    (MAIN, "4L1", "yard", "Column 2: access cover missing, live parts within a child's reach", "C1"),
    (MAIN, None, "", "No chart of the circuits at the board", "C3", EARLIER),
    (None, None, "whole site", "No diagram of the supply and its second source", "C3"),
    (None, None, "jetty office", "Extension leads used as fixed wiring", "C3"),
    (None, None, "gas store", "Suitability of the equipment for the place not known", "FI"),
]  # fmt: skip
