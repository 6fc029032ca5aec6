"""Every change of intake: a file received, read, taken in or set aside."""

from inspections.intake.operations.leaving_out import leave_out, put_back
from inspections.intake.operations.receiving import read, read_again, read_waiting, receive, set_aside
from inspections.intake.operations.taking_in import take_in

__all__ = ["leave_out", "put_back", "read", "read_again", "read_waiting", "receive", "set_aside", "take_in"]
