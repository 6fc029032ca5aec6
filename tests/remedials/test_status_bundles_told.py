"""What an archive tells of papers, quotes, attempts to get in and waiting; and what of them it leaves out."""

from datetime import timedelta

import pytest

from inspections.models import Paper
from inspections.operations import papers
from jobsite.ids import new_id
from remedials.status.bundles import as_of, sealing
from remedials.status.bundles.competence import held_by
from remedials.status.bundles.naming import letters_of
from remedials.status.bundles.rules import Told, up_to
from remedials.visits.operations.attempts import log_attempt
from tests.factories import NOON, TODAY, make_paper
from tests.remedials.played import HOUR, Played, unpacked


def told(number: int, *, at=NOON, verb: str = "observation.noted", **more) -> Told:
    usual = {
        "chain": "c",
        "operation": "o",
        "actor_kind": "person",
        "actor": "a",
        "kind": "observation",
        "subject": "s",
    }
    return Told(number=number, at=at, verb=verb, **{**usual, "facts": {}, **more})


# --- the cut ----------------------------------------------------------------------------------------------------------


def test_a_chain_is_cut_before_its_first_later_entry() -> None:
    entries = [told(1), told(2, at=NOON + HOUR), told(3, at=NOON + 2 * HOUR)]
    assert up_to(entries, NOON - HOUR) == ([], 0)
    assert up_to(entries, NOON) == (entries[:1], 0)
    assert up_to(entries, NOON + HOUR) == (entries[:2], 0)
    assert up_to(entries, NOON + 9 * HOUR) == (entries, 0)


def test_what_stands_behind_a_later_entry_with_an_earlier_time_is_counted() -> None:
    """A clock that was ahead: without a gap a chain is only checked up to there, so the record says what it leaves out."""
    entries = [told(1), told(2, at=NOON + 5 * HOUR), told(3, at=NOON + HOUR), told(4, at=NOON + 6 * HOUR)]
    assert up_to(entries, NOON + 2 * HOUR) == (entries[:1], 1)


# --- what leaves the house --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "verb",
    ["remedial.priced", "quote.begun", "quote.line-edited", "terms.set", "standard-job.added", "access.occupier", "code.kept",
     "code.looked-at", "key.taken", "role.given", "person.invited", "party.added", "reminders.stopped", "plan.asked",
     "a-verb.nobody-thought-of"],
)  # fmt: skip
def test_what_is_not_named_is_sealed(verb) -> None:
    assert not sealing.may_be_told(verb)


@pytest.mark.parametrize(
    "verb", ["remedial.declined", "observation.reviewed", "quote.sent", "quote.answered", "access.attempt"]
)
def test_what_was_known_said_and_refused_is_told(verb) -> None:
    assert sealing.may_be_told(verb)


@pytest.mark.parametrize(
    ("name", "text", "given"),
    [
        ("text", "Certificate 123456789 is torn", True),
        ("reported_by", "Tina", True),
        ("reported_by", "Tina, 01632 960 999", False),
        ("who", "ring +44 1632 960999", False),
        ("reason", "write to tina@example.com", False),
        ("access_notes", "third pot", False),
        ("key_holder", "Petra", False),
        ("said", "rang 01632 960888, nobody there", False),
        ("reply", "my number is (01632) 960-888", False),
        ("note", "call +44 (0)1632 960 888", False),
        ("for_what", "the lift, 0044 1632 960888", False),
        ("text", "Zs 0.35 0.36 0.41 0.52 ohm, 230 V, 2026-02-03", True),
    ],
)
def test_words_that_lead_to_people_stay_here(name, text, given) -> None:
    assert sealing.may_be_given("observation.reported", name, text) is given
    assert not sealing.may_be_given("code.kept", name, text)


def test_chains_have_letters_and_the_firm_s_own_is_none_of_them() -> None:
    letters = letters_of(range(30))
    assert (letters["0"], letters["1"], letters["2"]) == ("", "B", "C")
    assert "F" not in letters.values()
    assert len(set(letters.values())) == 30


def test_competence_that_was_ended_held_until_then() -> None:
    facts = {"person": "p", "since": "2025-01-01", "until": None}
    begun = told(1, verb="competence.recorded", kind="competence", subject="k", facts=facts, words={"evidence": "e"})
    ended = told(2, verb="competence.ended", kind="competence", subject="k", facts={"until": "2026-02-03"})
    [open_one] = held_by([begun])["p"]
    assert open_one.on(TODAY + timedelta(days=900))
    [row] = held_by([begun, ended])["p"]
    assert (row.on(TODAY), row.on(TODAY + timedelta(days=1))) == (True, False)


# --- told in words ----------------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_papers_attempts_and_waiting_are_told_by_their_names(tmp_path) -> None:
    played = Played()
    paper: Paper = make_paper(played.site, "a copy of the report for the tenants")
    now = NOON + 30 * HOUR
    log_attempt(
        played.site, id=new_id(), unit=played.unit, how="phone", at=now, whom="Tina, 01632 960 999", said="No answer", got_in=False,
        next_on=None, by=played.office, now=now,
    )  # fmt: skip
    papers.record_supply(
        paper, id=new_id(), to=[papers.Recipient("Tina Tenant")], came="refused", how="hand", on=now.date(), settles=False, version=paper.version, note="At the door",
        by=played.office, now=now,
    )  # fmt: skip
    text = unpacked(as_of.archive(played.bundle(now))[0], tmp_path)["record.txt"].decode()
    for words in (
        "A copy of the report for the tenants: Tina Tenant would not take it", "Attempt to get in (phone): not let in", "No answer",
    ):  # fmt: skip
        assert words in text, words
    assert "960 999" not in text


@pytest.mark.parametrize(
    ("verb", "name"), [("hold.placed", "reason"), ("hold.lifted", "why"), ("bundle.asked-for", "reason")]
)
def test_why_the_firm_holds_its_record_or_has_it_drawn_is_told_to_no_stranger(verb, name) -> None:
    assert sealing.may_be_told(verb)
    assert not sealing.may_be_given(verb, name, "Our insurer thinks that we are liable")
