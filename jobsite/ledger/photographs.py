"""Photographs from strangers' phones: decoded, turned upright, stripped of all but the time taken, made anew."""

import hashlib
import struct
import warnings
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import ExifTags, Image, ImageOps

from jobsite.ledger.files import path_of, read_file, store_file
from jobsite.ledger.models import StoredFile
from jobsite.refused import Refused

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 25_000_000
LONGEST_SIDE = 2048
SMALL_SIDE = 800
CARD_SIDE = 480  # two beside each other on a phone of the sharpest kind
SMALL_QUALITY = 68  # a picture of 800 × 600 then has about 70 kB: forty of them fit on a phone with a day's pages
DIGEST_BYTES = 32
UNREADABLE = (
    OSError, SyntaxError, ValueError, KeyError, TypeError, IndexError, EOFError, OverflowError, ZeroDivisionError,
    MemoryError, AttributeError, struct.error, Image.DecompressionBombError, Warning,
)  # fmt: skip


@dataclass(frozen=True)
class Photograph:
    """A cleaned JPEG; `taken` is the camera's own local time, or "" where it says none."""

    data: bytes
    width: int
    height: int
    taken: str


def clean_photograph(data: bytes) -> Photograph:
    """Decode `data` (JPEG, PNG or WebP) and write it anew as an upright JPEG of at most 2048 pixels a side.

    Raises Refused for anything that is not a single still photograph of at most 20 MB and 25 megapixels.
    """
    if len(data) > MOST_BYTES:
        raise Refused("This photo is larger than 20 MB. Take it at a lower resolution.", field="photo")
    if data[4:8] == b"ftyp" and data[8:12] in {b"heic", b"heix", b"mif1", b"msf1"}:
        raise Refused("This is an HEIC photo. Set the camera to JPEG, or choose the photo as JPEG.", field="photo")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            return _redrawn(data)
    except UNREADABLE as error:
        raise Refused("This file is not a photo that can be read (JPEG, PNG or WebP).", field="photo") from error


def _redrawn(data: bytes) -> Photograph:
    with Image.open(BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as opened:
        if getattr(opened, "n_frames", 1) > 1 or opened.width * opened.height > MOST_PIXELS:
            raise ValueError("moving or too large")
        taken = str(opened.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal) or "")[:19]
        opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        image: Image.Image = ImageOps.exif_transpose(opened)
        image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        image = _on_white(image)
    image.info = {}  # the library would write a comment that the camera left, or somebody's page in its place, once more
    exif = Image.Exif()
    if taken:
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken
    out = BytesIO()
    image.save(out, "JPEG", quality=82, exif=exif)
    return Photograph(out.getvalue(), image.width, image.height, taken)


def _on_white(image: Image.Image) -> Image.Image:
    """Without its transparency: `convert` alone would show what lies under it."""
    if "A" not in image.getbands() and "transparency" not in image.info:
        return image.convert("RGB")
    layer = image.convert("RGBA")
    ground = Image.new("RGB", layer.size, "white")
    ground.paste(layer, mask=layer.getchannel("A"))
    return ground


def store_photograph(data: bytes, *, now: datetime) -> tuple[StoredFile, Photograph]:
    """Clean `data` and keep it. Raises Refused as `clean_photograph` does."""
    photograph = clean_photograph(data)
    return store_file(photograph.data, media_type="image/jpeg", now=now, received=data), photograph


# --- small ones, for phones -------------------------------------------------------------------------------------------


def small(stored: StoredFile, side: int = SMALL_SIDE) -> bytes:
    """The photograph `stored` as a JPEG of at most `side` pixels a side, made once and kept below `small/` of the storage.

    It proves nothing and can be made again: what was stored stays as it is. Raises OSError and ValueError as `read_file`
    does. What cannot be decoded comes back as it is.
    """
    path = f"small/{'' if side == SMALL_SIDE else f'{side}/'}{path_of(stored.hash)}"
    if kept := _kept(path):
        return kept
    whole = read_file(stored)
    try:
        data = _shrunk(whole, side)
    except UNREADABLE:
        return whole
    with suppress(OSError):  # a full disk keeps nothing; the picture is shown all the same
        _keep_small(path, data)
    return data


def _shrunk(whole: bytes, side: int) -> bytes:
    with Image.open(BytesIO(whole), formats=("JPEG", "PNG", "WEBP")) as opened:
        opened.draft("RGB", (side, side))
        image: Image.Image = ImageOps.exif_transpose(opened)
        image.thumbnail((side, side))
        out = BytesIO()
        _on_white(image).save(out, "JPEG", quality=SMALL_QUALITY, optimize=True, progressive=True)
    return out.getvalue()


def _kept(path: str) -> bytes:
    """What was kept there, b"" where nothing was, or not whole: its digest stands behind the picture's end."""
    try:
        with default_storage.open(path) as file:
            kept: bytes = file.read()
    except OSError:
        return b""
    data, digest = kept[:-DIGEST_BYTES], kept[-DIGEST_BYTES:]
    return data if hashlib.sha256(data).digest() == digest else b""


def _keep_small(path: str, data: bytes) -> None:
    if default_storage.exists(path):
        default_storage.delete(path)  # `_kept` found it broken
    if (name := default_storage.save(path, ContentFile(data + hashlib.sha256(data).digest()))) != path:
        default_storage.delete(name)  # somebody else's request was faster
