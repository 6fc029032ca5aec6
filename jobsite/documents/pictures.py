"""Photographs for print: as large as they are seen on paper, no larger, so that a document can be sent from a phone."""

from io import BytesIO

from PIL import Image

MOST_PIXELS = 1000  # 85 mm wide at 300 dots an inch
QUALITY = 80


def for_print(photograph: bytes, *, most: int = MOST_PIXELS, quality: int = QUALITY) -> bytes:
    """One of our own cleaned photographs as a JPEG of at most `most` pixels a side. Raises ValueError where it is no picture."""
    try:
        with Image.open(BytesIO(photograph), formats=("JPEG",)) as picture:
            picture.draft("RGB", (most, most))
            picture.thumbnail((most, most))
            out = BytesIO()
            picture.convert("RGB").save(out, "JPEG", quality=quality)
    except OSError as error:
        raise ValueError("This is no photograph.") from error
    return out.getvalue()
