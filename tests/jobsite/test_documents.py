"""The making of documents: same bytes, tagged, fixed fonts, hostile text, limits, no network."""

import re
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from uuid import UUID

import pytest
from django.core.management import call_command
from pypdf import PdfReader

from jobsite import documents
from jobsite.documents import NotSet, fonts, make_document
from jobsite.documents.printing import PRINTABLE, printable
from jobsite.ledger.rules import Head, read_heads
from jobsite.refused import Refused

TOP = Path(__file__).resolve().parents[2]
TEMPLATES = sorted(path for root in ("jobsite", "inspections", "remedials") for path in (TOP / root).rglob("*.typ"))
NOW = datetime(2026, 2, 3, 12, 0, tzinfo=UTC)
HEAD = Head(UUID(int=5), 12, "ab" * 32)
PLAIN = '#import "house.typ": *\n#show: house.with()\n= #data.title\n#said(facts.words)\n#record-heads()\n'


@pytest.fixture
def made(tmp_path):
    """A document of `words` in a small template, or another one."""

    def make(words: str = "Words", template: str = PLAIN, **more):
        path = tmp_path / "small.typ"
        path.write_text(template)
        given = {"title": "A small document", "about": "Sample House", "firm": "Sample Electrical", "now": NOW}
        return make_document(path, {"words": words}, **given | {"heads": [HEAD]} | more)

    return make


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_same_facts_make_the_same_bytes_and_others_another_fingerprint(made) -> None:
    one, again, other = made("Words"), made("Words"), made("Others")
    assert one == again
    assert one.fingerprint != other.fingerprint


def test_every_page_bears_site_fingerprint_and_number(made) -> None:
    done = made("line\n" * 150)
    pages = PdfReader(BytesIO(done.pdf)).pages
    short = " ".join(done.fingerprint[at : at + 4] for at in (0, 4, 8, 12))
    feet = [re.findall(r"Sample House|fingerprint [0-9a-f ]{19}|page \d of \d", page.extract_text()) for page in pages]
    assert feet == [
        ["Sample House", f"fingerprint {short}", f"page {n} of {len(pages)}"] for n in range(1, len(pages) + 1)
    ]
    assert len(pages) > 1


def test_it_is_a_tagged_pdf_with_title_language_and_firm(made) -> None:
    root = PdfReader(BytesIO(pdf := made().pdf)).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is not None
    assert root["/Lang"] == "en-GB"
    assert root["/StructTreeRoot"]["/K"]
    assert PdfReader(BytesIO(pdf)).metadata["/Title"] == "A small document"
    assert PdfReader(BytesIO(pdf)).metadata["/Author"] == "Sample Electrical"
    # ISO 14289-1, 5: how a file says that it is PDF/UA-1.
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()


def test_heads_of_the_ledger_are_found_in_the_file_and_on_the_page(made, tmp_path) -> None:
    pdf = made().pdf
    assert set(read_heads([pdf.decode(errors="replace")])) == {HEAD}
    assert HEAD.line() in text_of(pdf).replace("\n", "")


@pytest.mark.django_db
def test_check_ledger_reads_the_head_in_a_document(made, tmp_path, capsys) -> None:
    """A head that is not in the database: a chain was lost or recomputed."""
    from django.core.management import CommandError

    (tmp_path / "kept.pdf").write_bytes(made().pdf)
    with pytest.raises(CommandError, match="does not hold"):
        call_command("check_ledger", tmp_path / "kept.pdf")
    assert "a kept head names it, but it is gone" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        '#panic("no")',
        "$x^2$ *bold* _low_ `raw` <label> @ref",
        "= no heading",
        '\\ #import "@preview/a:0.1.0"',
        "// gone",
    ],
)
def test_text_is_never_markup(made, words) -> None:
    assert words in text_of(made(words).pdf)


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("Hall \U0001f525 light", "Hall [?] light"),
        ("配電盤", "[?][?][?]"),
        ("a\u200bb\u202ec\ufeff", "abc"),
        ("tab\tbell\x07 half\ud800", "tab bell[?] half[?]"),
        ("e\u0301 \u2126 \u2009mA", "é Ω \u202fmA"),
        ("Łódź, Þórr, Ñandú, Ελένη, Борис, Nguyễn", "Łódź, Þórr, Ñandú, Ελένη, Борис, Nguyễn"),
    ],
)
def test_what_the_font_lacks_shows_as_missing(made, typed, printed) -> None:
    assert printable({"a": [typed]}) == {"a": [printed]}
    assert made(typed).pdf.startswith(b"%PDF")


def test_every_character_that_is_called_printable_is_in_every_face(made) -> None:
    """A missing glyph stops the document: so this one would not be made."""
    every = "".join(c for c in map(chr, range(0x20, 0x3000)) if re.fullmatch(f"[{PRINTABLE}]", c))
    weights = '#text(weight: "regular", facts.words) #text(weight: "semibold", facts.words) #strong(facts.words)'
    done = made(every, PLAIN.replace("#said(facts.words)", weights))
    used = PdfReader(BytesIO(done.pdf)).pages[0]["/Resources"]["/Font"].values()
    names = {font.get_object()["/BaseFont"].partition("+")[2].partition("-Identity")[0] for font in used}
    assert names == {"SourceSansPro-Regular", "SourceSansPro-Semibold", "SourceSansPro-Bold"}


def test_one_long_word_breaks_within_the_page(made) -> None:
    lines = [line for line in text_of(made("W" * 400).pdf).splitlines() if line.startswith("WW")]
    assert len(lines) > 3
    assert "".join(lines) == "W" * 400, "it is copied out as it was typed"


def test_a_font_that_is_not_ours_stops_the_document(made) -> None:
    with pytest.raises(NotSet, match="unknown font family: arial"):
        made(template=PLAIN + '#text(font: "Arial")[no]')


def test_a_picture_without_words_for_it_stops_the_document(made) -> None:
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>'
    with pytest.raises(NotSet, match="alt"):
        made(template=PLAIN + '#image("a.svg")', pictures={"a.svg": svg})


@pytest.mark.parametrize("path", ["/etc/passwd", "../../../etc/passwd"])
def test_nothing_outside_is_read(made, path) -> None:
    with pytest.raises(NotSet):
        made(template=f'{PLAIN}#read("{path}")')


def test_a_document_that_never_ends_is_given_up_with_a_sentence(made, monkeypatch) -> None:
    monkeypatch.setattr(documents, "SECONDS", 1)
    with pytest.raises(Refused, match="too large to be made"):
        made(template=PLAIN + "#{ for n in range(100000) { for m in range(100000) { [] } } }")


def test_a_document_that_eats_memory_is_given_up_with_a_sentence(made, monkeypatch) -> None:
    monkeypatch.setattr(documents, "MEGABYTES", 300)
    with pytest.raises(Refused, match="too large to be made"):
        made(
            template=PLAIN
            + '#{ let a = "xxxxxxxx" * 1000000; let b = (); for n in range(400) { b.push(a + str(n)) }; [#b.len()] }'
        )


# --- templates --------------------------------------------------------------------------------------------------------


def test_templates_import_nothing_from_the_network() -> None:
    """A package would be fetched while somebody waits, and another version of it makes other bytes."""
    wanted = {name for path in TEMPLATES for name in re.findall(r'(?:import|include)\s+"([^"]*)"', path.read_text())}
    assert wanted <= {"house.typ"}
    assert [path.name for path in TEMPLATES if "@preview" in path.read_text() or "http" in path.read_text()] == []


def test_tables_have_heads_for_a_screen_reader() -> None:
    """The standard's check does not find a table without them."""
    without = [
        path.name for path in TEMPLATES if path.read_text().count("#table(") > path.read_text().count("table.header")
    ]
    assert without == []


def test_the_licence_of_the_font_stands_beside_it() -> None:
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts()[0].parent / "LICENSE.txt").read_text()
