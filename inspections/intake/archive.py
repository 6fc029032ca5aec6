"""Looks into a file before any spreadsheet library does: what is it, and would unpacking it do harm?"""

from __future__ import annotations

import re
import zipfile
from io import BytesIO

from jobsite.refused import Refused

MOST_BYTES = 10 * 1024 * 1024
MOST_UNPACKED = 100 * 1024 * 1024
MOST_MEMBERS = 2_000
MOST_RATIO = 250
"""A sheet of rows that are all alike shrinks by 50 to 100; a bomb of zeros by 1,000."""

OLD_BINARY = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""Head of the compound files that older office programs wrote, and that hold a file saved with a password."""
ENCRYPTED = "EncryptedPackage".encode("utf-16-le")

NAMED = (
    (
        b"%PDF",
        "This is a PDF, not a spreadsheet. Ask for the spreadsheet it was made from, or type it into the template.",
    ),
    (b"\xff\xd8\xff", "This is a picture, not a spreadsheet."),
    (b"\x89PNG", "This is a picture, not a spreadsheet."),
    (b"{\\rtf", "This is a text document, not a spreadsheet."),
    (b"Rar!", "This is a packed folder. Unpack it and send the spreadsheet itself."),
    (b"7z\xbc\xaf", "This is a packed folder. Unpack it and send the spreadsheet itself."),
)
TOO_MUCH = "This file unpacks to far more than a list of boards or observations needs, so it wasn't opened."
DAMAGED = "This file is damaged: it can't be read as a spreadsheet. Open it, save it again as XLSX, and send that."


def refuse_by_head(data: bytes) -> None:
    """Refuses a file whose size or first bytes already say that it isn't a readable spreadsheet."""
    if not data.strip():
        raise Refused("This file is empty.")
    if len(data) > MOST_BYTES:
        raise Refused(
            f"This file is larger than {MOST_BYTES // 1024 // 1024} MB. Send only the sheets that list the boards or observations."
        )
    if data.startswith(OLD_BINARY):
        raise Refused(
            "This spreadsheet is protected by a password. Save it without one and send it again."
            if ENCRYPTED in data
            else "This is a spreadsheet in the old XLS form. Open it, save it as XLSX, and send that."
        )
    for head, sentence in NAMED:
        if data.startswith(head):
            raise Refused(sentence)


def is_packed(data: bytes) -> bool:
    """Whether the bytes begin as a zip archive does, as XLSX files are."""
    return data.startswith((b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08"))


def open_archive(data: bytes) -> zipfile.ZipFile:
    """The archive, once its members are known to be few, of bearable size and those of a workbook.

    `zipfile` never gives out more than the size a member declares, so the declared sizes can be judged.
    """
    try:
        archive = zipfile.ZipFile(BytesIO(data))
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
        raise Refused(DAMAGED) from error
    _refuse_bomb(archive.infolist())
    _refuse_other_kinds(archive)
    return archive


def _refuse_bomb(members: list[zipfile.ZipInfo]) -> None:
    if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
        raise Refused(TOO_MUCH)
    for member in members:
        if member.flag_bits & 1:
            raise Refused("This file is protected by a password. Save it without one and send it again.")
        if member.file_size > 1_000_000 and member.file_size > MOST_RATIO * max(member.compress_size, 1):
            raise Refused(TOO_MUCH)


def _refuse_other_kinds(archive: zipfile.ZipFile) -> None:
    names = set(archive.namelist())
    if "xl/workbook.bin" in names:
        raise Refused("This is a spreadsheet in the binary XLSB form. Open it, save it as XLSX, and send that.")
    if "content.xml" in names and "mimetype" in names:
        raise Refused("This is an OpenDocument file. Open it, save it as XLSX or CSV, and send that.")
    if "[Content_Types].xml" not in names:
        raise Refused("This is a packed folder, not a spreadsheet. Unpack it and send the spreadsheet itself.")
    if not any(re.match(r"(?i)^/?xl/", name) for name in names):
        raise Refused("This isn't a spreadsheet. Send an XLSX or CSV file.")
