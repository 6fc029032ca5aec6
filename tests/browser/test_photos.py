"""A photograph is made smaller on the device, upright, and says when it was taken and nothing else.

Outside check: Pillow, which knows nothing of our script, writes the pictures that it is given and reads what it makes.
"""

from base64 import b64decode, b64encode
from io import BytesIO

import pytest
from django.templatetags.static import static
from django.urls import reverse
from PIL import ExifTags, Image
from playwright.sync_api import Page

from jobsite.ledger.photographs import clean_photograph

pytestmark = pytest.mark.django_db(transaction=True)
TAKEN = "2026:11:26 08:12:05"
SHRINK = """async ([script, data, type, name]) => {
    const { shrink } = await import(script);
    const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
    const made = await shrink(new File([bytes], name, { type }));
    const read = new Uint8Array(await made.arrayBuffer());
    let text = "";
    for (let at = 0; at < read.length; at += 8192) text += String.fromCharCode(...read.subarray(at, at + 8192));
    return [made.name, made.type, btoa(text)];
}"""


@pytest.fixture
def shrink(page_for):
    page: Page = page_for(None)
    page.goto(reverse("account_login"))

    def shrunk(data: bytes, kind: str = "image/jpeg", name: str = "IMG_0001.jpeg") -> tuple[str, str, bytes]:
        sent = [static("jobsite/photos.js"), b64encode(data).decode(), kind, name]
        name, kind, made = page.evaluate(SHRINK, sent)
        return name, kind, b64decode(made)

    return shrunk


def camera(width: int, height: int, *, turned: int = 0, taken: str = TAKEN, endian: str = "<", more: int = 0) -> bytes:
    """A photograph with a red left half and noise-like detail, as a camera writes it; with GPS and the camera's name."""
    image = Image.effect_noise((width, height), 90).convert("RGB")
    image.paste("red", (0, 0, width // 2, height))
    exif = Image.Exif()
    exif.endian = endian
    exif[ExifTags.Base.Make] = "Made up" + "x" * more
    if turned:
        exif[ExifTags.Base.Orientation] = turned
    if taken:
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.DateTimeOriginal] = taken
        exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.ExposureTime] = 0.01
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSLatitudeRef] = "N"
    out = BytesIO()
    image.save(out, "JPEG", quality=95, exif=exif)
    return out.getvalue()


def taken_of(image: Image.Image) -> str:
    return str(image.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal, ""))


@pytest.mark.parametrize("endian", ["<", ">"])
def test_is_made_smaller_and_says_when_it_was_taken(shrink, endian) -> None:
    data = camera(4000, 3000, endian=endian, more=300)
    name, kind, made = shrink(data)
    image = Image.open(BytesIO(made))
    assert (name, kind, image.format, image.size) == ("IMG_0001.jpg", "image/jpeg", "JPEG", (1600, 1200))
    assert taken_of(image) == TAKEN
    exif = image.getexif()
    assert set(exif) == {ExifTags.IFD.Exif}  # neither the camera nor where it stood
    assert dict(exif.get_ifd(ExifTags.IFD.Exif)) == {ExifTags.Base.DateTimeOriginal: TAKEN}
    assert len(made) < len(data) / 3
    assert clean_photograph(made).taken == TAKEN  # as the server reads it


# What stands at the left when it is upright: EXIF 2.32, 4.6.5.1, tag Orientation.
@pytest.mark.parametrize(
    ("turned", "size", "red"),
    [
        (1, (1600, 800), "left"), (3, (1600, 800), "right"), (6, (800, 1600), "top"), (8, (800, 1600), "bottom"),
        (2, (1600, 800), "right"), (5, (800, 1600), "top"),
    ],
)  # fmt: skip
def test_is_turned_upright(shrink, turned, size, red) -> None:
    _, _, made = shrink(camera(2000, 1000, turned=turned))
    image = Image.open(BytesIO(made)).convert("RGB")
    assert image.size == size
    assert ExifTags.Base.Orientation not in image.getexif()
    wide, high = image.size
    middle = {
        "left": (5, high // 2), "right": (wide - 5, high // 2), "top": (wide // 2, 5), "bottom": (wide // 2, high - 5),
    }  # fmt: skip
    reds = [side for side, at in middle.items() if image.getpixel(at)[0] > 220 and image.getpixel(at)[1] < 60]
    # the middles of the two other sides stand on the border between the halves
    assert red in reds
    assert {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}[red] not in reds


def test_a_time_that_is_none_is_left_out(shrink) -> None:
    for taken in ("", "0000:00:00", "    :  :     :  :  "):
        _, _, made = shrink(camera(2000, 1000, taken=taken))
        assert taken_of(Image.open(BytesIO(made))) == ""


def test_what_is_small_or_cannot_be_decoded_is_kept_as_it_is(shrink) -> None:
    out = BytesIO()
    Image.new("RGB", (30, 20), "red").save(out, "JPEG", quality=50)
    heic = b"\0\0\0\x18ftypheic" + bytes(64)
    for data, kind, name in (
        (out.getvalue(), "image/jpeg", "small.jpg"),
        (heic, "image/heic", "IMG_2.HEIC"),
        (heic, "", "IMG_2.HEIC"),
        (camera(800, 600)[:400], "image/jpeg", "cut.jpg"),
        (b"%PDF-1.7 no picture", "application/pdf", "report.pdf"),
    ):
        assert shrink(data, kind, name) == (name, kind, data)


def test_a_large_picture_without_a_time_or_a_camera_is_a_jpeg_on_white(shrink) -> None:
    image = Image.effect_noise((2400, 1200), 90).convert("RGBA")
    image.paste((0, 0, 0, 0), (0, 0, 1200, 1200))
    out = BytesIO()
    image.save(out, "PNG")
    name, kind, made = shrink(out.getvalue(), "image/png", "screen.png")
    read = Image.open(BytesIO(made))
    assert (name, kind, read.format, read.size) == ("screen.jpg", "image/jpeg", "JPEG", (1600, 800))
    assert min(read.convert("RGB").getpixel((5, 400))) > 240


def test_a_damaged_head_is_no_harm(shrink) -> None:
    data = camera(2000, 1000)
    at = data.index(b"Exif\0\0") + 6
    for wrong in (b"II*\0\xff\xff\xff\x7f", b"II*\0\x08\0\0\0\xff\xff", b"XXXXXXXX"):
        broken = data[:at] + wrong + data[at + len(wrong) :]
        _, _, made = shrink(broken)
        assert Image.open(BytesIO(made)).size == (1600, 800)
