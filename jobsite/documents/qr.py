"""QR codes (ISO/IEC 18004) as drawings for documents."""

from io import BytesIO

import qrcode
from qrcode.constants import ERROR_CORRECT_M
from qrcode.image.svg import SvgPathImage


def qr_svg(text: str) -> bytes:
    """`text` as a QR code, an SVG with its quiet zone; level M withstands dirt on some 15 % of it."""
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=4, image_factory=SvgPathImage)
    code.add_data(text)
    out = BytesIO()
    code.make_image().save(out)
    return out.getvalue()
