"""What pages, documents and upper floors read of premises, in a fixed number of statements whatever the size."""

from jobsite.premises.queries.at_the_board import at_the_board, board_itself, next_unverified, way_at_the_board
from jobsite.premises.queries.boards import board_label, board_page, circuit_label, feeder_words, source_lines
from jobsite.premises.queries.choices import (
    boards_for_choice,
    circuits_for_choice,
    feeders_for_choice,
    parties_for_choice,
    units_for_choice,
)
from jobsite.premises.queries.disagreements import DISAGREEMENT_HEADS, count_disagreements, labels_page
from jobsite.premises.queries.graph import isolation_graph, supply_graph
from jobsite.premises.queries.ground import ground_page
from jobsite.premises.queries.merging import clashing, what_goes_over
from jobsite.premises.queries.parties import HEADS, parties, party_cells, party_page
from jobsite.premises.queries.taken_out import taken_out

__all__ = [
    "DISAGREEMENT_HEADS",
    "HEADS",
    "at_the_board",
    "board_itself",
    "board_label",
    "board_page",
    "boards_for_choice",
    "circuit_label",
    "circuits_for_choice",
    "clashing",
    "count_disagreements",
    "feeder_words",
    "feeders_for_choice",
    "ground_page",
    "isolation_graph",
    "labels_page",
    "next_unverified",
    "parties",
    "parties_for_choice",
    "party_cells",
    "party_page",
    "source_lines",
    "supply_graph",
    "taken_out",
    "units_for_choice",
    "way_at_the_board",
    "what_goes_over",
]
