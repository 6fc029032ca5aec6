"""10,000 messages that fall due in the same minute, two workers, and one of them is killed on the way."""

import os
import time

import pytest

from jobsite.messages.models import Message
from tests.faults.stack import SEND, STATE

COUNT = 10_000
SECONDS = float(os.environ.get("FAULTS_SECONDS", "12"))  # as long as is looked on; then what is left must still wait

pytestmark = pytest.mark.parametrize("stack", ["any"], indirect=True)  # the broker has no part in it


def test_ten_thousand_at_once(stack):
    written = {
        "written_at": stack.now,
        "next_try_at": stack.now,
        "to_kind": "customer",
        "subject": "Due",
        "body": "Due",
    }
    rows = [
        Message(occasion=f"due {n}", to_id=f"01890a5d-ac96-774b-bcce-{n:012}", address=f"c{n}@example.com", **written)
        for n in range(COUNT)
    ]
    Message.objects.bulk_create(rows, batch_size=2_000)
    stack.work(2)
    began = time.monotonic()
    stack.tick(SEND, SEND)
    stack.until(lambda: len(stack.mail.taken) > COUNT // 50, "a part of them", seconds=60)
    stack.workers[0].kill()
    stack.work(2)
    while len(stack.mail.taken) < COUNT - 1 and time.monotonic() < began + SECONDS:
        if not stack.broker.waiting():
            stack.tick(SEND)
        time.sleep(0.1)
    stack.kill_workers()
    mailed, states = stack.mailed(), stack.states()
    assert [name for name, times in mailed.items() if times > 1] == []
    assert len(states) == COUNT
    sent = {name for name, state in states.items() if state == STATE.SENT}
    assert sent <= set(mailed)
    assert len(sent) >= COUNT // 50
    # Three were killed: at most one mail of each is on its way; all else waits, or is given back to wait.
    handed = set(Message.objects.filter(handed_at__isnull=False).values_list("occasion", flat=True)) - sent
    assert len(handed) <= 3
    assert set(mailed) <= sent | handed
    waiting = Message.objects.filter(handed_at=None)
    assert set(waiting.values_list("state", flat=True)) <= {STATE.WAITING, STATE.SENDING}
    assert waiting.count() + len(handed) + len(sent) == COUNT
