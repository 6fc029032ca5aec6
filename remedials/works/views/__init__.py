"""Pages of remedials."""

from remedials.works.views.closing import close, photo_add, photo_remove, power, reading
from remedials.works.views.deciding import approve, by_others, cancel, decline, offer_again, part_done, reopen, take_on
from remedials.works.views.files import certificate, photo
from remedials.works.views.instruments import found_wrong, instrument, recall, recall_decide, recalls
from remedials.works.views.lists import remedials, reviews
from remedials.works.views.making import edit, make
from remedials.works.views.parts import parts_ready, parts_to_come
from remedials.works.views.reviewing import review
from remedials.works.views.waiting import chase, end_waiting, wait, wait_observation

__all__ = [
    "approve",
    "by_others",
    "cancel",
    "certificate",
    "chase",
    "close",
    "decline",
    "edit",
    "end_waiting",
    "found_wrong",
    "instrument",
    "make",
    "offer_again",
    "part_done",
    "parts_ready",
    "parts_to_come",
    "photo",
    "photo_add",
    "photo_remove",
    "power",
    "reading",
    "recall",
    "recall_decide",
    "recalls",
    "remedials",
    "reopen",
    "review",
    "reviews",
    "take_on",
    "wait",
    "wait_observation",
]
