"""The HTML part of an e-mail says what its plain text says, and asks nothing of any other machine."""

import re
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite.messages.rules.letters import BUTTON, html_of, linked

STEP = "https://works.example.com/due/inspection/01890a5d-ac96-774b-bcce-b302099a8057/"


class Read(HTMLParser):
    """What a person reads in a page, and the tags that make it."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "title" not in self.open:
            self.words.append(data)


def body_of(html: str) -> str:
    return html.partition('overflow-wrap:break-word">\n')[2].partition("\n</body>")[0]


def bare(html: str) -> str:
    return re.sub(r' style="[^"]*"', "", body_of(html))


@pytest.mark.parametrize(
    ("text", "html"),
    [
        ("Dear Petra,\n\nit is due\nby May.", "<p>Dear Petra,</p>\n<p>it is due<br>\nby May.</p>"),
        ("a < b & c", "<p>a &lt; b &amp; c</p>"),
        ("Late (2)\n- one\n- two\n  goes on", "<h2>Late (2)</h2>\n<ul><li>one</li><li>two<br>\ngoes on</li></ul>"),
        (
            "- one\n  https://works.example.com/due/",
            '<ul><li>one<br>\n<a href="https://works.example.com/due/">Open it <small>(works.example.com)</small></a></li></ul>',
        ),
        ("- one\nand then", "<ul><li>one</li></ul>\n<p>and then</p>"),
        ("See https://a.example/x.", '<p>See <a href="https://a.example/x">https://a.example/x</a>.</p>'),
        ("", ""),
    ],
)
def test_what_becomes_of_plain_text(text, html):
    assert bare(html_of(text)) == html


@pytest.mark.parametrize(
    ("text", "name", "rest"),
    [
        (f"Open the step:\n{STEP}", "Open the step", []),
        (f"Open the step:\n\n{STEP}\n", "Open the step", []),
        (STEP, "Open the page", []),
        (f"Hello.\n{STEP}", "Open the page", ["Hello."]),
        (f"{'Read it, word by word, ' * 4}here:\n\n{STEP}", "Open the page", [f"{'Read it, word by word, ' * 4}here:"]),
    ],
)
def test_a_line_that_is_a_link_is_a_button(text, name, rest):
    html = html_of(text)
    read = Read(html)
    words = [one.strip() for one in read.words if one.strip()]
    assert words == [*rest, name, STEP]
    assert [attrs["href"] for tag, attrs in read.tags if tag == "a"] == [STEP]


def test_a_button_is_large_enough_for_a_thumb():
    """WCAG 2.2, success criterion 2.5.5: targets of at least 44 by 44 CSS pixels."""
    style = dict(part.split(":") for part in re.search(r'<a href="[^"]*" style="([^"]*)"', BUTTON).group(1).split(";"))
    padding = int(style["padding"].split("px")[0])
    assert int(style["min-height"].removesuffix("px")) + 2 * padding >= 44


def test_a_name_that_no_link_follows_stays_a_sentence():
    assert bare(html_of("To arrange it:\n\nring us.")) == "<p>To arrange it:</p>\n<p>ring us.</p>"
    assert bare(html_of("What is due:")) == "<p>What is due:</p>"


@given(st.text(alphabet="ab <&>\"':-\n \t", max_size=60))
def test_no_word_is_lost_and_nothing_typed_becomes_markup(text):
    read = Read(html_of(text))
    assert read.open == []
    said = "".join("".join(read.words).split())
    assert sorted(said.replace("-", "")) == sorted("".join(text.split()).replace("-", ""))  # a dash may mark a list
    allowed = {"html", "head", "body", "meta", "title", "p", "h2", "ul", "li", "br", "a", "small"}
    assert {tag for tag, _ in read.tags} <= allowed


def test_nothing_is_fetched_from_anywhere():
    html = html_of(f"Look:\n{STEP}\n\n<img src=https://a.example/x.png>")
    found = Read(html)
    assert not {tag for tag, _ in found.tags} & {"img", "link", "script", "iframe", "style"}
    assert "url(" not in html
    assert not any("src" in attrs or "background" in attrs for _, attrs in found.tags)


def test_it_leaves_light_and_dark_to_what_shows_it():
    html = html_of(f"Look:\n{STEP}\n\nHeading\n- item\n\ntext")
    assert '<meta name="color-scheme" content="light dark">' in html
    coloured = [style for style in re.findall(r'style="([^"]*)"', html) if "color" in style]
    assert len(coloured) == 1
    assert "background-color:#1f4e79" in coloured[0]
    assert ";color:#ffffff" in coloured[0]


def test_a_quotation_mark_ends_no_address():
    assert linked('https://a.example/" onclick=x') == (
        '<a href="https://a.example/" style="word-break:break-all">https://a.example/</a>&quot; onclick=x'
    )
