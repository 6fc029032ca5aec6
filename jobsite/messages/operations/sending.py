"""Sending what waits: one run, one connection, one message after the other, each settled before the next begins."""

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

from django.db import InterfaceError, OperationalError, connection

from jobsite.messages.carrier import Carrier, Unreachable
from jobsite.messages.mail import Complete, Letterhead, as_mail, as_written
from jobsite.messages.models import Message
from jobsite.messages.operations.claims import (
    AT_ONCE,
    begin,
    claim_some,
    give_back,
    settle,
    settle_carried,
    try_later,
    wait_for_server,
)

SEND_FOR = 20.0  # seconds; a task that sends may take this and the time limits of one mail
MOST = 100_000  # in one run; its time ends it sooner
SETTLE_FOR = 15.0  # seconds to wait for a database that went away while a mail was at the mail server
TROUBLES = 3  # so many in a row end a run: the server has enough for now
BREAKS = 5  # so many in a row of which nobody knows whether they were taken, and sending rests
LONGEST_REST = timedelta(hours=1)

FRESH = 5.0  # seconds: what was read of a reason longer ago is read again before its message goes out

STATE = Message.State
Stands = Callable[[Message], bool]
Look = Callable[[list[Message]], Stands]
GONE = (OperationalError, InterfaceError)


@dataclass(frozen=True)
class Round:
    """What a run did: how many messages it looked at, and whether more of them can go out at once."""

    looked_at: int
    more: bool


def send_waiting(
    *,
    now: datetime,
    stands: Stands,
    complete: Callable[[Message], Complete] = as_written,
    limit: int = MOST,
    seconds: float = SEND_FOR,
) -> int:
    """Send what is due, as `send_round` does it, asking `stands` of each message; how many were looked at."""
    return send_round(now=now, look=lambda _: stands, complete=complete, limit=limit, seconds=seconds).looked_at


def send_round(
    *,
    now: datetime,
    look: Look,
    complete: Callable[[Message], Complete] = as_written,
    limit: int = MOST,
    seconds: float = SEND_FOR,
) -> Round:
    """Send what is due, dangers first. None is begun after `seconds`: the rest waits for the next call.

    `look` reads what the reasons of some messages rest on and returns what says of each whether it still stands.
    `complete` says what goes out for a message: a secret that must not lie in the database is put in there, when the mail
    server has been reached.

    1. Claim some rows in a transaction of their own: another worker passes over them.
    2. Ask of each whether its reason still stands, by what was read at most FRESH seconds ago; if not it is dropped.
    3. Talk to the mail server, outside any transaction. A crash up to here leaves a claim that waits again later.
    4. Just before the mail server could take it, note that (`begin`), in a transaction of its own.
    5. Send, and settle. A crash between 4 and 5 leaves UNKNOWN (`settle_abandoned`), never a second e-mail.
    """
    if rests(now):
        return Round(0, more=False)
    run = _Run(now, look, complete, time.monotonic() + seconds)
    try:
        return run.go(limit)
    finally:
        run.carrier.close()


def rests(now: datetime) -> bool:
    """Whether the last outcomes say that the mail server takes mails and breaks off: each would be one to decide about."""
    rows = Message.objects.filter(handed_at__isnull=False, settled_at__isnull=False).order_by("-settled_at")
    last = list(rows.values_list("state", "settled_at")[: BREAKS + 6])
    breaks = next((n for n, (state, _) in enumerate(last) if state != STATE.UNKNOWN), len(last))
    if breaks < BREAKS or (latest := last[0][1]) is None or latest > now:
        return False
    return now < latest + min(timedelta(minutes=2 ** (breaks - BREAKS + 1)), LONGEST_REST)


class _Run:
    """One run of sending."""

    def __init__(
        self,
        now: datetime,
        look: Look,
        complete: Callable[[Message], Complete],
        until: float,
    ) -> None:
        self.now, self.look, self.complete, self.until = now, look, complete, until
        self.carrier = Carrier()
        self.head = Letterhead.of_the_firm()
        self.looked_at = 0
        self.troubles = 0
        self.unreachable = False

    def go(self, limit: int) -> Round:
        while self._goes_on(limit) and (batch := claim_some(now=self.now, most=min(AT_ONCE, limit - self.looked_at))):
            left = list(batch)
            try:
                stands, looked = self._looked(left), time.monotonic()
                while left and self._goes_on(limit):
                    if time.monotonic() > looked + FRESH:
                        stands, looked = self._looked(left), time.monotonic()
                    self.looked_at += 1
                    self.one(left[0], stands)
                    del left[0]
            finally:
                with contextlib.suppress(*GONE):
                    give_back(left)
        stopped = self.unreachable or self.troubles >= TROUBLES
        return Round(self.looked_at, more=not stopped and self._more())

    def _goes_on(self, limit: int) -> bool:
        stopped = self.unreachable or self.troubles >= TROUBLES
        return not stopped and self.looked_at < limit and time.monotonic() < self.until

    def _more(self) -> bool:
        return Message.objects.filter(state=STATE.WAITING, next_try_at__lte=self.now).exists()

    def _looked(self, messages: list[Message]) -> Stands:
        """Read what the reasons rest on, for all together; where one of them makes that fail, for each on its own."""
        try:
            return self.look(messages)
        except GONE:
            raise
        except Exception:  # noqa: BLE001 - the one that is at fault fails again, alone, and is put aside
            return lambda message: self.look([message])(message)

    def one(self, message: Message, stands: Stands) -> None:
        """Look at the reason of `message`, send it and settle it. A fault of its own never stops those behind it."""
        message.error = ""  # `stands` may say there why not
        try:
            if not stands(message):
                settle(message, state=STATE.DROPPED, error=message.error, now=self.now)
                return
        except GONE:
            raise
        except Exception as error:  # noqa: BLE001 - whatever its row makes go wrong, the others are sent
            try_later(message, error=f"Its reason could not be looked at: {error}", now=self.now)
            return
        try:
            self.carrier.open()
            self._send(message)
        except Unreachable as error:
            self.unreachable = True
            wait_for_server(message, error=str(error))

    def _send(self, message: Message) -> None:
        try:
            whole = self.complete(message)
        except GONE:
            raise
        except Exception as error:  # noqa: BLE001 - a file that is lost, a row that is gone: nothing was handed over yet
            try_later(message, error=f"It could not be completed: {error}", now=self.now)
            return
        try:
            mail = as_mail(message, whole, self.head, now=self.now)
        except Exception as error:  # noqa: BLE001 - an address or a header that no e-mail can have
            settle(message, state=STATE.FAILED, error=f"It cannot be written as an e-mail: {error}", now=self.now)
            return
        carried = self.carrier.carry(mail, begin=partial(begin, message, now=self.now))
        self.troubles = self.troubles + 1 if carried.trouble else 0
        if carried.state == STATE.WAITING:
            for_sure(lambda: try_later(message, error=carried.error, now=self.now))
        elif carried.state is not None:
            for_sure(lambda: settle_carried(message, carried, now=self.now))


def for_sure(note: Callable[[], None]) -> None:
    """Do `note`, also where the database is away for a moment: only this process knows how the sending ended."""
    until = time.monotonic() + SETTLE_FOR
    while True:
        try:
            note()
        except GONE:
            if connection.in_atomic_block or time.monotonic() > until:
                raise
            connection.close()
            time.sleep(0.5)
        else:
            return
