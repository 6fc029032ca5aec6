"""How long it takes to drive from one place to another, and how far that is.

By default the great-circle distance times a winding factor, divided by a speed: both are the firm's to set. A table by
postcode district, where one is loaded, goes before that. A place that cannot be reckoned is named, never guessed.
"""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

# Mean radius of the Earth (2a + b)/3 of WGS 84 in km, after H. Moritz, Geodetic Reference System 1980.
EARTH_RADIUS_KM = 6371.0088
# The inward half of a UK postcode: one digit, two letters (Royal Mail; BS 7666).
INWARD = re.compile(r"\d[A-Z]{2}$")
# The outward half: one or two letters, a digit, and perhaps one more digit or letter.
OUTWARD = re.compile(r"[A-Z]{1,2}\d[A-Z\d]?$")

Point = tuple[float, float]  # latitude, longitude, in degrees
DistrictTable = Mapping[tuple[str, str], tuple[int, float]]  # (from, to): minutes, km
Minutes = dict[str, dict[str, int]]
Km = dict[str, dict[str, float]]


@dataclass(frozen=True)
class Place:
    """Somewhere that is driven to or from. `name` is what a person is told when it is not known where it is."""

    key: str
    name: str
    latitude: float | None = None
    longitude: float | None = None
    postcode: str = ""

    @property
    def point(self) -> Point | None:
        """Its latitude and longitude in degrees, or None unless both are known."""
        if self.latitude is None or self.longitude is None:
            return None
        return (self.latitude, self.longitude)


def great_circle_km(a: Point, b: Point) -> float:
    """The shortest way from `a` to `b` (latitude, longitude in degrees) over a sphere, in km.

    Source: the haversine formula (R. W. Sinnott, Virtues of the Haversine, Sky and Telescope 68(2), 1984, 159), which
    holds its figures for near points. The Earth's flattening makes it wrong by up to 0.56 %, much less than the winding.
    """
    phi_a, phi_b = math.radians(a[0]), math.radians(b[0])
    up = math.sin((phi_b - phi_a) / 2)
    along = math.sin(math.radians(b[1] - a[1]) / 2)
    half = up * up + math.cos(phi_a) * math.cos(phi_b) * along * along
    return 2 * EARTH_RADIUS_KM * math.asin(math.sqrt(min(1.0, half)))


def driving(a: Point, b: Point, *, winding: float, speed_kmh: float) -> tuple[int, float]:
    """Whole minutes (rounded up) and km by road from `a` to `b`: the great circle times `winding`, at `speed_kmh`.

    Raises ValueError unless winding is at least 1 and the speed is above 0. Both are the firm's (common practice).
    """
    if winding < 1 or speed_kmh <= 0:
        raise ValueError("A road is no shorter than the straight line, and a speed is above 0.")
    km = great_circle_km(a, b) * winding
    # Up to the minute, but a whole number of minutes that arithmetic missed by a hair stays what it is.
    return math.ceil(round(km / speed_kmh * 60, 6)), round(km, 1)


def district(postcode: str) -> str:
    """The district of a UK postcode, its outward half in capitals ("ls1 4ap" and "LS14AP": "LS1"), or "" if it is none.

    A district written alone is itself. Source: the postcode's two halves, Royal Mail; BS 7666.
    """
    letters = re.sub(r"\s+", "", postcode).upper()
    outward = letters[:-3] if INWARD.search(letters) and OUTWARD.match(letters[:-3]) else letters
    return outward if OUTWARD.match(outward) else ""


def matrix(
    places: Sequence[Place], *, winding: float, speed_kmh: float, table: DistrictTable | None = None
) -> tuple[Minutes, Km]:
    """Minutes and km from every place to every place, by their keys.

    A pair of districts in `table` goes before the reckoning; one that stands there only the other way round counts both
    ways. Raises ValueError with the names of the places that neither can tell (`unknown`).
    """
    table = table or {}
    missing = unknown(places, table)
    if missing:
        raise ValueError("It is not known where these are: " + ", ".join(missing) + ".")
    minutes: Minutes = {}
    km: Km = {}
    for a in places:
        legs = {b.key: _leg(a, b, winding, speed_kmh, table) for b in places}
        minutes[a.key] = {key: leg[0] for key, leg in legs.items()}
        km[a.key] = {key: leg[1] for key, leg in legs.items()}
    return minutes, km


def unknown(places: Iterable[Place], table: DistrictTable | None = None) -> list[str]:
    """The names of the places that some way to or from cannot be told of: no coordinates, and not all in `table`.

    Where one end of such a way has coordinates, only the other end is named.
    """
    table = table or {}
    every = list(places)
    lost = [
        place
        for place in every
        if place.point is None
        and any(other.key != place.key and _of_table(place, other, table) is None for other in every)
    ]
    return sorted({place.name for place in lost})


def _leg(a: Place, b: Place, winding: float, speed_kmh: float, table: DistrictTable) -> tuple[int, float]:
    if a.key == b.key or (a.point is not None and a.point == b.point):
        return 0, 0.0
    found = _of_table(a, b, table)
    if found is not None:
        return found
    if a.point is None or b.point is None:
        raise ValueError("unknown() names such places first")
    return driving(a.point, b.point, winding=winding, speed_kmh=speed_kmh)


def _of_table(a: Place, b: Place, table: DistrictTable) -> tuple[int, float] | None:
    here, there = district(a.postcode), district(b.postcode)
    if not here or not there:
        return None
    return table.get((here, there)) or table.get((there, here))
