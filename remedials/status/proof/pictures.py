"""The photographs of a document, as small as they are seen on paper."""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor

from jobsite.documents.pictures import for_print
from jobsite.ledger.files import read_file
from jobsite.ledger.models import StoredFile

MOST = 240
"""Photographs in one document; what is more is said to be on record."""
MOST_BYTES = 14 * 1024 * 1024  # of its photographs together; an e-mail takes little more
AT_ONCE = 2
SIDE, QUALITY = 640, 74  # pixels: 67 mm at 240 dots an inch, some 70 kB
SMALLER = 480  # where a document's photographs together would be too heavy


def read_pictures(wanted: Mapping[str, str]) -> dict[str, bytes]:
    """The photographs for print by their names in the document; `wanted` says which stored file each is. One statement.

    One that storage lost is left out: the template says so in its place, and the document is had all the same.
    """
    files = StoredFile.objects.in_bulk(set(wanted.values()))
    known = {name: files[key] for name, key in wanted.items() if key in files}
    with ThreadPoolExecutor(AT_ONCE) as pool:  # decoding waits for no lock of the interpreter
        read = dict(zip(known, pool.map(_one, known.values()), strict=True))
        found = {name: data for name, data in read.items() if data}
        if sum(map(len, found.values())) > MOST_BYTES:
            found = dict(zip(found, pool.map(_smaller, found.values()), strict=True))
    return found


def _one(stored: StoredFile) -> bytes:
    try:
        return for_print(read_file(stored), most=SIDE, quality=QUALITY)
    except (OSError, ValueError):  # what is no picture would stop the whole document
        return b""


def _smaller(data: bytes) -> bytes:
    return for_print(data, most=SMALLER, quality=68)
