"""How what the entries are about is called, by the ledger's own words: names as they were by then, not as they are now. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from remedials.status.bundles.rules import Told

NOUNS = {
    "inspection": "report", "observation": "observation", "remedial": "remedial", "dangernotice": "danger notice",
    "quote": "quote", "visit": "visit", "leaving": "closing letter", "message": "message", "paper": "paper",
    "reading": "reading", "waiting": "waiting on somebody outside", "document": "document", "privatelink": "private link",
    "limitation": "limitation", "secondsource": "second source", "circuitlink": "link of two circuits",
    "attempt": "attempt to get in", "switchingtest": "switching test", "metercomparison": "two meters compared",
    "paperrequest": "request for a report", "occupancychange": "somebody moves in", "hold": "hold", "bundle": "bundle",
    "competence": "competence", "skill": "skill", "instrument": "instrument",
}  # fmt: skip
NAMED_BY = ("designation", "name", "what", "serial_number")
PLACES = frozenset({"site", "unit", "board", "supply", "secondsource", "instrument"})
NOT_KEPT = "somebody whose name is no longer kept"


@dataclass
class Names:
    """Labels by key: of things from the entries, of people as `people` names them; of entries by `letters` of their chains."""

    people: Mapping[str, str]
    letters: Mapping[str, str]
    things: dict[str, str] = field(default_factory=dict)
    site: str = ""

    def of(self, key: object, kind: str = "") -> str:
        """What the row `key` is called; its kind where nothing says more."""
        return self.things.get(str(key)) or NOUNS.get(kind, kind)

    def who(self, told: Told) -> str:
        """Who did it."""
        if told.actor_kind == "clock":
            return "the program by itself"
        if told.actor_kind == "link":
            return "whoever held the private link"
        return self.person(told.actor)

    def person(self, key: object) -> str:
        """A person of the firm by key."""
        return self.people.get(str(key), NOT_KEPT)

    def ref(self, told: Told) -> str:
        """Where an entry stands, as it is written in square brackets: "12", "B12"."""
        return f"{self.letters.get(told.chain, 'F')}{told.number}"


def letters_of(chains: Iterable[object]) -> dict[str, str]:
    """The letter of each chain: none for the first, then B, C …; "F" is kept for the firm's own."""
    letters = ["", *"BCDEGHIJKLMNOPQRSTUVWXYZ"]
    return {
        str(chain): letters[at] if at < len(letters) else f"Z{at - len(letters) + 1}-"
        for at, chain in enumerate(chains)
    }


def learn(names: Names, entries: Iterable[Told]) -> Names:
    """`names` with what the entries call things: the later word counts."""
    for told in entries:
        if label := _label(told, names):
            names.things[told.subject] = label
        if told.verb == "site.opened" and (unit := told.facts.get("unit")):
            names.things.setdefault(unit, names.things.get(told.subject, ""))
        if told.verb == "site.opened":
            names.site = names.of(told.subject)
        if told.verb == "inspection.reissue-begun":
            names.things[told.subject] = f"report {told.facts['number']}"
    return names


def _label(told: Told, names: Names) -> str:
    if told.kind in PLACES:
        return next((told.words[name] for name in NAMED_BY if told.words.get(name)), "")
    if told.kind == "circuit" and "way" in told.facts:
        board = names.of(told.facts.get("board"), "board")
        phase = str(told.facts.get("phase") or "")
        return f"{board}, way {told.facts['way']}{phase if phase.startswith('L') else ', three-phase'}"
    number = told.facts.get("number")
    return f"{NOUNS.get(told.kind, told.kind)} {number}" if number else ""
