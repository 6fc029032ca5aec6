"""Examples of how published guidance codes a defect, in words of our own: to practise on, and as a hint.

They never override the inspector: competent people code the same defect differently, and several of the pages read
are exactly that argument. An older guide used other codes (1 to 4); what it says is told by today's with a remark.
"""

import re
from dataclasses import dataclass

from inspections.standards.assessment import Code
from inspections.standards.confidence import Confidence

CAUTION = "An example from published guidance: the inspector on site decides."


@dataclass(frozen=True, slots=True, kw_only=True)
class ExampleCoding:
    """`codes` are those that the guidance gives, the usual one first; empty: none is needed.

    `words` are stems that an observation like it holds; every one of them must be found.
    """

    key: str
    item: str
    codes: tuple[Code, ...]
    basis: str
    words: tuple[str, ...]
    confidence: Confidence = Confidence.SECONDARY
    remark: str = ""


_C1, _C2, _C3, _FI = (Code.C1,), (Code.C2,), (Code.C3,), (Code.FI,)
_OLDER = "By an older guide, whose codes were other ones."
_GUIDE_4 = "Best Practice Guide 4, not read"
_NONE = "no source found"
_EXTRACT = "Extract of an older best practice guide, trade forum thread 5664"
_EXTRACT_2 = "Extract of an older best practice guide, trade forum thread 17425"
_COLUMN = "Column on codes in a trade magazine"

EXAMPLES = (
    ExampleCoding(
        key="live-parts.blank-missing",
        item="A way of a board has no blank, and live parts can be touched through the opening without a tool",
        codes=_C1,
        basis=f"{_COLUMN} (professional-electrician.com, 51132)",
        words=("blank",),
        remark="Where the busbar is insulated and nothing live can be touched, blanks are still expected, but no shock is.",
    ),
    ExampleCoding(
        key="live-parts.accessory-broken",
        item="A cover is missing or an accessory broken, and live parts can be touched",
        codes=_C1,
        basis="A contractor's page on codes",
        words=("broken|missing|damaged", "cover|accessory|socket|switch"),
    ),
    ExampleCoding(
        key="live-parts.top-of-board",
        item="Openings in the top of a board are wider than IP4X or IPXXD allows and lead to live parts",
        codes=_C1,
        basis=f"{_COLUMN}, as cited in trade forum thread 188263",
        words=("top", "board|consumer unit", "ip4x|opening|hole"),
    ),
    ExampleCoding(
        key="live-parts.gap-in-front",
        item="A gap in the front of a board admits a finger, but live parts are not readily reached",
        codes=_C2,
        basis="A contractor's page on codes",
        words=("gap", "board|consumer unit|front"),
    ),
    ExampleCoding(
        key="live-parts.busbar-cover",
        item="The busbar cover is off inside a board whose front needs a tool to open",
        codes=(Code.C3, Code.C1),
        basis=_NONE,
        words=("busbar", "cover|shroud"),
        confidence=Confidence.MEMORY,
        remark="C1 where the front is open or missing as well.",
    ),
    ExampleCoding(
        key="live-parts.insulation-in-reach",
        item="Basic insulation is exposed, in an enclosure or void that nobody reaches",
        codes=(Code.C3, Code.C2),
        basis="Trade forum thread 213581, an opinion",
        words=("basic insulation",),
        remark="C2 where it can be touched.",
    ),
    ExampleCoding(
        key="polarity.origin",
        item="Polarity is reversed at the incoming supply",
        codes=_C1,
        basis="A practitioner's summary of the guide, trade forum thread 208402",
        words=("polarity",),
        remark="Tell the network operator at once.",
    ),
    ExampleCoding(
        key="fault.live-metalwork",
        item="A conductive part is live because of a fault",
        codes=_C1,
        basis=_GUIDE_4,
        words=("live", "metal|conductive|exposed part|casing"),
        confidence=Confidence.MEMORY,
    ),
    ExampleCoding(
        key="rcd.outdoor-socket",
        item="A socket-outlet likely to feed equipment outdoors has no RCD of 30 mA",
        codes=_C2,
        basis=f"Trade forum threads 106964 and 59543; {_EXTRACT}",
        words=("rcd", "outdoor|outside|garden"),
    ),
    ExampleCoding(
        key="rcd.indoor-sockets",
        item="General socket-outlets indoors have no RCD",
        codes=_C3,
        basis="Trade forum threads 106964 and 59543; thread 31671 of the IET's forum",
        words=("rcd", "socket"),
    ),
    ExampleCoding(
        key="rcd.bathroom-socket",
        item="A socket-outlet in a bathroom, neither for shavers nor SELV, has no RCD",
        codes=_C1,
        basis=_EXTRACT,
        words=("socket", "bathroom|shower room"),
        remark=_OLDER,
    ),
    ExampleCoding(
        key="rcd.bathroom-bonded",
        item="Bathroom circuits have no RCD; supplementary bonding is there and effective",
        codes=_C3,
        basis="Trade forum thread 66428",
        words=("bathroom|shower", "rcd", "bond"),
    ),
    ExampleCoding(
        key="rcd.bathroom-unbonded",
        item="Bathroom circuits have neither an RCD nor supplementary bonding",
        codes=_C2,
        basis="Trade forum thread 66428",
        words=("bathroom|shower", "rcd", "no supplementary|without supplementary|bonding absent|no bonding"),
    ),
    ExampleCoding(
        key="rcd.cables-in-walls",
        item="Cables less than 50 mm deep in walls have no RCD",
        codes=_C3,
        basis="Trade forum threads 59543 and 194994",
        words=("cable", "wall", "rcd"),
    ),
    ExampleCoding(
        key="rcd.lighting",
        item="Lighting circuits of a home have no RCD",
        codes=_C3,
        basis="Trade forum post 1640305, which cites two guides that agree",
        words=("light", "rcd"),
    ),
    ExampleCoding(
        key="rcd.tt",
        item="A TT installation has no working RCD for fault protection",
        codes=(Code.C2, Code.C1),
        basis=_EXTRACT,
        words=("tt", "rcd"),
        remark=f"C1 where the RCD is there and fails to operate. {_OLDER}",
    ),
    ExampleCoding(
        key="bonding.missing",
        item="A gas or water service that needs main protective bonding has none",
        codes=_C2,
        basis=_EXTRACT_2,
        words=("bond", "gas|water|main"),
        remark=f"{_OLDER} C2 in the current guide is from memory.",
    ),
    ExampleCoding(
        key="bonding.undersized",
        item="A main bonding conductor is smaller than asked for, but at least 6 mm² and without damage by heat",
        codes=_C3,
        basis=_EXTRACT_2,
        words=("bond", "undersize|small|6 mm"),
        remark=_OLDER,
    ),
    ExampleCoding(
        key="earthing.unreliable",
        item="There is no reliable means of earthing, or a water pipe serves as earth",
        codes=_C2,
        basis=_GUIDE_4,
        words=("no earth|means of earthing|water pipe",),
        confidence=Confidence.MEMORY,
    ),
    ExampleCoding(
        key="insulation.very-low",
        item="The insulation resistance of one circuit is very low (an older guide: below 0.02 MΩ)",
        codes=(Code.C1, Code.C2),
        basis=_EXTRACT_2,
        words=("insulation resistance", "very low|zero|0.0"),
        remark="The older guide gave a code of danger.",
    ),
    ExampleCoding(
        key="insulation.low",
        item="Insulation resistance is below 1 MΩ and nobody knows why",
        codes=_FI,
        basis=_EXTRACT_2,
        words=("insulation resistance",),
        remark=_OLDER,
    ),
    ExampleCoding(
        key="circuits.untraced",
        item="Circuits cannot be traced or identified",
        codes=_FI,
        basis=f"{_EXTRACT_2}; thread 204678",
        words=("trace|identif", "circuit"),
        remark="Disputed: now usually a limitation with a finding.",
    ),
    ExampleCoding(
        key="board.foreign-breaker",
        item="A circuit-breaker of another make was forced into a board",
        codes=_C2,
        basis="Teaching blog of a college, 2018",
        words=("breaker|mcb", "another make|other make|incompatible|different make|mixed"),
    ),
    ExampleCoding(
        key="terminals.damaged",
        item="A terminal was damaged by over-tightening; how far is not known",
        codes=(Code.FI, Code.C1),
        basis="Teaching blog of a college, 2018",
        words=("terminal", "tight|damage|crack"),
    ),
    ExampleCoding(
        key="terminals.overheated",
        item="Terminations show damage by heat",
        codes=(Code.C2, Code.C1),
        basis=_GUIDE_4,
        words=("heat|burn|scorch|thermal",),
        confidence=Confidence.MEMORY,
        remark="C1 where live parts are exposed.",
    ),
    ExampleCoding(
        key="conductors.neutral-undersized",
        item="A neutral link or tail is too small and shows signs of heating",
        codes=_C2,
        basis=_NONE,
        words=("neutral", "undersize|small"),
        confidence=Confidence.MEMORY,
        remark="Without heating the design is checked first.",
    ),
    ExampleCoding(
        key="armour.no-gland",
        item="An armoured cable ends without a gland, and whether its armour is earthed isn't known",
        codes=(Code.FI, Code.C3),
        basis=f"{_COLUMN}, no. 61",
        words=("gland",),
        remark="FI for the earthing; the gland itself at least C3.",
    ),
    ExampleCoding(
        key="armour.unearthed",
        item="The armour of a cable is earthed at neither end",
        codes=_C2,
        basis="Trade forum thread 121644, an opinion",
        words=("armour", "earth"),
    ),
    ExampleCoding(
        key="armour.pipe-clamp",
        item="A clamp made for pipes (BS 951) is used on the armour of a cable",
        codes=(),
        basis=f"{_COLUMN}, no. 69",
        words=("clamp", "armour|swa"),
        remark="Named as not complying; no code is stated.",
    ),
    ExampleCoding(
        key="outdoors.cover-held-open",
        item="The cover of a weatherproof socket-outlet cannot close because of an adaptor or lead",
        codes=_C2,
        basis=f"{_COLUMN} (51448)",
        words=("cover|lid", "outdoor|outside|ip|weather"),
    ),
    ExampleCoding(
        key="labels.missing",
        item="Circuit charts, notices for the RCD test or labels are missing",
        codes=_C3,
        basis=_GUIDE_4,
        words=("chart|label|notice", "missing|no |absent"),
        confidence=Confidence.MEMORY,
        remark="Or no code at all.",
    ),
)


def hints_for(observation: str) -> tuple[ExampleCoding, ...]:
    """Examples whose words an observation holds, those with most words first. A hint beside the code, never a code."""
    said = " ".join(observation.casefold().split())
    found = [example for example in EXAMPLES if all(re.search(rf"\b({stem})", said) for stem in example.words)]
    return tuple(sorted(found, key=lambda example: -len(example.words)))
