"""Files by content: byte for byte, or not at all."""

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction

from jobsite.ledger.files import path_of, read_file, store_file
from jobsite.ledger.models import StoredFile
from tests.factories import NOON

pytestmark = pytest.mark.django_db
DATA = b"boards and circuits"
# SHA-256 of DATA by coreutils' sha256sum.
HASH = "f582332ada5bc9522a149cb16da37d0be8a698ed44fd8d9bcb204e1a2e58f7b9"


def kept():
    return store_file(DATA, media_type="text/csv", now=NOON)


def test_a_file_comes_back_byte_for_byte() -> None:
    stored = kept()
    assert (stored.hash, stored.size, read_file(stored)) == (HASH, len(DATA), DATA)


def test_the_same_content_is_kept_once() -> None:
    kept()
    kept()
    assert StoredFile.objects.count() == 1
    assert default_storage.listdir(path_of(HASH).rpartition("/")[0]) == ([], [HASH])


def test_half_a_file_left_by_a_crash_is_mended() -> None:
    default_storage.delete(path_of(HASH))
    default_storage.save(path_of(HASH), ContentFile(DATA[:7]))
    assert read_file(kept()) == DATA


def test_a_file_that_was_altered_in_storage_is_not_handed_out() -> None:
    stored = kept()
    default_storage.delete(path_of(HASH))
    default_storage.save(path_of(HASH), ContentFile(DATA.upper()))
    with pytest.raises(ValueError, match="is not what was stored"):
        read_file(stored)
    default_storage.delete(path_of(HASH))


def test_nothing_is_no_file() -> None:
    with pytest.raises(IntegrityError, match="stored_file_not_empty"), transaction.atomic():
        store_file(b"", media_type="text/csv", now=NOON)
