"""Photographs for print: as large as they are seen on paper, no larger, so that a document can be sent from a phone."""

from io import BytesIO

from PIL import Image

MOST_PIXELS = 1000  # 85 mm wide at 300 dots an inch
QUALITY = 80


def for_print(photograph: bytes) -> bytes:
    """One of our own cleaned photographs as a smaller JPEG. Raises ValueError where it is no picture."""
    try:
        with Image.open(BytesIO(photograph), formats=("JPEG",)) as picture:
            picture.draft("RGB", (MOST_PIXELS, MOST_PIXELS))
            picture.thumbnail((MOST_PIXELS, MOST_PIXELS))
            out = BytesIO()
            picture.convert("RGB").save(out, "JPEG", quality=QUALITY)
    except OSError as error:
        raise ValueError("This is no photograph.") from error
    return out.getvalue()
