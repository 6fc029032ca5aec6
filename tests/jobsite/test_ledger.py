"""The ledger: entries in a chain, and whoever tampers with it, even as the owner of the database, is found out."""

from uuid import UUID

import pytest
from django.core.management import CommandError, call_command
from django.db import ProgrammingError, connection, transaction
from hypothesis import given
from hypothesis import strategies as st

from jobsite.firm.operations import describe_firm, set_policy
from jobsite.ids import new_id
from jobsite.ledger.models import Chain, Entry, Words
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import faults, heads
from jobsite.ledger.rules import FIRM_CHAIN, START, Head, canonical, chained_hash, hashed_fields, read_heads
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def chain(manager):
    """Five entries in the firm's chain."""
    for name in ("One & Sons", "Two & Sons", "Three & Sons", "Four & Sons"):
        describe_firm(name=name, by=manager, now=NOON)
    set_policy(holds_from=TODAY, c2_days=21, reason="the insurer asks for it", by=manager, now=NOON)


@pytest.fixture
def owner(chain):
    """The owner of the database, with the triggers off."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("ALTER TABLE ledger_entry DISABLE TRIGGER USER")
        yield cursor
        cursor.execute("ALTER TABLE ledger_entry ENABLE TRIGGER USER")


def test_chain_holds_and_counts_its_entries(chain):
    assert list(faults()) == []
    assert [(h.chain, h.number) for h in heads()] == [(FIRM_CHAIN, 5)]
    assert list(Entry.objects.order_by("number").values_list("number", "verb")) == [
        (1, "firm.described"),
        (2, "firm.described"),
        (3, "firm.described"),
        (4, "firm.described"),
        (5, "firm.policy-set"),
    ]


def test_facts_hold_no_free_words(chain):
    entry = Entry.objects.get(number=5)
    assert entry.facts.keys() == {"c2_days", "holds_from", "reason_digest"}
    assert Words.objects.get(entry=entry.pk).text == "the insurer asks for it"


def test_words_can_be_erased_without_breaking_the_chain(chain):
    Words.objects.all().delete()
    assert list(faults()) == []


def test_changed_words_are_found(chain):
    entry = Entry.objects.get(number=5)
    Words.objects.filter(entry=entry.pk).update(text="nobody asked for it")
    assert list(faults()) == [f"Chain {FIRM_CHAIN}: the words beside entry 5 were changed."]


@pytest.mark.parametrize(
    "change", [lambda e: e.save(), lambda e: e.delete(), lambda e: Entry.objects.filter(pk=e.pk).update(verb="x")]
)
def test_entries_cannot_be_changed(chain, change):
    with pytest.raises(ProgrammingError), transaction.atomic():
        change(Entry.objects.first())


def test_a_changed_row_is_found(owner):
    owner.execute('UPDATE ledger_entry SET facts = \'{"c2_days": "90"}\' WHERE number = 5')
    assert f"Chain {FIRM_CHAIN}: entry 5 was changed." in list(faults())


def test_a_removed_row_is_found(owner):
    owner.execute("DELETE FROM ledger_entry WHERE number = 2")
    assert f"Chain {FIRM_CHAIN}: entry 2 is missing." in list(faults())


def test_a_cut_tail_is_found_by_a_head_kept_outside(owner):
    kept = heads()
    entry = Entry.objects.get(number=4)
    owner.execute("DELETE FROM ledger_entry WHERE number = 5")
    Chain.objects.update(length=4, head=entry.hash)
    assert list(faults()) == []  # nothing inside the database betrays it
    assert list(faults(kept)) == [f"Chain {FIRM_CHAIN}: entry 5 was kept as a head outside, but is gone."]


def test_a_recomputed_chain_is_found_by_a_head_kept_outside(owner):
    kept = heads()
    previous = START
    for entry in Entry.objects.order_by("number"):
        facts = entry.facts | {"holds_from": "1999-01-01"} if entry.number == 3 else entry.facts
        fields = {
            "at": entry.at.isoformat(timespec="microseconds"),
            "actor_kind": entry.actor_kind,
            "actor": str(entry.actor),
            "verb": entry.verb,
            "subject_kind": entry.subject_kind,
            "subject": str(entry.subject),
            "facts": facts,
        }
        digest = chained_hash(previous, hashed_fields(entry.chain, entry.number, entry.operation, fields))
        Entry.objects.filter(pk=entry.pk).update(facts=facts, previous=previous, hash=digest)
        previous = digest
    Chain.objects.update(head=previous)
    assert list(faults()) == []  # nothing inside the database betrays it
    assert list(faults(kept)) == [f"Chain {FIRM_CHAIN}: entry 5 is not the one whose head was kept outside."]


def test_a_chain_that_is_gone_is_found(owner):
    kept = heads()
    owner.execute("DELETE FROM ledger_entry")
    Chain.objects.all().delete()
    assert list(faults(kept)) == [f"Chain {FIRM_CHAIN}: a kept head names it, but it is gone."]


def test_a_chain_that_grows_while_the_ledger_is_read_is_no_fault(chain, manager):
    @operation
    def note(*, site, by, now):
        record("site.noted", site=site, subject=by, by=by, now=now)

    sites = sorted(new_id() for _ in range(2))
    for site in sites:
        note(site=site, by=manager, now=NOON)
    reading = faults([Head(sites[0], 2, "00" * 32)])
    assert "entry 2 was kept as a head outside, but is gone" in next(reading)  # what is recorded of all is read by now
    note(site=sites[1], by=manager, now=NOON)
    assert list(reading) == []


def test_an_entry_after_the_recorded_end_is_found(chain):
    """Whoever adds an entry and not the chain's new head: its length is that of before, also when it is asked again."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("ALTER TABLE ledger_chain DISABLE TRIGGER USER")
        cursor.execute("UPDATE ledger_chain SET length = 4, head = (SELECT hash FROM ledger_entry WHERE number = 4)")
        cursor.execute("ALTER TABLE ledger_chain ENABLE TRIGGER USER")
    assert list(faults()) == [f"Chain {FIRM_CHAIN}: it ends at entry 5, but 4 are recorded."]


def test_command_proves_the_ledger_against_a_file(chain, tmp_path, capsys):
    digest = tmp_path / "digest.eml"
    digest.write_text("Due today: 3\n\n" + heads()[0].line() + "\n")
    call_command("check_ledger", str(digest))
    assert capsys.readouterr().out == "The ledger holds: 5 entries in 1 chains, 1 kept heads found.\n"


def test_command_fails_on_a_fault(chain, capsys):
    Words.objects.update(text="changed")
    with pytest.raises(CommandError, match="The ledger does not hold"):
        call_command("check_ledger")
    assert "the words beside entry 5 were changed" in capsys.readouterr().err


def test_command_refuses_files_without_a_head(chain, tmp_path):
    (tmp_path / "letter.txt").write_text("Dear customer")
    with pytest.raises(CommandError, match="None of these files"):
        call_command("check_ledger", str(tmp_path / "letter.txt"))


def test_a_failed_operation_leaves_nothing(manager):
    @operation
    def half_done(*, by, now):
        describe_firm(name="Half", by=by, now=now)
        raise ValueError("half way")

    with pytest.raises(ValueError, match="half way"):
        half_done(by=manager, now=NOON)
    assert (Entry.objects.count(), Chain.objects.count()) == (0, 0)


def test_an_operation_inside_another_shares_its_key(manager):
    @operation
    def both(*, by, now):
        describe_firm(name="First", by=by, now=now)
        set_policy(holds_from=TODAY, reason="", by=by, now=now)

    both(by=manager, now=NOON)
    assert Entry.objects.values("operation").distinct().count() == 1
    assert Entry.objects.count() == 2


def test_record_outside_an_operation_is_a_mistake(manager):
    with pytest.raises(RuntimeError, match="outside an operation"):
        record("x", site=None, subject=manager, by=manager, now=NOON)


@pytest.mark.parametrize("fact", [1.5, TODAY, b"x", {1: "x"}, [1.0]])
def test_facts_with_more_than_one_spelling_are_refused(fact):
    with pytest.raises(TypeError):
        canonical({"fact": fact})


STABLE = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=12,
)


@given(facts=st.dictionaries(st.text(st.characters(exclude_categories=["Cs"]), max_size=8), STABLE, max_size=5))
def test_canonical_json_survives_the_database_spelling(facts):
    import json

    assert canonical(json.loads(canonical(facts))) == canonical(facts)


def test_heads_are_read_back_from_any_text():
    line = f"ledger head {UUID(int=7)} 12 {'ab' * 32}"
    assert [h.line() for h in read_heads([f"Dear all,\n> {line} \n", "nothing here"])] == [line]
