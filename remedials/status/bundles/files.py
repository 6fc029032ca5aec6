"""The files that entries name by their hash: read byte for byte, as far as they are still there."""

import mimetypes
import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from jobsite.ledger.files import read_file
from jobsite.ledger.models import StoredFile
from jobsite.refused import Refused
from remedials.status.bundles.naming import Names
from remedials.status.bundles.rules import Told
from remedials.status.record.history import verbs

HASH = re.compile(r"[0-9a-f]{64}")
NO_FILES = frozenset({"head", "fingerprint"})
OWN_ARCHIVES = frozenset({"bundle", "assessor", "customer"})
"""Kinds of documents that are archives themselves: one that held the others would grow without end."""
MOST_BYTES = 300_000_000  # it is put together in memory, twice over
TOO_MUCH = "The files of this come to more than 300 MB: choose an earlier date, or fewer jobs."


def named_in(told: Told) -> Iterator[str]:
    """The hashes of files that an entry names."""
    if told.verb == "document.made" and told.facts.get("kind") in OWN_ARCHIVES:
        return
    yield from _hashes(told.facts)


def _hashes(facts: Mapping[str, Any]) -> Iterator[str]:
    for name, value in facts.items():
        if name.endswith("_digest") or name in NO_FILES:
            continue
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, dict):
                yield from _hashes(one)
            elif isinstance(one, str) and HASH.fullmatch(one):
                yield one


def files_of(entries: Iterable[Told], names: Names, besides: Mapping[str, str]) -> tuple[dict[str, bytes], bytes]:
    """The files by their paths in the archive, and a list in words of what each is.

    `besides`: files that no entry names, by hash, with what they are. Raises Refused where they are too much for one archive. One
    statement besides the reading of the files.
    """
    what: dict[str, list[str]] = {key: [words] for key, words in besides.items()}
    for told in entries:
        for key in named_in(told):
            words = f"[{names.ref(told)}] {verbs().get(told.verb, told.verb)}: {names.of(told.subject, told.kind)}"
            what.setdefault(key, []).append(words)
    rows = list(StoredFile.objects.filter(pk__in=what).order_by("hash"))
    if sum(row.size for row in rows) > MOST_BYTES:
        raise Refused(TOO_MUCH)
    files, lines = dict[str, bytes](), list[str]()
    for row in rows:
        path = f"files/{row.hash}{mimetypes.guess_extension(row.media_type) or '.bin'}"
        try:
            files[path] = read_file(row)
            lines.append(path)
        except (OSError, ValueError) as error:
            lines.append(f"{path}  IS MISSING: {'altered in the storage' if isinstance(error, ValueError) else 'lost'}")
        lines += [f"    {words}" for words in what[row.hash]]
    return files, ("\n".join(lines or ["No file was on record."]) + "\n").encode()
