"""PDF documents: facts as JSON into a Typst template, set by a child process of its own.

The same facts make the same bytes: the instant is passed in, fonts are the package's and never the machine's, nothing is
fetched. A child process, because the compiler never gives memory back, and so that a monstrous document can be stopped.
Every page carries a fingerprint of the facts; the ledger's heads stand on the last page and in the file's keywords, where
`manage.py check_ledger FILE` finds them.
"""

import hashlib
import json
import subprocess
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from importlib.util import find_spec
from pathlib import Path
from shutil import copyfile
from tempfile import TemporaryDirectory
from typing import Any

from jobsite.documents.printing import printable
from jobsite.ledger.rules import Head, canonical
from jobsite.refused import Refused
from jobsite.words import when

__all__ = ["PDF", "Made", "fonts", "make_document"]

PDF = "application/pdf"
HERE = Path(__file__).resolve().parent
SHARED = HERE / "house.typ"
# Upright faces only: the italic ones lack letters that names need. SIL Open Font License 1.1, the text beside the fonts.
FACES = ("SourceSansPro-Regular.ttf", "SourceSansPro-Semibold.ttf", "SourceSansPro-Bold.ttf")
SECONDS = 20
MEGABYTES = 1500  # of addresses, of which a document of 120 photographs uses a quarter
# So that the limit of memory means the same on a machine of many cores.
ENVIRONMENT = {"RAYON_NUM_THREADS": "2", "MALLOC_ARENA_MAX": "2"}
TOO_MUCH = "This document is too large to be made: choose less, or fewer pictures."
GIVEN_UP = 75  # the child's exit code where it met one of its limits (EX_TEMPFAIL of sysexits.h)


class NotSet(RuntimeError):
    """A template and its facts do not make a document: a mistake of ours."""


@dataclass(frozen=True)
class Made:
    """A document: the file, and the fingerprint of its facts as hexadecimal SHA-256."""

    pdf: bytes
    fingerprint: str


def make_document(
    template: Path,
    facts: Mapping[str, Any],
    *,
    title: str,
    about: str,
    firm: str,
    now: datetime,
    heads: Iterable[Head] = (),
    pictures: Mapping[str, bytes] | None = None,
) -> Made:
    """Set `template` with `facts` (text, whole numbers, true, false, none, lists, dicts of these).

    `about` stands at the foot of each page: the site. `pictures` are files beside the template, by name (JPEG or SVG of
    our own making). `now` is the instant that the document bears. Raises Refused where it grows beyond all measure.
    """
    pictures = pictures or {}
    data = printable(
        {
            "title": title,
            "about": about,
            "firm": firm,
            "made": when(now),
            "heads": [head.line() for head in heads],
            "facts": dict(facts),
        }
    )
    hashes = {name: hashlib.sha256(content).hexdigest() for name, content in pictures.items()}
    fingerprint = hashlib.sha256(canonical({**data, "pictures": hashes})).hexdigest()
    data["fingerprint"] = " ".join(fingerprint[at : at + 4] for at in range(0, 16, 4))
    with TemporaryDirectory(prefix="document-") as folder:
        root = Path(folder)
        copyfile(SHARED, root / SHARED.name)
        copyfile(template, root / "main.typ")
        (root / "data.json").write_text(json.dumps(data))
        for name, content in pictures.items():
            (root / name).write_bytes(content)
        return Made(_set(root, now), fingerprint)


def fonts() -> list[Path]:
    """The files of the fonts that documents are set in."""
    found = find_spec("font_source_sans_pro")
    if found is None or found.origin is None:
        raise NotSet("The package font-source-sans-pro is not installed.")
    return [Path(found.origin).parent / "files" / face for face in FACES]


def _set(root: Path, now: datetime) -> bytes:
    """The PDF of the template in `root`."""
    # Only the faces named go into the folder: the package has each twice, and which one is met first is chance.
    (root / "fonts").mkdir()
    for face in fonts():
        copyfile(face, root / "fonts" / face.name)
    command = [sys.executable, "-I", str(HERE / "child.py"), str(root), str(int(now.timestamp())), str(MEGABYTES)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=SECONDS, check=False, env=ENVIRONMENT, cwd=root)
    except subprocess.TimeoutExpired:
        raise Refused(TOO_MUCH) from None
    if done.returncode < 0 or done.returncode == GIVEN_UP:
        raise Refused(TOO_MUCH)
    if done.returncode:
        raise NotSet(done.stderr.decode(errors="replace").strip())
    return (root / "out.pdf").read_bytes()
