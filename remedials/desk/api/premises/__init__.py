"""Sites, units, parties, supplies, boards, circuits, feeds, labels and what was found by switching off."""
