"""An archive tells of every byte that is missing or another, whether it is encrypted or not."""

import hashlib
import io
import json
import random
import tracemalloc

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from hypothesis import given, settings
from hypothesis import strategies as st

from jobsite.running.sealed import LENGTH, MAGIC, NUMBER, PIECE, NotWhole, Reader, Writer, _stretched, key_is_weak

KEY = "correct-horse-9-battery-staple-42"
SAID = random.Random(7).randbytes(PIECE + 5000)


def written(key: str, said: bytes = SAID) -> bytes:
    file = io.BytesIO()
    writer = Writer(file, key)
    writer.write(said)
    writer.finish()
    return file.getvalue()


def read(kept: bytes, key: str) -> bytes:
    reader = Reader(io.BytesIO(kept), key)
    said = reader.read(1 << 30)
    reader.drain()
    return said


WHOLE = {"": written(""), KEY: written(KEY)}


@pytest.mark.parametrize("key", ["", KEY])
@pytest.mark.parametrize("size", [0, 1, PIECE - 1, PIECE, PIECE + 1, 3 * PIECE])
def test_what_was_written_is_read(key, size):
    said = random.Random(size).randbytes(size)
    assert read(written(key, said), key) == said


@settings(max_examples=40)
@given(st.sampled_from(["", KEY]), st.integers(min_value=0, max_value=len(WHOLE[""]) - 1), st.integers(1, 255))
def test_any_byte_altered_is_found(key, at, by):
    kept = bytearray(WHOLE[key])
    kept[at] ^= by
    with pytest.raises(NotWhole):
        read(bytes(kept), key)


@settings(max_examples=40)
@given(st.sampled_from(["", KEY]), st.integers(min_value=0, max_value=len(WHOLE[""]) - 1))
def test_any_cut_is_found(key, at):
    with pytest.raises(NotWhole):
        read(WHOLE[key][:at], key)


@pytest.mark.parametrize("key", ["", KEY])
def test_what_follows_the_end_is_found(key):
    with pytest.raises(NotWhole, match="something follows its end"):
        read(WHOLE[key] + b"x", key)


def pieces(kept: bytes) -> tuple[bytes, list[bytes]]:
    end_of_head = kept.index(b"\n", len(MAGIC)) + 1
    head, rest, found = kept[:end_of_head], kept[end_of_head:], []
    while rest:
        length = LENGTH.unpack(rest[: LENGTH.size])[0] + LENGTH.size
        found.append(rest[:length])
        rest = rest[length:]
    return head, found


@pytest.mark.parametrize("key", ["", KEY])
def test_pieces_in_another_order_twice_or_of_another_archive_are_found(key):
    head, (one, two, three) = pieces(written(key, SAID + SAID[:PIECE]))
    _, (other, *_) = pieces(written(key, bytes(len(SAID))))
    for changed in ([two, one, three], [one, one, two, three], [one, three], [other, two, three]):
        with pytest.raises(NotWhole):
            read(head + b"".join(changed), key)


@pytest.mark.parametrize(
    ("written_with", "read_with", "says"),
    [
        (KEY, KEY + "x", "BACKUP_KEY is not the key of this archive"),
        (KEY, "", "This archive is encrypted"),
        ("", KEY, "not encrypted although BACKUP_KEY is set"),
    ],
)
def test_another_key_is_told_from_an_altered_archive(written_with, read_with, says):
    with pytest.raises(NotWhole, match=says):
        read(WHOLE[written_with], read_with)


def test_something_else_is_no_archive():
    with pytest.raises(NotWhole, match="no archive"):
        read(b"PK\3\4 something else", "")


def test_encrypted_shows_nothing_of_what_it_holds():
    kept = written(KEY, b"alarm code 4711 " * 1000)
    assert b"alarm" not in kept
    assert written(KEY, b"same") != written(KEY, b"same")


def test_each_piece_is_plain_aes_gcm():
    """With the library alone: what stands in the docstring is how it is done."""
    head, (one, two) = pieces(WHOLE[KEY])
    line = head.removeprefix(MAGIC)
    sealing, _ = _stretched(KEY, bytes.fromhex(json.loads(line)["salt"]))
    about = hashlib.sha256(line).digest()
    said = AESGCM(sealing).decrypt(NUMBER.pack(0), one[LENGTH.size :], about + b"\0")
    said += AESGCM(sealing).decrypt(NUMBER.pack(1), two[LENGTH.size :], about + b"\1")
    assert said == SAID


def test_many_pieces_need_no_more_memory_than_few(tmp_path):
    path, piece = tmp_path / "long", bytes(PIECE)
    tracemalloc.start()
    with open(path, "wb") as file:
        writer = Writer(file, KEY)
        for _ in range(100):
            writer.write(piece)
        writer.finish()
    with open(path, "rb") as file:
        reader = Reader(file, KEY)
        assert sum(len(reader.read(1 << 18)) for _ in range(400)) == 100 * PIECE
        reader.drain()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 50 << 20  # scrypt itself takes 32 MB


@pytest.mark.parametrize(("key", "weak"), [("x" * 40, True), ("short", True), (KEY, False)])
def test_weak_keys(key, weak):
    assert bool(key_is_weak(key)) is weak
