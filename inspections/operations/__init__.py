"""Every change on the inspections floor, one function for one thing that a person does."""

from inspections.operations.deciding import record_finding, review, withdraw_finding
from inspections.operations.ending import end_observation, reopen_observation
from inspections.operations.facts import correct_fact, put_back_fact
from inspections.operations.found import MadeSafeFacts, NoticeFacts, note_found
from inspections.operations.inspecting import (
    add_limitation,
    cover_limitation,
    edit_inspection,
    remove_limitation,
    start_inspection,
)
from inspections.operations.issuing import issue_inspection
from inspections.operations.joining import continue_earlier, part_from_earlier
from inspections.operations.keeping import settle_notices
from inspections.operations.making_safe import look_again, make_safe, reconnect
from inspections.operations.metering import Counted, compare_meters
from inspections.operations.missed import add_missed
from inspections.operations.not_seen import answer_not_seen, note_again, take_back_answer
from inspections.operations.notices import answer_notice, give_danger_notice, keep_notice_document, kept_notice_document
from inspections.operations.noting import change_observation, drop_observation, note_observation, note_observations
from inspections.operations.occupancy import answer_paper, change_occupancy
from inspections.operations.papers import (
    Recipient,
    mail_paper,
    make_paper_document,
    record_request,
    record_supply,
    take_back_supply,
)
from inspections.operations.reading import take_reading, take_readings
from inspections.operations.recounting import count_dates_again, count_units_again
from inspections.operations.reissuing import bring_back, delete_draft, reissue_inspection
from inspections.operations.reporting import add_photo, report_defect, take_on
from inspections.operations.unseen import Shown

__all__ = [
    "Counted",
    "MadeSafeFacts",
    "NoticeFacts",
    "Recipient",
    "Shown",
    "add_limitation",
    "add_missed",
    "add_photo",
    "answer_not_seen",
    "answer_notice",
    "answer_paper",
    "bring_back",
    "change_observation",
    "change_occupancy",
    "compare_meters",
    "continue_earlier",
    "correct_fact",
    "count_dates_again",
    "count_units_again",
    "cover_limitation",
    "delete_draft",
    "drop_observation",
    "edit_inspection",
    "end_observation",
    "give_danger_notice",
    "issue_inspection",
    "keep_notice_document",
    "kept_notice_document",
    "look_again",
    "mail_paper",
    "make_paper_document",
    "make_safe",
    "note_again",
    "note_found",
    "note_observation",
    "note_observations",
    "part_from_earlier",
    "put_back_fact",
    "reconnect",
    "record_finding",
    "record_request",
    "record_supply",
    "reissue_inspection",
    "remove_limitation",
    "reopen_observation",
    "report_defect",
    "review",
    "settle_notices",
    "start_inspection",
    "take_back_answer",
    "take_back_supply",
    "take_on",
    "take_reading",
    "take_readings",
    "withdraw_finding",
]
