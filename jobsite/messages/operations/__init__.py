"""Writing messages and sending them: a row first, then one e-mail, never a second one by the machine."""

from jobsite.messages.mail import Complete, as_written, message_id
from jobsite.messages.operations.claims import BACKOFF, CLAIM_HOLDS, claim, give_up, settle, settle_abandoned, try_later
from jobsite.messages.operations.deciding import SEE_MESSAGES, send_again, send_to
from jobsite.messages.operations.returns import came_back, take_returned
from jobsite.messages.operations.sending import SEND_FOR, Round, send_round, send_waiting
from jobsite.messages.operations.writing import (
    drop_waiting,
    drop_waiting_about,
    move_messages,
    note_link,
    write_messages,
)

__all__ = [
    "BACKOFF",
    "CLAIM_HOLDS",
    "SEE_MESSAGES",
    "SEND_FOR",
    "Complete",
    "Round",
    "as_written",
    "came_back",
    "claim",
    "drop_waiting",
    "drop_waiting_about",
    "give_up",
    "message_id",
    "move_messages",
    "note_link",
    "send_again",
    "send_round",
    "send_to",
    "send_waiting",
    "settle",
    "settle_abandoned",
    "take_returned",
    "try_later",
    "write_messages",
]
