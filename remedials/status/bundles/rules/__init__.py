"""How a site stood at an instant, by its ledger alone."""

from remedials.status.bundles.rules.folding import state_of
from remedials.status.bundles.rules.state import Job, Seen, State, Told, up_to

__all__ = ["Job", "Seen", "State", "Told", "state_of", "up_to"]
