"""Files of somebody who means ill, at each kind of door that takes one; and how what was taken is given out again."""

import inspect
import struct
import zipfile
import zlib
from io import BytesIO

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from inspections.intake.reading import read_workbook
from jobsite.downloads import as_received
from jobsite.fields import PaperField
from jobsite.ledger.files import path_of, store_file
from jobsite.ledger.photographs import clean_photograph
from jobsite.refused import Refused
from tests.factories import NOON, picture

SVG = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"
PAGE = b"<!doctype html><script>alert(1)</script>"


def png_of(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is that large: what a bomb is made of."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


def animated() -> bytes:
    out = BytesIO()
    one, two = Image.new("RGB", (9, 9), "red"), Image.new("RGB", (9, 9), "blue")
    one.save(out, "PNG", save_all=True, append_images=[two])
    return out.getvalue()


def saved_as(kind: str, size: tuple[int, int] = (9, 9), mode: str = "RGB") -> bytes:
    out = BytesIO()
    Image.new(mode, size).save(out, kind)
    return out.getvalue()


NO_PHOTOS = {
    "GIF that can be read": saved_as("GIF"),
    "TIFF that can be read": saved_as("TIFF"),
    "drawing that runs": SVG,
    "page": PAGE,
    "program": b"MZ\x90\x00" + b"\0" * 200,
    "script": b"#!/bin/sh\nrm -rf /\n",
    "PDF": b"%PDF-1.7\n",
    "GIF": b"GIF89a" + b"\0" * 50,
    "BMP": b"BM" + b"\0" * 100,
    "PostScript, which a library would run": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 1 1\n",
    "head of a photo before a page": b"\xff\xd8\xff\xe0" + PAGE,
    "cut short": picture(kind="JPEG")[:200],
    "bomb of pixels": png_of(60_000, 60_000),
    "just too many pixels, all of them there": saved_as("PNG", (5_001, 5_000), "1"),
    "moving": animated(),
    "HEIC": b"\0\0\0\x18ftypheic" + b"\0" * 50,
    "nothing": b"",
}


@pytest.mark.parametrize("what", NO_PHOTOS)
def test_what_is_no_still_photo_is_refused(what):
    with pytest.raises(Refused) as refused:
        clean_photograph(NO_PHOTOS[what])
    assert refused.value.sentence.endswith(".")
    assert refused.value.field == "photo"


def test_more_bytes_than_a_photo_has_are_refused_before_they_are_looked_at():
    with pytest.raises(Refused, match="larger than 20 MB"):
        clean_photograph(b"\xff\xd8" + b"\0" * (20 * 1024 * 1024))


def test_of_a_photo_nothing_is_kept_but_its_picture_and_its_time():
    """A page in its comment, the place in its EXIF, bytes after its end: all are gone."""
    out = BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "<script>alert(1)</script>"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    exif.get_ifd(0x8769)[0x9003] = "2026:02:03 10:00:00"
    Image.new("RGB", (60, 40), "grey").save(out, "JPEG", exif=exif, comment=PAGE)
    cleaned = clean_photograph(out.getvalue() + b"PK\x03\x04" + PAGE)
    assert b"<script" not in cleaned.data
    assert b"PK\x03\x04" not in cleaned.data
    kept = Image.open(BytesIO(cleaned.data)).getexif()
    assert dict(kept.get_ifd(0x8825)) == {}
    assert (cleaned.taken, cleaned.width, cleaned.height) == ("2026:02:03 10:00:00", 60, 40)


@pytest.mark.parametrize("data", [SVG, PAGE, b"MZ\x90\0", b"PK\x03\x04", b" %PDF-1.7", picture(kind="JPEG"), b"%PDF"])
def test_what_does_not_begin_as_a_pdf_is_no_paper(data):
    with pytest.raises(forms.ValidationError, match=r"This file is not a PDF\."):
        PaperField(label="Paper").clean(SimpleUploadedFile("paper.pdf", data, "application/pdf"))


def test_a_paper_larger_than_20_mb_is_refused():
    large = SimpleUploadedFile("paper.pdf", b"%PDF-1.7")
    large.size = 20 * 1024 * 1024 + 1
    with pytest.raises(forms.ValidationError, match=r"larger than 20 MB\."):
        PaperField(label="Paper").clean(large)


def packed(**members: bytes) -> bytes:
    out = BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name.replace("__", "/"), data)
    return out.getvalue()


NO_LISTS = {
    "bomb of zeros": packed(xl__worksheets__sheet1=b"\0" * 30_000_000),
    "thousands of members": packed(**{f"m{n}": b"" for n in range(2_100)}),
    "archive of something else": packed(word__document=b"<a/>"),
    "old binary with macros": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
    "PDF": b"%PDF-1.7",
    "photo": picture(kind="JPEG"),
    "RTF": b"{\\rtf1}",
    "entities": packed(
        **{"[Content_Types].xml": b'<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><Types>&x;</Types>'}
    ),
    "too large": b"a,b\n" * 3_000_000,
}


@pytest.mark.parametrize("what", NO_LISTS)
def test_what_is_no_list_is_refused(what):
    with pytest.raises(Refused) as refused:
        read_workbook(NO_LISTS[what], "boards.xlsx")
    assert refused.value.sentence


def test_a_bomb_is_not_opened():
    with pytest.raises(Refused, match="unpacks to far more than a list"):
        read_workbook(NO_LISTS["bomb of zeros"], "boards.xlsx")


def test_a_list_of_more_bytes_than_any_is_refused_by_its_size():
    with pytest.raises(Refused, match="larger than 10 MB"):
        read_workbook(NO_LISTS["too large"], "boards.csv")


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd",
        "page.html",
        'a"; filename="b.exe',
        "a\r\nX-Evil: 1.html",
        "ünï.svg",
        ".htaccess",
        "x" * 500,
        "",
    ],
)
def test_what_was_sent_comes_back_as_a_download_that_runs_nowhere(name):
    answer = as_received(PAGE, name)
    assert answer.content == PAGE
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"].startswith("sandbox; default-src 'none'")
    said = answer["Content-Disposition"]
    assert said.startswith('attachment; filename="')
    inner = said.removeprefix('attachment; filename="').removesuffix('"')
    assert inner.replace("-", "").replace(".", "", 1).isalnum()
    assert inner.isascii()
    assert len(inner) <= 111


@pytest.mark.django_db
def test_a_file_lies_under_its_hash_and_never_under_a_name_of_somebodys(settings):
    stored = store_file(PAGE, media_type="application/octet-stream", now=NOON)
    assert path_of(stored.hash) == f"{stored.hash[:2]}/{stored.hash[2:4]}/{stored.hash}"
    assert len(stored.hash) == 64
    assert list(inspect.signature(path_of).parameters) == ["content_hash"]
    where = str(settings.STORAGES["default"]["OPTIONS"]["location"])
    assert not where.startswith(str(settings.STATIC_ROOT))
    assert not str(settings.STATIC_ROOT).startswith(where)


@pytest.mark.django_db
def test_more_fields_or_bytes_than_a_form_has_are_refused(client, office, settings):
    client.force_login(office)
    many = "&".join(f"a{n}=1" for n in range(settings.DATA_UPLOAD_MAX_NUMBER_FIELDS + 1))
    form = {"content_type": "application/x-www-form-urlencoded"}
    assert client.post("/sites/new/", many, **form).status_code == 400
    assert client.post("/sites/new/", "a=" + "x" * (5 * 1024 * 1024 + 1), **form).status_code == 400


@pytest.mark.django_db
def test_a_photo_is_given_out_as_one_and_as_nothing_else(client, office, site):
    from tests import factories as make
    from tests.faults.test_links import picture_of

    client.force_login(office)
    photo = picture_of(make.make_observation(site))
    answer = client.get(f"/photos/{photo.pk}/")
    assert (answer.status_code, answer["Content-Type"]) == (200, "image/jpeg")
    assert Image.open(BytesIO(answer.content)).format == "JPEG"
    assert answer["X-Content-Type-Options"] == "nosniff"
