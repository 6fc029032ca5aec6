"""Whatever is done in whatever order: nothing dangerous is without a next step, nothing closed is due, every list agrees.

A stateful test: Hypothesis plays histories of real operations against the real database and looks after every step.
`DUE_HISTORIES=2000` plays so many instead of the few of the usual run, and others each time.
"""

import os
from collections import Counter
from collections.abc import Callable
from datetime import timedelta
from typing import Any, ClassVar

import pytest
from django.db import connection, transaction
from django.test import Client
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from jobsite.refused import Refused
from remedials.due.models import DueRow
from remedials.due.queries import rows
from tests.remedials.due_checks import closed_in_list, disagreements, without_next_step
from tests.remedials.histories import CODES, Firm

pytestmark = pytest.mark.django_db
MANY = int(os.environ.get("DUE_HISTORIES", "0"))
PLAYED = settings(
    max_examples=MANY or 10,
    stateful_step_count=40 if MANY else 26,
    derandomize=not MANY,
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    phases=[Phase.generate, Phase.shrink] if MANY else [Phase.generate],
    print_blob=True,
)
LOOKS_EVERYWHERE = 15  # page, API and digest of everybody cost more than all the rest
PICK, SOON = st.integers(0, 400), st.integers(0, 30)
HOURS = st.integers(-3, 300)
WHO = st.integers(0, 5)
CODE = st.sampled_from(CODES)


def after(*acts: str) -> Any:
    """The rule has something to work on once one of `acts` was done in this history."""
    return precondition(lambda self: bool(self.has & set(acts)))


class Histories(RuleBasedStateMachine):
    """One history; everything in it is taken back at its end."""

    done: ClassVar[Counter[str]] = Counter()
    refused: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self.whole = transaction.atomic()
        self.whole.__enter__()
        self.firm = Firm()
        self.steps = 0
        self.has: set[str] = set()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.whole.__exit__(None, None, None)

    def do(self, name: str, *given: Any, **more: Any) -> None:
        """Do one act, as far as it may be done, a little later than the one before."""
        self.firm.now += timedelta(minutes=20)
        act: Callable[..., object] = getattr(self.firm, name)
        try:
            with transaction.atomic():
                act(*given, **more)
        except Refused:
            self.refused[name] += 1
        else:
            self.done[name] += 1
            self.has.add(name)

    @initialize(codes=st.lists(CODE, min_size=1, max_size=3), other_firm=st.booleans())
    def begin(self, codes: list[str], other_firm: bool) -> None:
        self.do("inspect", 0, codes, other_firm)

    # --- time goes by -------------------------------------------------------------------------------------------------

    @rule(days=st.sampled_from([1, 1, 2, 6, 9, 29, 100]))
    def later(self, days: int) -> None:
        self.firm.now += timedelta(days=days)

    # --- found --------------------------------------------------------------------------------------------------------

    @rule(pick=PICK, alarming=st.booleans())
    def report_defect(self, pick: int, alarming: bool) -> None:
        self.do("report_defect", pick, alarming)

    @rule(pick=PICK, code=CODE)
    def find(self, pick: int, code: str) -> None:
        self.do("find", pick, code)

    @rule(pick=PICK, codes=st.lists(CODE, min_size=1, max_size=3), other_firm=st.booleans())
    def inspect(self, pick: int, codes: list[str], other_firm: bool) -> None:
        self.do("inspect", pick, codes, other_firm)

    @rule(pick=PICK, codes=st.lists(CODE, max_size=2), other_firm=st.booleans())
    def start(self, pick: int, codes: list[str], other_firm: bool) -> None:
        self.do("start", pick, codes, other_firm)

    @rule(pick=PICK, name=st.sampled_from(["issue", "issue", "throw_draft_away", "reissue", "find_again"]))
    def report(self, pick: int, name: str) -> None:
        self.do(name, pick)

    # --- decided ------------------------------------------------------------------------------------------------------

    @rule(pick=PICK, code=st.sampled_from([*CODES, ""]))
    def review(self, pick: int, code: str) -> None:
        self.do("review", pick, code)

    @after("inspect", "find")
    @rule(pick=PICK, code=st.sampled_from(["C1", "C2", "C3", ""]))
    def record_finding(self, pick: int, code: str) -> None:
        self.do("record_finding", pick, code)

    @rule(pick=PICK, days=SOON, name=st.sampled_from(["make_safe", "make_safe", "look_again"]))
    def hold(self, pick: int, days: int, name: str) -> None:
        self.do(name, pick, days)

    @rule(pick=PICK, name=st.sampled_from(["reconnect", "withdraw_finding", "open_again", "give_notice"]))
    def decide(self, pick: int, name: str) -> None:
        self.do(name, pick)

    @rule(pick=PICK, ended=st.sampled_from(["remedied", "others", "withdrawn"]))
    def end(self, pick: int, ended: str) -> None:
        self.do("end", pick, ended)

    @rule(pick=PICK, whose=WHO, days=SOON, name=st.sampled_from(["take_on", "take_on_work"]))
    def take_on(self, pick: int, whose: int, days: int, name: str) -> None:
        self.do(name, pick, whose, days)

    # --- works --------------------------------------------------------------------------------------------------------

    @rule(pick=PICK, many=st.integers(1, 3))
    def make_remedial(self, pick: int, many: int) -> None:
        self.do("make_remedial", pick, many)

    @after("make_remedial")
    @rule(
        pick=PICK,
        name=st.sampled_from(["approve", "offer_again", "done_by_others", "close", "close", "leave", "reopen"]),
    )
    def work(self, pick: int, name: str) -> None:
        self.do(name, pick)

    @after("make_remedial")
    @rule(pick=PICK)
    def approve(self, pick: int) -> None:
        self.do("approve", pick)

    @after("make_remedial")
    @rule(pick=PICK, days=SOON, name=st.sampled_from(["decline", "parts"]))
    def put_off(self, pick: int, days: int, name: str) -> None:
        self.do(name, pick, days)

    @after("make_remedial")
    @rule(pick=PICK, hours=st.integers(1, 300))
    def onwards(self, pick: int, hours: int) -> None:
        self.do("onwards", pick, hours)

    @after("make_remedial")
    @rule(pick=PICK, hours=st.integers(1, 300))
    def onwards_again(self, pick: int, hours: int) -> None:
        self.do("onwards", pick, hours)

    @after("make_remedial")
    @rule(pick=PICK, nothing_more=st.booleans())
    def cancel(self, pick: int, nothing_more: bool) -> None:
        self.do("cancel", pick, nothing_more)

    @after("close", "onwards")
    @rule(
        pick=PICK,
        decision=st.sampled_from(["accepted", "accepted", "sent-back"]),
        code=st.sampled_from(["", "C2", "C3"]),
    )
    def review_proof(self, pick: int, decision: str, code: str) -> None:
        self.do("review_proof", pick, decision, code)

    @rule(pick=PICK, whole=st.booleans(), days=SOON)
    def wait(self, pick: int, whole: bool, days: int) -> None:
        self.do("wait", pick, whole, days)

    @after("wait")
    @rule(pick=PICK, days=SOON)
    def chase(self, pick: int, days: int) -> None:
        self.do("chase", pick, days)

    @after("wait")
    @rule(pick=PICK)
    def end_waiting(self, pick: int) -> None:
        self.do("end_waiting", pick)

    # --- quotes -------------------------------------------------------------------------------------------------------

    @after("make_remedial")
    @rule(pick=PICK)
    def quote(self, pick: int) -> None:
        self.do("quote", pick)

    @after("quote", "onwards")
    @rule(pick=PICK, yes=st.booleans())
    def answer(self, pick: int, yes: bool) -> None:
        self.do("answer", pick, yes)

    @after("quote", "onwards")
    @rule(pick=PICK, name=st.sampled_from(["take_answer_back", "withdraw_quote"]))
    def take_back(self, pick: int, name: str) -> None:
        self.do(name, pick)

    @after("quote", "onwards")
    @rule(pick=PICK, days=SOON)
    def chase_quote(self, pick: int, days: int) -> None:
        self.do("chase_quote", pick, days)

    # --- visits -------------------------------------------------------------------------------------------------------

    @after("approve", "answer", "onwards")
    @rule(pick=PICK, whose=WHO, hours=HOURS, despite=st.booleans())
    def book(self, pick: int, whose: int, hours: int, despite: bool) -> None:
        self.do("book", pick, whose, hours, despite)

    @rule(pick=PICK, whose=WHO, hours=HOURS, name=st.sampled_from(["book_other", "move_visit"]))
    def diary(self, pick: int, whose: int, hours: int, name: str) -> None:
        self.do(name, pick, whose, hours)

    @after("book", "book_other", "key_out", "onwards")
    @rule(pick=PICK, name=st.sampled_from(["cancel_visit", "nobody_there", "settle", "key_in"]))
    def visit(self, pick: int, name: str) -> None:
        self.do(name, pick)

    @rule(pick=PICK, days=SOON, name=st.sampled_from(["try_to_get_in", "see_to", "key_out"]))
    def get_in(self, pick: int, days: int, name: str) -> None:
        self.do(name, pick, days)

    # --- the firm and its sites ---------------------------------------------------------------------------------------

    @rule(pick=PICK, name=st.sampled_from(["goes", "returns"]))
    def person(self, pick: int, name: str) -> None:
        self.do(name, pick)

    @rule(days=st.integers(1, 200), name=st.sampled_from(["compare_instrument", "found_competent"]))
    def own(self, days: int, name: str) -> None:
        self.do(name, days)

    @after("found_competent")
    @rule(pick=PICK, days=SOON)
    def competent_until(self, pick: int, days: int) -> None:
        self.do("competent_until", pick, days)

    @rule(
        pick=PICK,
        name=st.sampled_from(["archive", "bring_back", "hand_over", "retire_unit", "moves_in", "answer_paper"]),
    )
    def site(self, pick: int, name: str) -> None:
        self.do(name, pick)

    @rule(pick=PICK, into=PICK)
    def merge(self, pick: int, into: int) -> None:
        self.do("merge", pick, into)

    @rule(pick=PICK, whose=WHO, days=st.integers(0, 20))
    def have_it(self, pick: int, whose: int, days: int) -> None:
        self.do("have_it", pick, whose, days)

    @after("have_it")
    @rule(pick=PICK)
    def give_back(self, pick: int) -> None:
        self.do("give_back", pick)

    @rule(pick=PICK, days=SOON)
    def write_letter(self, pick: int, days: int) -> None:
        self.do("write_letter", pick, days)

    @after("write_letter")
    @rule(pick=PICK, name=st.sampled_from(["deliver_letter", "take_letter_back"]))
    def end_letter(self, pick: int, name: str) -> None:
        self.do(name, pick)

    # --- what holds after every step ----------------------------------------------------------------------------------

    @invariant()
    def nothing_is_forgotten(self) -> None:
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE; SET CONSTRAINTS ALL DEFERRED")
        found = list(DueRow.objects.select_related("owner", "site"))
        assert without_next_step(found) == []
        assert closed_in_list(found) == []
        self.steps += 1
        if self.steps % LOOKS_EVERYWHERE == 0:
            assert disagreements(self.firm, Client()) == []


def test_no_history_forgets_anything(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rows, "NEAR", 3)  # so that pages are found in all their ways, though there are but few rows
    monkeypatch.setattr(rows, "FAR", 8)
    monkeypatch.setattr(rows, "COUNT_STOPS_AT", 1)
    run_state_machine_as_test(Histories, settings=PLAYED)
    left_out = {name for name in Histories.refused if not Histories.done[name]}
    assert len(Histories.done) > (50 if MANY else 25), f"too little was done: {Histories.done}, never: {left_out}"
