"""The style sheets: contrast of every pair of tokens in every scheme, size over the wire, and nothing from elsewhere.

The ratios and how they are computed: WCAG 2.2, success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (marks, borders, 3:1).
"""

import gzip
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.staticfiles import finders

JOBSITE = Path(settings.BASE_DIR) / "jobsite"
SHEETS = {name: (JOBSITE / "static/jobsite" / name).read_text() for name in ("shell.css", "status.css")}
DARK = r"@media screen and \(prefers-color-scheme: dark\) \{\s*:root \{(.*?)\}"
TEXT = [
    *(
        ("ink", "paper"),
        ("ink", "sheet"),
        ("soft", "paper"),
        ("soft", "sheet"),
        ("accent", "paper"),
        ("accent", "sheet"),
    ),
    *(("accent-ink", "accent"), ("danger-on", "danger"), ("warn-on", "warn"), ("must-on", "must"), ("safe-on", "safe")),
    *(("danger-text", "sheet"), ("danger-text", "live-ground"), ("safe-text", "sheet")),
    *(("ink", "caution-ground"), ("ink", "live-ground"), ("sheet", "ink")),
]
MARKS = [
    *(("rule-strong", "paper"), ("rule-strong", "sheet"), ("danger", "sheet"), ("must", "sheet"), ("safe", "sheet")),
    *(("danger-mark", "sheet"), ("warn-mark", "sheet"), ("must-mark", "sheet"), ("advise-mark", "sheet")),
    *(("hatch", "sheet"), ("accent", "sheet")),
]


def tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6})", block))


def scheme(sheet: str, name: str) -> dict[str, str]:
    light = tokens(re.search(r":root \{(.*?)\}", sheet, re.DOTALL)[1])
    return light if name == "light" else light | tokens(re.search(DARK, sheet, re.DOTALL)[1])


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, as WCAG 2.2 defines it."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_computed_as_published():
    # WCAG 2.2: black on white is 21:1; #767676 on white is the lightest grey of 4.5:1 (W3C, G18 and its examples)
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("name", ["light", "dark"])
@pytest.mark.parametrize(("pairs", "least"), [(TEXT, 4.5), (MARKS, 3.0)], ids=["text", "marks"])
def test_contrast_of_the_tokens(sheet, name, pairs, least):
    colours = scheme(SHEETS[sheet], name)
    short = {f"{a} on {b}": round(contrast(colours[a], colours[b]), 2) for a, b in pairs}
    assert {pair: ratio for pair, ratio in short.items() if ratio < least} == {}


def test_customers_sheet_has_the_shells_colours():
    for name in ("light", "dark"):
        shell, status = scheme(SHEETS["shell.css"], name), scheme(SHEETS["status.css"], name)
        assert {token: shell[token] for token in status} == status


@pytest.mark.parametrize(("sheet", "most"), [("shell.css", 8000), ("status.css", 3000)])
def test_sheet_is_small_over_the_wire(sheet, most):
    assert len(gzip.compress(SHEETS[sheet].encode())) <= most


def test_what_every_page_loads_leaves_room_for_the_page():
    names = re.findall(r"\{% static '([^']+)' %\}", (JOBSITE / "templates/base.html").read_text())
    size = sum(len(gzip.compress(Path(finders.find(name)).read_bytes())) for name in names)
    assert len(names) == 7
    assert size <= 34_000  # of 60,000 for the first load


def test_customers_pages_load_one_sheet_and_no_script():
    plain = (JOBSITE / "templates/plain.html").read_text()
    assert re.findall(r"\{% static '([^']+)' %\}", plain) == ["jobsite/status.css"]
    assert "<script" not in plain


@pytest.mark.parametrize("path", sorted((JOBSITE / "static/jobsite").iterdir()), ids=lambda path: path.name)
def test_nothing_is_fetched_from_elsewhere(path):
    text = path.read_text(errors="ignore")
    assert re.findall(r"https?://(?!www\.w3\.org/)|@import|url\((?!#)|eval\(", text) == []
