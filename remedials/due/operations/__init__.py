"""The clockwork: what it writes and sends, from the due list and nothing else."""

from remedials.due.operations.customers import customer_messages
from remedials.due.operations.danger import write_alarms, write_dangers
from remedials.due.operations.digests import write_digests
from remedials.due.operations.sending import completed, send, send_for_a_while, stands, why_dropped
from remedials.due.operations.sweeping import SWEEP_LOCK, sweep

__all__ = [
    "SWEEP_LOCK",
    "completed",
    "customer_messages",
    "send",
    "send_for_a_while",
    "stands",
    "sweep",
    "why_dropped",
    "write_alarms",
    "write_dangers",
    "write_digests",
]
