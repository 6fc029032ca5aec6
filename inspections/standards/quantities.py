"""What is read at a circuit, a board or the origin: its unit, its words, and the caution that goes with the test."""

from enum import StrEnum

DEAD_TEST = (
    "Dead test: isolate and lock off by the firm's procedure, and prove dead with an approved tester "
    "that is proved before and after. Competent people only."
)
LIVE_TEST = "Live test: competent people only, by the firm's procedure, with leads and probes made for it."
INSULATION_TEST = (
    f"{DEAD_TEST} The test voltage can hurt people and equipment: see that nobody touches the circuit, and "
    "disconnect or protect what it could harm."
)
TRIPPING_TEST = f"{LIVE_TEST} The circuit loses its supply: warn those who need it."
ELECTRODE_TEST = (
    "Without its electrode an installation may have no earth: isolate it before the earthing conductor is "
    "disconnected, and connect it again before it is switched on. Competent people only."
)
ORIGIN_TEST = (
    f"{LIVE_TEST} The means of earthing is disconnected for it: isolate the whole installation before, and connect "
    "it again before anything is switched on."
)


class Quantity(StrEnum):
    """The values are those that readings are stored with; `label` is for a sentence."""

    R1_R2 = "r1-r2"
    R2 = "r2"
    BONDING = "bonding"
    RING_R1 = "ring-r1"
    RING_RN = "ring-rn"
    RING_R2 = "ring-r2"
    RING_CROSS_RN = "ring-cross-rn"
    RING_CROSS_R2 = "ring-cross-r2"
    INSULATION = "insulation-resistance"
    POLARITY = "polarity"
    LOOP = "loop-impedance"
    LOOP_BOARD = "loop-impedance-board"
    LOOP_ORIGIN = "loop-impedance-origin"
    RCD_TIME = "rcd-time"
    ELECTRODE = "electrode-resistance"
    FAULT_CURRENT = "fault-current"
    FUNCTIONAL = "functional-check"

    @property
    def label(self) -> str:
        return _WORDS[self][0]

    @property
    def unit(self) -> str:
        """Ω, MΩ, ms, kA; empty for a check that is answered OK or not OK."""
        return _WORDS[self][1]

    @property
    def caution(self) -> str:
        """Stands beside the field where the reading is entered."""
        return _WORDS[self][2]

    @property
    def yes_no(self) -> bool:
        return not self.unit

    @property
    def dead(self) -> bool:
        """Whether it is read with the circuit isolated and proved dead, before it is energised again."""
        return self.caution.startswith(DEAD_TEST) or self is Quantity.ELECTRODE


_Q = Quantity
_WORDS = {
    _Q.R1_R2: ("continuity R1+R2", "Ω", DEAD_TEST),
    _Q.R2: ("continuity R2", "Ω", DEAD_TEST),
    _Q.BONDING: ("continuity of a bonding conductor", "Ω", DEAD_TEST),
    _Q.RING_R1: ("ring line conductor end to end, r1", "Ω", DEAD_TEST),
    _Q.RING_RN: ("ring neutral conductor end to end, rn", "Ω", DEAD_TEST),
    _Q.RING_R2: ("ring protective conductor end to end, r2", "Ω", DEAD_TEST),
    _Q.RING_CROSS_RN: ("ring cross-connected, line and neutral", "Ω", DEAD_TEST),
    _Q.RING_CROSS_R2: ("ring cross-connected, line and protective conductor", "Ω", DEAD_TEST),
    _Q.INSULATION: ("insulation resistance", "MΩ", INSULATION_TEST),
    _Q.POLARITY: ("polarity", "", LIVE_TEST),
    _Q.LOOP: ("earth fault loop impedance", "Ω", LIVE_TEST),
    _Q.LOOP_BOARD: ("earth fault loop impedance at the board, Zdb", "Ω", LIVE_TEST),
    _Q.LOOP_ORIGIN: ("external earth fault loop impedance, Ze", "Ω", ORIGIN_TEST),
    _Q.RCD_TIME: ("RCD operating time", "ms", TRIPPING_TEST),
    _Q.ELECTRODE: ("earth electrode resistance", "Ω", ELECTRODE_TEST),
    _Q.FAULT_CURRENT: ("prospective fault current", "kA", LIVE_TEST),
    _Q.FUNCTIONAL: ("functional check", "", LIVE_TEST),
}
