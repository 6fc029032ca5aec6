"""Nothing is forgotten when everything is taken out: each model of the program is carried, or excused with a reason."""

from django.db.models import BinaryField

from remedials.desk.bulk import kinds
from remedials.desk.bulk.heads import HEADS
from remedials.desk.bulk.workbooks import columns_of, holds
from tests.remedials.bulk_rows import SECRET_WORDS


def carried() -> list[str]:
    return [label for sheets in kinds.BOOKS.values() for label in sheets]


def test_each_model_is_carried_or_excused():
    """Who adds a model names it in remedials/desk/bulk/kinds.py: below the workbook in which people look for it, or excused."""
    known = sorted([*carried(), *kinds.SECRET_ROWS, *kinds.EXCUSED])
    assert known == sorted(kinds.label_of(model) for model in kinds.all_models())
    assert kinds.unknown() == []


def test_what_is_left_out_has_its_reason():
    reasons = kinds.EXCUSED | kinds.SECRET_ROWS
    assert [label for label, reason in reasons.items() if len(reason.split()) < 3] == []


def test_each_column_that_opens_something_is_named():
    """Columns that are called as secrets are, or hold bytes: each is one of the secrets, or said here to be none."""
    harmless = {
        "ledger.Chain.head", "ledger.Entry.previous", "ledger.Entry.hash", "ledger.Words.salt", "ledger.StoredFile.hash",
        "ledger.StoredFile.received_hash", "visits.Plan.seed",
    }  # fmt: skip
    found = {
        f"{kind.label}.{field.name}"
        for kind in kinds.kinds(secrets=False)
        for field in kind.fields
        if isinstance(field, BinaryField) or any(word in field.name.split("_") for word in SECRET_WORDS)
    }
    assert found == harmless


def test_secrets_are_columns_that_are_there():
    for label, columns in kinds.SECRET_COLUMNS.items():
        (kind,) = [kind for kind in kinds.kinds(secrets=True) if kind.label == label]
        assert set(columns) - {field.name for field in kind.fields} == set()


def test_sheets_are_named_apart_and_fit():
    """A spreadsheet program takes at most 31 characters, none of these: [ ] : * ? / and backslash."""
    for sheets in kinds.BOOKS.values():
        names = [name.lower() for name in sheets.values()]
        assert sorted(set(names)) == sorted(names)
        assert [name for name in names if len(name) > 31 or set(name) & set("[]:*?/\\")] == []


def test_words_of_heads_are_those_of_fields_that_are_there():
    """Names that stand for nothing would never be read again."""
    there = {f"{kind.label}.{field.name}" for kind in kinds.kinds(secrets=False) for field in kind.fields}
    there |= {name.rpartition(".")[2] for name in there}
    there |= {"id"}
    assert sorted(set(HEADS) - there) == []


def test_no_two_columns_of_a_sheet_have_the_same_head():
    twice = {
        kind.label: heads
        for kind in kinds.kinds(secrets=False)
        if len(set(heads := [column.head for column in columns_of(kind, {})])) != len(heads)
    }
    assert twice == {}


def test_each_kind_says_what_it_is_in_a_sentence():
    """For the contents of the workbooks: the docstring of its model."""
    said = {kind.label: holds(kind) for kind in kinds.kinds(secrets=False)}
    assert [label for label, words in said.items() if not words.endswith(".") or "(" in words.partition(" ")[0]] == []
    assert [label for label, words in said.items() if not 15 < len(words) < 250] == []
