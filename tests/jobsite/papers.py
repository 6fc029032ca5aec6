"""Documents read back as a person, a phone or a screen reader would."""

from io import BytesIO

import pypdfium2
import zxingcpp
from pypdf import PdfReader

from jobsite.ledger.files import read_file


def reader(document) -> PdfReader:
    """The PDF of a kept document, or of its bytes."""
    return PdfReader(BytesIO(document if isinstance(document, bytes) else read_file(document.file)))


def words_of(document) -> str:
    """What a person reads on all pages, single spaces."""
    return " ".join(" ".join(page.extract_text() for page in reader(document).pages).split())


def codes_of(document) -> list[str]:
    """What a phone reads in the QR codes of the first page, seen in grey at 200 dots an inch."""
    page = pypdfium2.PdfDocument(document if isinstance(document, bytes) else read_file(document.file))[0]
    picture = page.render(scale=200 / 72, grayscale=True).to_pil()
    return [code.text for code in zxingcpp.read_barcodes(picture)]


def tags_of(document) -> list[str]:
    """The tags of the document in their order: H1, P, Table, TH …"""
    found: list[str] = []

    def walk(node) -> None:
        node = node.get_object()
        if isinstance(node, list):
            for inner in node:
                walk(inner)
        elif isinstance(node, dict):
            if "/S" in node:
                found.append(str(node["/S"]).lstrip("/"))
            if "/K" in node and not isinstance(node["/K"], int):
                walk(node["/K"])

    walk(reader(document).trailer["/Root"]["/StructTreeRoot"]["/K"])
    return found
