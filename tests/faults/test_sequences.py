"""Random sequences of faults: nothing is lost, nothing doubled. `make faults N=1000` plays more of them."""

import pytest

from tests.faults.sequences import Sequence, seeds_of

RUNS = 25
PARTS = 4  # so that two processes share them


@pytest.mark.parametrize("part", range(PARTS))
def test_random_sequences_lose_and_double_nothing(stack, part):
    outcomes = [Sequence(stack, seed).play() for seed in seeds_of(stack.kind, RUNS)[part::PARTS]]
    assert [str(outcome) for outcome in outcomes if not outcome.good] == []
