"""Customers, sites, units, supplies, boards, circuits, feeds, second sources: the ground that everything stands on.

The database holds the supply together by `premises_hold_supply` (migrations 0002 and 0007): feeds form no loop, never
leave the site, and give no phase that they lack.
"""

from jobsite.premises.models.boards import Board, Circuit, Supply
from jobsite.premises.models.documents import BoardDocument
from jobsite.premises.models.feeds import CircuitLink, Feed, SecondSource
from jobsite.premises.models.ground import OfSite
from jobsite.premises.models.sites import FormerCustomer, Party, PartyAtUnit, Site, SiteAccess, Unit
from jobsite.premises.models.switchings import BoardSeen, SwitchingTest
from jobsite.premises.models.verifications import Verification

__all__ = [
    "Board",
    "BoardDocument",
    "BoardSeen",
    "Circuit",
    "CircuitLink",
    "Feed",
    "FormerCustomer",
    "OfSite",
    "Party",
    "PartyAtUnit",
    "SecondSource",
    "Site",
    "SiteAccess",
    "Supply",
    "SwitchingTest",
    "Unit",
    "Verification",
]
