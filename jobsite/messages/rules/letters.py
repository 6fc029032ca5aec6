"""The HTML part of an e-mail, made of its plain text by one function. Pure.

Plain text is what was written; this only sets it so that it reads well on a phone. What it makes of the text:

- a blank line parts paragraphs, a line break stays one;
- a first line that stands directly above lines with "- " is a heading, those lines are its list, and a line that begins
  with two spaces goes on with the one before;
- where such a line ends with a link alone, "Open it" leads there, and names the place that it leads to;
- a line that is nothing but a link is a button at least 44 px high (WCAG 2.2, 2.5.5), called by the line before it where
  that ends with a colon; its address stands under it, so that everybody sees where it leads.

Nothing in it is fetched from anywhere: no picture, no font, no script. No colour is set but the button's two, so that
what shows it chooses light or dark.
"""

import re
from html import escape
from urllib.parse import urlsplit

LINK = re.compile(r"https?://[^\s<>\"]+")
ITEM = "- "
UNNAMED = "Open the page"
LONGEST_NAME = 60  # letters, so that it stands on two lines of a phone at most; our own choice
PAGE = (
    '<!DOCTYPE html>\n<html lang="en-GB"><head><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1">'
    '<meta name="color-scheme" content="light dark"><title>{title}</title></head>\n'
    '<body style="margin:0 auto;padding:16px;max-width:36em;font:16px/1.5 sans-serif;overflow-wrap:break-word">\n'
    "{content}\n</body></html>\n"
)
BUTTON = (
    '<p style="margin:16px 0"><a href="{href}" style="display:inline-block;min-height:24px;padding:12px 20px;'
    "border:2px solid #ffffff;border-radius:4px;background-color:#1f4e79;color:#ffffff;font-weight:bold;"
    'text-decoration:none">{name}</a><br><small style="word-break:break-all">{shown}</small></p>'
)
HEADING = '<h2 style="margin:24px 0 4px;font-size:18px;line-height:1.3">{words}</h2>'
LIST = '<ul style="margin:4px 0 16px;padding-left:24px">{items}</ul>'
LINE = '<li style="margin:8px 0">{words}</li>'
STEP = '<br>\n<a href="{href}" style="display:inline-block;padding:10px 0">Open it <small>({host})</small></a>'
PARAGRAPH = '<p style="margin:16px 0">{words}</p>'


def html_of(body: str, *, title: str = "") -> str:
    """A whole HTML document that says what the plain text `body` says."""
    letter = _Letter()
    for block in re.split(r"\n[ \t]*\n", body.replace("\r\n", "\n")):
        letter.block(_lines(block))
    letter.end_of_text()
    return PAGE.format(title=escape(title), content="\n".join(letter.parts))


class _Letter:
    """A letter that is being set, line by line."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.text: list[str] = []
        self.items: list[str] = []

    def block(self, lines: list[str]) -> None:
        """The lines between two blank ones. A last line with a colon waits: it may be the name of a link below."""
        if not lines:
            return
        if not LINK.fullmatch(lines[0]):
            self.end_of_text()
        if len(lines) > 1 and not lines[0].startswith(ITEM) and lines[1].startswith(ITEM):
            self.parts.append(HEADING.format(words=linked(lines[0])))
            lines = lines[1:]
        for line in lines:
            self.line(line)
        self.end_of_list()
        if self.text and self.text[-1].endswith(":"):
            waiting = self.text.pop()
            self.end_of_text()
            self.text = [waiting]
        else:
            self.end_of_text()

    def line(self, line: str) -> None:
        if line.startswith(ITEM):
            self.end_of_text()
            words, _, last = line.removeprefix(ITEM).rpartition("\n")
            step = words and LINK.fullmatch(last)
            self.items.append(
                LINE.format(words=linked(words) + _step(last) if step else linked(line.removeprefix(ITEM)))
            )
            return
        self.end_of_list()
        if LINK.fullmatch(line):
            self.button(line)
        else:
            self.text.append(line)

    def button(self, href: str) -> None:
        """A sentence that leads to a link stays a sentence above it; a short one is the button's name."""
        name = UNNAMED
        if self.text and self.text[-1].endswith(":") and len(self.text[-1]) <= LONGEST_NAME:
            name = self.text.pop().removesuffix(":")
        self.end_of_text()
        self.parts.append(BUTTON.format(href=escape(href), name=escape(name), shown=escape(href)))

    def end_of_text(self) -> None:
        if self.text:
            self.parts.append(PARAGRAPH.format(words=linked("\n".join(self.text))))
            self.text = []

    def end_of_list(self) -> None:
        if self.items:
            self.parts.append(LIST.format(items="".join(self.items)))
            self.items = []


def _step(href: str) -> str:
    return STEP.format(href=escape(href), host=escape(urlsplit(href).netloc))


def _lines(block: str) -> list[str]:
    """The lines of a paragraph; one that begins with two spaces goes on with the list's line before it."""
    lines: list[str] = []
    for line in block.strip("\n").splitlines():
        if lines and lines[-1].startswith(ITEM) and line.startswith("  "):
            lines[-1] += "\n" + line.strip()
        elif line.strip():
            lines.append(line.strip())
    return lines


def linked(text: str) -> str:
    """`text` for HTML: escaped, line breaks kept, and what is a link in it can be followed."""
    parts: list[str] = []
    last = 0
    for found in LINK.finditer(text):
        href = found.group().rstrip(".,;:!?)'")
        parts.append(escape(text[last : found.start()]))
        parts.append(f'<a href="{escape(href)}" style="word-break:break-all">{escape(href)}</a>')
        last = found.start() + len(href)
    parts.append(escape(text[last:]))
    return "".join(parts).replace("\n", "<br>\n")
