"""How the ledger's chain is made: canonical JSON and SHA-256, so that anybody can recompute it."""

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

FIRM_CHAIN = UUID(int=0)
START = bytes(32)
HEAD_LINE = re.compile(r"ledger head ([0-9a-f-]{36}) (\d+) ([0-9a-f]{64})")

STABLE = (str, int, bool, type(None))


@dataclass(frozen=True)
class Head:
    """The end of a chain as it was once seen: chain, number of the last entry, its hash in hexadecimal."""

    chain: UUID
    number: int
    hash: str

    def line(self) -> str:
        """The head as one line for a digest or a document, read back by `read_heads`."""
        return f"ledger head {self.chain} {self.number} {self.hash}"


def canonical(facts: Any) -> bytes:
    """`facts` as JSON with sorted keys and no blanks.

    Only text, whole numbers, true, false, null, lists and objects of these: a float or a date has more than
    one spelling and would break the chain when read back. Raises TypeError for anything else.
    """
    _refuse_unstable(facts)
    return json.dumps(facts, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def _refuse_unstable(value: Any) -> None:
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if not isinstance(key, str):
                raise TypeError(f"a fact's name must be text, not {key!r}")
            _refuse_unstable(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            _refuse_unstable(inner)
    elif not isinstance(value, STABLE):
        raise TypeError(f"a fact must be text, a whole number, true, false or null, not {value!r}")


def chained_hash(previous: bytes, fields: Mapping[str, Any]) -> bytes:
    """The hash of an entry: SHA-256 over the previous entry's hash followed by the entry's canonical JSON."""
    return hashlib.sha256(previous + canonical(fields)).digest()


def hashed_fields(chain: UUID, number: int, operation_id: UUID, fields: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of an entry over which its hash is taken, in the spelling that is hashed."""
    return {"chain": str(chain), "number": number, "operation": str(operation_id), **fields}


def salted_digest(text: str, salt: bytes) -> str:
    """The digest that stands in the ledger for words kept beside it; it says nothing once the salt is erased."""
    return hashlib.sha256(salt + text.encode()).hexdigest()


def read_heads(texts: Iterable[str]) -> list[Head]:
    """Every head named in `texts` (digests, documents)."""
    found = (match for text in texts for match in HEAD_LINE.finditer(text))
    return [Head(UUID(match[1]), int(match[2]), match[3]) for match in found]
