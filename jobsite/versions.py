"""Which version of style and scripts the pages stand in: it is part of every static address."""

import hashlib
from collections.abc import Iterable
from importlib.metadata import version
from pathlib import Path

ROOTS = ("jobsite", "inspections", "remedials")
OTHERS = ("django-htmx",)  # packages whose scripts our pages load


def static_files(top: Path) -> list[Path]:
    """Every static file of ours below `top`, in an order that does not depend on the machine."""
    found = [path for root in ROOTS for path in (top / root).rglob("static/**/*") if path.is_file()]
    return sorted(found, key=lambda path: path.relative_to(top).as_posix())


def static_version(top: Path, others: Iterable[str] = OTHERS) -> str:
    """Twelve digits that change with any static file: so an old page never meets a new script, nor a new page an old one.

    Modules import each other by neighbouring addresses, which therefore change as well: no name within a file need be
    rewritten. The same files give the same digits, whatever the machine.
    """
    digest = hashlib.sha256()
    for path in static_files(top):
        digest.update(path.relative_to(top).as_posix().encode() + b"\0")
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    for name in others:
        digest.update(f"{name} {version(name)}".encode() + b"\0")
    return digest.hexdigest()[:12]
