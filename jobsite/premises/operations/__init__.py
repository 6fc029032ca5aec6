"""Every change to premises, one function for each thing that a person does."""

from jobsite.premises.operations.boards import (
    add_board,
    add_fed_board,
    bring_back_board,
    edit_board,
    retire_board,
)
from jobsite.premises.operations.bringing_back import (
    bring_back_circuit,
    bring_back_second_source,
    bring_back_supply,
    bring_back_unit,
)
from jobsite.premises.operations.circuits import (
    add_circuit,
    edit_circuit,
    link_circuits,
    retire_circuit,
    unlink_circuits,
)
from jobsite.premises.operations.documents import make_board_label, make_chart, make_labels
from jobsite.premises.operations.feeds import remove_feed, set_feed
from jobsite.premises.operations.handing_over import hand_over_site
from jobsite.premises.operations.lists import Listed, add_list
from jobsite.premises.operations.merging import merge_sites
from jobsite.premises.operations.parties import add_party, archive_party, bring_back_party, edit_party
from jobsite.premises.operations.replacing import replace_board
from jobsite.premises.operations.sites import (
    archive_site,
    bring_back_site,
    edit_plain_site,
    edit_site,
    grant_access,
    open_site,
    open_site_for_new_customer,
    take_access_back,
)
from jobsite.premises.operations.sources import add_second_source, edit_second_source, retire_second_source
from jobsite.premises.operations.supplies import add_supply, edit_supply, retire_supply
from jobsite.premises.operations.tracing import (
    name_candidates,
    note_switching_test,
    take_over_certain,
    withdraw_switching_test,
)
from jobsite.premises.operations.units import add_unit, edit_unit, end_role, give_role, retire_unit
from jobsite.premises.operations.verifying import take_back_verification, verify

__all__ = [
    "Listed",
    "add_board",
    "add_circuit",
    "add_fed_board",
    "add_list",
    "add_party",
    "add_second_source",
    "add_supply",
    "add_unit",
    "archive_party",
    "archive_site",
    "bring_back_board",
    "bring_back_circuit",
    "bring_back_party",
    "bring_back_second_source",
    "bring_back_site",
    "bring_back_supply",
    "bring_back_unit",
    "edit_board",
    "edit_circuit",
    "edit_party",
    "edit_plain_site",
    "edit_second_source",
    "edit_site",
    "edit_supply",
    "edit_unit",
    "end_role",
    "give_role",
    "grant_access",
    "hand_over_site",
    "link_circuits",
    "make_board_label",
    "make_chart",
    "make_labels",
    "merge_sites",
    "name_candidates",
    "note_switching_test",
    "open_site",
    "open_site_for_new_customer",
    "remove_feed",
    "replace_board",
    "retire_board",
    "retire_circuit",
    "retire_second_source",
    "retire_supply",
    "retire_unit",
    "set_feed",
    "take_access_back",
    "take_back_verification",
    "take_over_certain",
    "unlink_circuits",
    "verify",
    "withdraw_switching_test",
]
