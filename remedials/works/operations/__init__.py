"""Every change to remedials, named by what a person does."""

from remedials.works.operations.answering import approve_by_answer, decline_by_answer, unanswer
from remedials.works.operations.booking import mark_booked, mark_unbooked
from remedials.works.operations.closing import add_proof_photo, close_remedial, remove_proof_photo
from remedials.works.operations.deciding import approve_remedial, cancel_remedial, decline_remedial, offer_again
from remedials.works.operations.following import follow, go_back, take_over
from remedials.works.operations.leaving import Material, leave_remedial
from remedials.works.operations.making import Required, edit_remedial, make_remedial, take_on
from remedials.works.operations.others import done_by_others
from remedials.works.operations.parts import say_when_parts_are_ready
from remedials.works.operations.power import record_power
from remedials.works.operations.quoting import mark_quoted, mark_to_price_again
from remedials.works.operations.recalling import decide_recall
from remedials.works.operations.reviewing import reopen_remedial, review_proof
from remedials.works.operations.taking import Take, say_what_it_takes
from remedials.works.operations.waiting import chase, end_waiting, wait_on, waits_no_more

__all__ = [
    "Material",
    "Required",
    "Take",
    "add_proof_photo",
    "approve_by_answer",
    "approve_remedial",
    "cancel_remedial",
    "chase",
    "close_remedial",
    "decide_recall",
    "decline_by_answer",
    "decline_remedial",
    "done_by_others",
    "edit_remedial",
    "end_waiting",
    "follow",
    "go_back",
    "leave_remedial",
    "make_remedial",
    "mark_booked",
    "mark_quoted",
    "mark_to_price_again",
    "mark_unbooked",
    "offer_again",
    "record_power",
    "remove_proof_photo",
    "reopen_remedial",
    "review_proof",
    "say_what_it_takes",
    "say_when_parts_are_ready",
    "take_on",
    "take_over",
    "unanswer",
    "wait_on",
    "waits_no_more",
]
