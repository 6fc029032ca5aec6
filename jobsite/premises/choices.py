"""The words that premises are described with. Standards map their rules by these values."""

from django.db.models import TextChoices


class Nation(TextChoices):
    ENGLAND = "england", "England"
    WALES = "wales", "Wales"
    SCOTLAND = "scotland", "Scotland"
    NORTHERN_IRELAND = "northern-ireland", "Northern Ireland"


class Tenure(TextChoices):
    OWNER_OCCUPIED = "owner-occupied", "owner-occupied"
    PRIVATE_RENTED = "private-rented", "rented from a private landlord"
    SOCIAL_RENTED = "social-rented", "rented from a social landlord"
    NOT_A_HOME = "not-a-home", "not a home"


class PremisesKind(TextChoices):
    """Kinds of premises as the recommended initial intervals distinguish them."""

    HOUSE = "house", "house or flat"
    HMO = "hmo", "house in multiple occupation"
    COMMUNAL = "communal", "hall of residence, common parts"
    COMMERCIAL = "commercial", "commercial"
    EDUCATIONAL = "educational", "school or college"
    INDUSTRIAL = "industrial", "industrial"
    OFFICES = "offices", "offices"
    SHOP = "shop", "shop"
    LABORATORY = "laboratory", "laboratory"
    HOSPITAL = "hospital", "hospital or clinic, general areas"
    MEDICAL = "medical", "hospital or clinic, medical locations"
    CINEMA = "cinema", "cinema"
    CHURCH = "church", "church"
    LEISURE = "leisure", "leisure complex, not pools"
    ENTERTAINMENT = "entertainment", "place of public entertainment"
    HOTEL = "hotel", "restaurant or hotel"
    THEATRE = "theatre", "theatre"
    PUBLIC_HOUSE = "public-house", "public house"
    VILLAGE_HALL = "village-hall", "village hall, community centre"
    AGRICULTURAL = "agricultural", "agricultural or horticultural"
    CARAVAN = "caravan", "caravan"
    CARAVAN_PARK = "caravan-park", "caravan park"
    HIGHWAY = "highway", "highway: street lighting and signs"
    MARINA = "marina", "marina"
    FISH_FARM = "fish-farm", "fish farm"
    SWIMMING_POOL = "swimming-pool", "swimming pool"
    LAUNDERETTE = "launderette", "launderette"
    PETROL_STATION = "petrol-station", "petrol filling station"
    CONSTRUCTION_SITE = "construction-site", "construction site"
    OTHER = "other", "other premises"


class Earthing(TextChoices):
    TN_S = "TN-S", "TN-S"
    TN_C_S = "TN-C-S", "TN-C-S"
    TT = "TT", "TT"
    IT = "IT", "IT"
    UNKNOWN = "unknown", "not known"


class SwitchKind(TextChoices):
    """What a main switch, or a customer's isolator at the intake, disconnects. Only the first two isolate."""

    UNKNOWN = "", "not known"
    ALL_LIVE = "all", "all live conductors, the neutral too"
    LINES = "lines", "the line conductors only"
    CONTROL = "control", "a contactor or an electronic control: does not isolate"
    NONE = "none", "there is none"


ISOLATING = (SwitchKind.ALL_LIVE, SwitchKind.LINES)


class Phase(TextChoices):
    """The phase or phases of a circuit."""

    L1 = "L1"
    L2 = "L2"
    L3 = "L3"
    THREE = "3", "three-phase"


LINES = ("L1", "L2", "L3")


class DeviceStandard(TextChoices):
    BS_EN_60898 = "BS EN 60898", "BS EN 60898 circuit-breaker"
    BS_EN_61009 = "BS EN 61009", "BS EN 61009 RCBO"
    BS_EN_60947_2 = "BS EN 60947-2", "BS EN 60947-2 circuit-breaker"
    BS_3871 = "BS 3871", "BS 3871 circuit-breaker"
    BS_88_2 = "BS 88-2", "BS 88-2 fuse"
    BS_88_3 = "BS 88-3", "BS 88-3 fuse"
    BS_1361 = "BS 1361", "BS 1361 fuse"
    BS_1362 = "BS 1362", "BS 1362 fuse"
    BS_3036 = "BS 3036", "BS 3036 rewireable fuse"
    OTHER = "other", "another device"


class RcdKind(TextChoices):
    AC = "AC", "type AC"
    A = "A", "type A"
    F = "F", "type F"
    B = "B", "type B"
    S = "S", "time-delayed (S)"
    VOLTAGE = "voltage-operated", "voltage-operated earth leakage breaker, no RCD"
    UNKNOWN = "unknown", "type not known"


class Arrangement(TextChoices):
    RADIAL = "radial", "radial"
    RING = "ring", "ring final"
    DISTRIBUTION = "distribution", "distribution circuit"
    UNKNOWN = "", "not known"


class HowVerified(TextChoices):
    """How somebody knows. Being told proves nothing: it is kept with who and when, and counts as believed."""

    TRACED = "traced", "traced"
    SWITCHED = "switched", "switched off and seen"
    READ = "read", "read from the cable"
    TOLD = "told", "told"


PROVING = (HowVerified.TRACED, HowVerified.SWITCHED, HowVerified.READ)
# As a form offers them, so that nobody takes being told for proof.
HOW_OFFERED = [
    (how.value, how.label if how in PROVING else f"{how.label}, not seen: believed only") for how in HowVerified
]


class RoleAtUnit(TextChoices):
    OWNER = "owner", "owner"
    AGENT = "agent", "agent"
    OCCUPIER = "occupier", "occupier"
    PAYER = "payer", "pays"
    APPROVER = "approver", "approves work"


class FeedKind(TextChoices):
    """In the order, backwards, in which a board's feeds are named. A possible one is a candidate, never verified."""

    NORMAL = "normal", "normal feed"
    POSSIBLE = "may-be", "possible feed"
    ALTERNATIVE = "alternative", "alternative feed"


# Feeds that a board may normally be fed by: where more than one is recorded, only one is true.
CANDIDATE_FEEDS = (FeedKind.NORMAL, FeedKind.POSSIBLE)


class SeenState(TextChoices):
    """How a board was found while something was switched off."""

    DEAD = "dead", "dead"
    ALIVE = "alive", "alive"


class LinkKind(TextChoices):
    NEUTRAL = "neutral", "shares a neutral with"
    FEED = "feed", "is also fed from"


class DocumentKind(TextChoices):
    """What is printed for a board."""

    CHART = "chart", "circuit chart"
    LABELS = "labels", "labels for circuits"
    BOARD_LABEL = "board-label", "label for the board"
    TWO_SOURCES = "two-sources", "warning of more than one source"


class SourceKind(TextChoices):
    PV = "pv", "solar (PV)"
    BATTERY = "battery", "battery"
    GENERATOR = "generator", "generator"
    WIND = "wind", "wind turbine"
