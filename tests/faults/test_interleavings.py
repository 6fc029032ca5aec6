"""Two engineers without signal and the office, in any order, with any reply lost: nothing is lost and nothing doubled.

A phone here is what it is in the browser (jobsite/static/jobsite/sending.js), without the browser: records with a key each
(Idempotency-Key), in groups within which none overtakes another, tried again until the server's yes (X-Saved) or a
refusal that the engineer is shown. They are posted to the real pages. What goes missing is a request, before the server
did anything, or its reply, afterwards.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from io import BytesIO

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from PIL import Image

from inspections.models import Reading
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.ledger.queries import faults
from jobsite.refused import Refused
from remedials.works import operations as do
from remedials.works.models import PowerStep, Proof, ProofPhoto, Remedial, Stint
from tests import factories as make
from tests.factories import NOON
from tests.remedials.work import ask_reading, on_the_way

pytestmark = pytest.mark.django_db

FINE, REQUEST_LOST, REPLY_LOST = "fine", "request lost", "reply lost"
NETWORK = st.sampled_from([FINE, FINE, REQUEST_LOST, REPLY_LOST])


@dataclass
class Record:
    """What was sent off on a phone and waits."""

    kind: str
    address: str
    fields: dict[str, str]
    made: datetime
    photo: bytes = b""
    once: str = field(default_factory=lambda: str(new_id()))


@dataclass
class Phone:
    """One engineer's phone. `refused`: shown to the engineer, and off the queue."""

    client: Client
    outbox: list[Record] = field(default_factory=list)
    saved: list[Record] = field(default_factory=list)
    refused: list[Record] = field(default_factory=list)

    def put(self, kind: str, address: str, made: datetime, fields: dict[str, str], photo: bytes = b"") -> None:
        self.outbox.append(Record(kind, address, {"id": str(new_id())} | fields, made, photo))

    def send(self, network: str, now: datetime) -> None:
        """Try the first that waits; what comes back decides, not what the server did."""
        if not self.outbox or network == REQUEST_LOST:
            return
        record = self.outbox[0]
        kept = f"phone:{record.once}"
        data: dict[str, object] = dict(record.fields)
        if record.photo:
            data["photo"] = SimpleUploadedFile("after.jpg", record.photo, "image/jpeg")
        headers = {
            "Idempotency-Key": f'"{record.once}"',
            "X-Kept": kept,
            "X-Made": record.made.isoformat(),
            "X-Sent": now.isoformat(),
            "HX-Request": "true",
        }
        answer = self.client.post(record.address, data, headers=headers)
        assert answer.status_code < 500
        if network == REPLY_LOST:
            return
        self.outbox.pop(0)
        (self.saved if answer.get("X-Saved") == kept else self.refused).append(record)


def a_picture(number: int) -> bytes:
    """A photograph that is no other, also once it is cleaned."""
    out = BytesIO()
    Image.new("RGB", (16, 16), (16 * (number % 16), 16 * (number // 16), 99)).save(out, "JPEG")
    return out.getvalue()


class Job:
    """A remedial with a reading to pass, two phones, the office; `clock` goes on by a minute with each step."""

    def __init__(self) -> None:
        self.clock = NOON
        self.office, self.reviewer = make.make_user("Olive Deskworth", "office"), make.make_qualified()
        self.engineers = [make.make_user("Edwin Wireman", "engineer"), make.make_user("Otto Ampleby", "engineer")]
        self.remedial = on_the_way("C2", site=make.make_site(earthing="TN-C-S"), stage="booked", photo_required=True)
        ask_reading(self.remedial)
        self.need = self.remedial.required_readings.get()
        self.tool = make.make_instrument()
        self.phones = [Phone(Client()) for _ in self.engineers]
        for phone, person in zip(self.phones, self.engineers, strict=True):
            phone.client.force_login(person)
        self.shade = 0

    def act(self, who: int, what: str) -> None:
        """Something done on a phone without signal."""
        phone, pk, made = self.phones[who], self.remedial.pk, self.clock
        self.shade += what == "photo"
        address, fields, photo = {
            "photo": ("works:photo_add", {}, a_picture(self.shade)),
            "reading": (
                "works:reading",
                {"value": f"0.{50 + len(phone.outbox) % 9}", "instrument": str(self.tool.pk)},
                b"",
            ),
            "off": ("works:power", {"kind": "off", "where": "Way 5, lock 14"}, b""),
            "leave": ("works:part_done", {"came": "part-done", "because": "Second fix"}, b""),
            "close": ("works:close", {"minutes": "30", "beside": "on"}, b""),
        }[what]
        phone.put(what, reverse(address, args=[self.need.pk if what == "reading" else pk]), made, fields, photo)

    def decide(self, what: str) -> None:
        """Something that the office or the reviewer does meanwhile; what cannot be is refused, as on their pages."""
        remedial, by = Remedial.objects.get(pk=self.remedial.pk), {"by": self.office, "now": self.clock}
        proof = Proof.objects.filter(state="stands").first()
        try:
            with transaction.atomic():
                if what == "cancel visit":
                    do.mark_unbooked(remedial, **by)
                elif what == "cancel":
                    do.cancel_remedial(remedial, reason="Sold", **by)
                elif what == "reopen":
                    do.reopen_remedial(remedial, reason=f"Came loose {self.clock}", **by)
                elif what == "send back" and proof:
                    do.review_proof(proof, decision="sent-back", reason="Blurred", by=self.reviewer, now=self.clock)
                elif what == "accept" and proof:
                    do.review_proof(proof, decision="accepted", by=self.reviewer, now=self.clock)
        except Refused:
            pass

    def step(self, move: tuple[str, int, str]) -> None:
        self.clock += timedelta(minutes=1)
        with time_machine.travel(self.clock, tick=False):
            kind, who, what = move
            if kind == "do":
                self.act(who, what)
            elif kind == "send":
                self.phones[who].send(what, self.clock)
            else:
                self.decide(what)

    def let_all_out(self) -> None:
        for who, phone in enumerate(self.phones):
            for _ in range(len(phone.outbox)):
                self.step(("send", who, FINE))
            assert phone.outbox == []

    def must_hold(self) -> None:
        """Every saved record is there once; no more than was done; one standing proof at most; the ledger holds."""
        done = {kind: [r for p in self.phones for r in p.saved if r.kind == kind] for kind in KINDS}
        refused = {kind: [r for p in self.phones for r in p.refused if r.kind == kind] for kind in KINDS}
        assert ProofPhoto.objects.count() == len(done["photo"]), "a photo was lost or doubled"
        assert refused["photo"] == [], "a photo only adds"
        assert Reading.objects.count() == len(done["reading"]), "a reading was lost or doubled"
        assert refused["reading"] == [], "a reading only adds"
        assert PowerStep.objects.count() == len(done["off"])
        assert set(Proof.objects.values_list("pk", flat=True)) == {_key(r) for r in done["close"]}
        left = Stint.objects.exclude(came="finished").values_list("pk", flat=True)
        assert set(left) == {_key(r) for r in done["leave"]}
        assert Proof.objects.filter(state="stands").count() <= 1
        assert list(faults()) == []
        taken = {_key(r): r.made for r in done["reading"]}
        assert dict(Reading.objects.values_list("pk", "taken_at")) == taken
        entries = Entry.objects.filter(verb="remedial.photo-added")
        assert entries.count() == len(done["photo"])


def _key(record: Record):
    return type(new_id())(record.fields["id"])


KINDS = ("photo", "reading", "off", "leave", "close")
MOVES = st.one_of(
    st.tuples(st.just("do"), st.integers(0, 1), st.sampled_from([*KINDS, "photo", "reading", "close"])),
    st.tuples(st.just("send"), st.integers(0, 1), NETWORK),
    st.tuples(st.just("send"), st.integers(0, 1), NETWORK),
    st.tuples(
        st.just("office"), st.just(0), st.sampled_from(["cancel visit", "cancel", "reopen", "send back", "accept"])
    ),
)


def run(moves: list[tuple[str, int, str]]) -> None:
    """One interleaving, undone afterwards."""
    with transaction.atomic():
        job = Job()
        for move in moves:
            job.step(move)
        job.let_all_out()
        job.must_hold()
        transaction.set_rollback(True)


@settings(max_examples=200, derandomize=True, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(st.lists(MOVES, min_size=8, max_size=24))
def test_whatever_the_order_and_whatever_is_lost(moves) -> None:
    run(moves)


TWICE = [
    ("do", 0, "photo"),
    ("do", 0, "reading"),
    ("send", 0, REPLY_LOST),
    ("send", 0, FINE),
    ("send", 0, REPLY_LOST),
    ("send", 0, FINE),
]


def test_the_same_sent_again_is_found_where_no_key_says_so(monkeypatch) -> None:
    """The proof that the test above can fail: a phone that forgets before the yes, and one that makes everything anew."""
    run(TWICE)

    def hasty(phone: Phone, network: str, now: datetime) -> None:
        if phone.outbox:
            phone.saved.append(phone.outbox.pop(0))

    must_fail(monkeypatch, hasty)

    kept = Phone.send

    def anew(phone: Phone, network: str, now: datetime) -> None:
        if phone.outbox:
            first = phone.outbox[0]
            first.once, first.fields = str(new_id()), first.fields | {"id": str(new_id())}
        kept(phone, network, now)

    must_fail(monkeypatch, anew)


def must_fail(monkeypatch, send) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(Phone, "send", send)
        with pytest.raises(AssertionError):
            run(TWICE)
