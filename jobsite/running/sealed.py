"""A long stream of bytes in a file that tells whether it is whole: with a key also read by nobody else, and by nobody altered.

A head of two lines, then pieces of at most a megabyte, each behind its length and whether it is the last. So ten gigabytes
need no more memory than one of them, and neither a cut nor another order, nor anything before or after, passes.

With a key each piece is sealed by AES-256-GCM of the library `cryptography`; its number is the nonce, that it is the last
stands in what is authenticated besides (the construction of Hoang, Reyhanitabar, Rogaway and Vizár, 2015: from memory). The
key is stretched by scrypt (RFC 7914) with a salt of the archive's own, so that no nonce meets a key twice.

Without a key each piece ends with the SHA-256 of all up to it: that finds what was damaged, never what somebody changed who
reckoned it anew.
"""

import hashlib
import json
import os
import struct
from collections.abc import Iterator
from typing import IO, Protocol

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

MAGIC = b"jobsite backup 1\n"
PIECE = 1 << 20
LONGEST_HEAD = 1000
LENGTH = struct.Struct(">IB")
NUMBER = struct.Struct(">4xQ")  # the twelve bytes of a nonce
LEAST_KEY = 24  # characters
LEAST_DIFFERENT = 10


class NotWhole(Exception):
    """The archive cannot be read; the text says why in words for whoever has it in hand."""


ALTERED = "This archive is damaged or was altered"
CUT = "This archive is not complete: its end is missing. Copy it again from where it was kept."


def key_is_weak(key: str) -> str:
    """Why `key` is none to seal an archive with, or ""."""
    if len(key) < LEAST_KEY or len(set(key)) < LEAST_DIFFERENT:
        return f"BACKUP_KEY must be at least {LEAST_KEY} characters of random text: make one with manage.py backup --new-key"
    return ""


class _Pieces(Protocol):
    """How one piece is written and read back, by its number, whether it is the last, and what it says."""

    def close(self, number: int, last: bool, said: bytes) -> bytes: ...

    def open(self, number: int, last: bool, kept: bytes) -> bytes: ...


class _Sealed:
    def __init__(self, key: bytes, head: bytes) -> None:
        self.cipher, self.head = AESGCM(key), hashlib.sha256(head).digest()

    def close(self, number: int, last: bool, said: bytes) -> bytes:
        return self.cipher.encrypt(NUMBER.pack(number), said, self.head + bytes([last]))

    def open(self, number: int, last: bool, kept: bytes) -> bytes:
        try:
            return self.cipher.decrypt(NUMBER.pack(number), kept, self.head + bytes([last]))
        except InvalidTag:
            raise NotWhole(f"{ALTERED} (at piece {number + 1}).") from None


class _Plain:
    def __init__(self, head: bytes) -> None:
        self.so_far = hashlib.sha256(head).digest()

    def close(self, number: int, last: bool, said: bytes) -> bytes:
        self.so_far = hashlib.sha256(self.so_far + bytes([last]) + said).digest()
        return said + self.so_far

    def open(self, number: int, last: bool, kept: bytes) -> bytes:
        said, digest = kept[:-32], kept[-32:]
        if len(kept) < 32 or self.close(number, last, said)[-32:] != digest:
            raise NotWhole(f"{ALTERED} (at piece {number + 1}).")
        return said


def _stretched(key: str, salt: bytes) -> tuple[bytes, bytes]:
    """What seals, and what tells that a key is another one without telling the key."""
    made = hashlib.scrypt(key.encode(), salt=salt, n=2**15, r=8, p=1, maxmem=64 * 1024 * 1024, dklen=48)
    return made[:32], made[32:]


class Writer:
    """A file that takes bytes; nothing in it counts before `finish`."""

    def __init__(self, file: IO[bytes], key: str) -> None:
        self.file, self.number, self.held = file, 0, bytearray()
        salt = os.urandom(16)
        head: dict[str, object] = {"sealed": bool(key)}
        if key:
            sealing, check = _stretched(key, salt)
            head |= {"salt": salt.hex(), "check": check.hex()}
        line = json.dumps(head, sort_keys=True).encode() + b"\n"
        self.pieces: _Pieces = _Sealed(sealing, line) if key else _Plain(line)
        file.write(MAGIC + line)

    def write(self, said: bytes) -> int:
        """Take `said`, of any length."""
        self.held += said
        while len(self.held) > PIECE:
            self._put(bytes(self.held[:PIECE]), last=False)
            del self.held[:PIECE]
        return len(said)

    def finish(self) -> None:
        """Write the last piece."""
        self._put(bytes(self.held), last=True)
        self.held.clear()

    def _put(self, said: bytes, *, last: bool) -> None:
        kept = self.pieces.close(self.number, last, said)
        self.file.write(LENGTH.pack(len(kept), last) + kept)
        self.number += 1


class Reader:
    """What a `Writer` took, in order. Raises NotWhole with a sentence at the first byte that cannot be believed."""

    def __init__(self, file: IO[bytes], key: str) -> None:
        self.pieces = self._checked(file, key)
        self.left = b""
        self.rest = self._read(file)

    def _checked(self, file: IO[bytes], key: str) -> _Pieces:
        if file.read(len(MAGIC)) != MAGIC:
            raise NotWhole("This is no archive of manage.py backup.")
        line = file.readline(LONGEST_HEAD)
        try:
            head = json.loads(line)
            sealed, salt, check = head["sealed"], bytes.fromhex(head.get("salt", "")), head.get("check")
        except (ValueError, KeyError, TypeError, AttributeError):
            raise NotWhole(f"{ALTERED} (at its head).") from None
        if not sealed:
            if key:
                raise NotWhole(
                    "This archive is not encrypted although BACKUP_KEY is set: somebody may have put it in the place of "
                    "yours. If it is the right one, take BACKUP_KEY out of the environment."
                )
            return _Plain(line)
        if not key:
            raise NotWhole("This archive is encrypted: put its key into the environment as BACKUP_KEY.")
        sealing, right = _stretched(key, salt)
        if right.hex() != check:
            raise NotWhole("BACKUP_KEY is not the key of this archive.")
        return _Sealed(sealing, line)

    def _read(self, file: IO[bytes]) -> Iterator[bytes]:
        number, last = 0, False
        while not last:
            length, last = self._length(file)
            kept = file.read(length)
            if len(kept) < length:
                raise NotWhole(CUT)
            yield self.pieces.open(number, last, kept)
            number += 1
        if file.read(1):
            raise NotWhole(f"{ALTERED}: something follows its end.")

    @staticmethod
    def _length(file: IO[bytes]) -> tuple[int, bool]:
        head = file.read(LENGTH.size)
        if len(head) < LENGTH.size:
            raise NotWhole(CUT)
        length, last = LENGTH.unpack(head)
        if length > PIECE + 64 or last not in (0, 1):
            raise NotWhole(f"{ALTERED}.")
        return length, bool(last)

    def read(self, size: int) -> bytes:
        """The next `size` bytes; fewer only at the end."""
        while len(self.left) < size and (more := next(self.rest, None)) is not None:
            self.left += more
        said, self.left = self.left[:size], self.left[size:]
        return said

    def drain(self) -> None:
        """Read on to the end: only then all of it is known to be whole."""
        self.left = b""
        for _ in self.rest:
            pass
