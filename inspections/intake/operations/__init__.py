"""Every change of intake: a file received, read, put right, taken in or set aside."""

from inspections.intake.operations.by_worker import ask_to_take_in, take_in_asked
from inspections.intake.operations.leaving_out import leave_out, put_back
from inspections.intake.operations.putting_right import put_right, take_back_correction
from inspections.intake.operations.receiving import read, read_again, read_waiting, receive, set_aside
from inspections.intake.operations.saying_same import ask_same_again, say_same
from inspections.intake.operations.taking_in import take_in

__all__ = [
    "ask_same_again",
    "ask_to_take_in",
    "leave_out",
    "put_back",
    "put_right",
    "read",
    "read_again",
    "read_waiting",
    "receive",
    "say_same",
    "set_aside",
    "take_back_correction",
    "take_in",
    "take_in_asked",
]
