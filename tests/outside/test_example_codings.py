"""Example codings from published guidance, as pages that report it have them. A review exercise, never a rule."""

import pytest

from inspections.standards.assessment import Code
from inspections.standards.confidence import Confidence
from inspections.standards.example_codings import EXAMPLES

# Key: the code that the page gives first. The page is named at the example (`basis`).
READ = {
    "live-parts.blank-missing": "C1",  # magazine column 51132
    "live-parts.accessory-broken": "C1",  # a contractor's page
    "live-parts.top-of-board": "C1",  # forum thread 188263, citing the column
    "live-parts.gap-in-front": "C2",  # a contractor's page
    "live-parts.insulation-in-reach": "C3",  # thread 213581
    "polarity.origin": "C1",  # thread 208402
    "rcd.outdoor-socket": "C2",  # threads 106964, 59543
    "rcd.indoor-sockets": "C3",  # the same, and the IET's 31671
    "rcd.bathroom-socket": "C1",  # thread 5664
    "rcd.bathroom-bonded": "C3",  # thread 66428
    "rcd.bathroom-unbonded": "C2",  # thread 66428
    "rcd.cables-in-walls": "C3",  # threads 59543, 194994
    "rcd.lighting": "C3",  # post 1640305
    "rcd.tt": "C2",  # thread 5664
    "bonding.missing": "C2",  # thread 17425
    "bonding.undersized": "C3",  # thread 17425
    "insulation.very-low": "C1",  # thread 17425
    "insulation.low": "FI",  # thread 17425
    "circuits.untraced": "FI",  # thread 17425; disputed in 204678
    "board.foreign-breaker": "C2",  # a college's blog, 2018
    "terminals.damaged": "FI",  # the same
    "armour.no-gland": "FI",  # magazine column 61
    "armour.unearthed": "C2",  # thread 121644
    "outdoors.cover-held-open": "C2",  # magazine column 51448
}


@pytest.mark.parametrize("key", READ)
def test_the_first_code_is_the_page_s(key):
    example = {e.key: e for e in EXAMPLES}[key]
    assert (example.codes[0], example.confidence) == (Code(READ[key]), Confidence.SECONDARY)


def test_what_states_no_code_has_none_and_what_is_remembered_is_marked():
    others = {e.key: e for e in EXAMPLES if e.key not in READ}
    assert {key for key, e in others.items() if not e.codes} == {"armour.pipe-clamp"}  # magazine column 69
    assert {key for key, e in others.items() if e.confidence is Confidence.MEMORY} == set(others) - {
        "armour.pipe-clamp"
    }
