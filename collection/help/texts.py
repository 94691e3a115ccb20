"""The text of a page of Help: rendered, and read again as plain blocks."""

from collections.abc import Iterator
from html.parser import HTMLParser
from typing import NamedTuple

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from collection.help.contents import HelpPage
from collection.help.facts import facts

BLOCKS = {"h2", "h3", "p", "li", "pre", "dt", "dd", "tr", "caption"}
CELLS = {"td", "th"}
BETWEEN_CELLS = " | "


class Block(NamedTuple):
    """One heading, paragraph, list item, row: its tag, its text in one line (but ``pre``), its ``id``."""

    tag: str
    text: str
    anchor: str


def body(page: HelpPage) -> SafeString:
    """The page's own text as HTML, the same for every reader."""
    return render_to_string(page.template, facts())


def blocks(html: str) -> list[Block]:
    """The text of some HTML, block by block."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return list(reader.read())


class _Reader(HTMLParser):
    """Gathers text into the innermost open block; what stands outside all blocks is left out."""

    def __init__(self) -> None:
        super().__init__()
        self.gathered: list[tuple[str, list[str], str]] = []
        self.open: list[tuple[str, list[str], str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in BLOCKS:
            block: tuple[str, list[str], str] = (tag, [], dict(attrs).get("id") or "")
            self.gathered.append(block)
            self.open.append(block)
        elif tag in CELLS and self.open and self.open[-1][1]:
            self.open[-1][1].append(BETWEEN_CELLS)

    def handle_endtag(self, tag: str) -> None:
        if self.open and self.open[-1][0] == tag:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open:
            self.open[-1][1].append(data)

    def read(self) -> Iterator[Block]:
        for tag, parts, anchor in self.gathered:
            text = "".join(parts)
            text = text.strip("\n") if tag == "pre" else " ".join(text.split())
            if text:
                yield Block(tag, text, anchor)
