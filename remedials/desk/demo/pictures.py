"""Drawn stand-ins for photographs: a board before and after, so that the demo shows where pictures go."""

from functools import cache
from io import BytesIO

from PIL import Image, ImageDraw

SIZE = (1024, 768)
GROUND, CASE, DARK, COPPER = "#8d8778", "#e9e6dc", "#26221d", "#b06a2c"
WAYS = range(8)


def before_picture(kind: str) -> bytes:
    """As found: "blank" a missing blank, "cover" a missing cover, "gland" a cable without a gland, else a bare clamp."""
    return _drawn(kind, mended=False)


def after_picture(kind: str) -> bytes:
    """The same place after the work."""
    return _drawn(kind, mended=True)


@cache
def _drawn(kind: str, *, mended: bool) -> bytes:
    image = Image.new("RGB", SIZE, GROUND)
    pen = ImageDraw.Draw(image)
    pen.rounded_rectangle((180, 120, 844, 640), 18, fill=CASE, outline=DARK, width=6)
    for way in WAYS:
        left = 240 + way * 70
        missing = kind == "blank" and way == 5 and not mended
        pen.rectangle((left, 300, left + 56, 430), fill=DARK if missing else "#fbfaf5", outline=DARK, width=3)
        if missing:
            pen.rectangle((left + 12, 330, left + 44, 342), fill=COPPER)
        else:
            pen.rectangle((left + 18, 340, left + 38, 380), fill="#3c5f6b")
    if kind == "cover" and not mended:
        pen.rectangle((240, 470, 784, 610), fill=DARK)
        for bar in (500, 540, 580):
            pen.rectangle((260, bar, 764, bar + 12), fill=COPPER)
    if kind in {"gland", "bond"}:
        _cable(pen, kind, mended=mended)
    out = BytesIO()
    image.save(out, "JPEG", quality=80)
    return out.getvalue()


def _cable(pen: ImageDraw.ImageDraw, kind: str, *, mended: bool) -> None:
    colour = "#1f1f1f" if kind == "gland" else "#3d8a3d"
    pen.rectangle((500, 20, 530, 120), fill=colour)
    if mended:
        pen.rectangle((482, 84, 548, 126), fill=COPPER, outline=DARK, width=3)
    else:
        pen.ellipse((470, 92, 560, 140), fill=DARK)
