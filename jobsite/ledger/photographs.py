"""Photographs from strangers' phones: decoded, turned upright, stripped of all but the time taken, made anew."""

import struct
import warnings
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO

from PIL import ExifTags, Image, ImageOps

from jobsite.ledger.files import store_file
from jobsite.ledger.models import StoredFile
from jobsite.refused import Refused

MOST_BYTES = 20 * 1024 * 1024
MOST_PIXELS = 25_000_000
LONGEST_SIDE = 2048
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
