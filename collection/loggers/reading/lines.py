"""From bytes to lines of text: encodings, ends of line, and what is no text at all."""

import codecs
from dataclasses import dataclass

from collection.loggers.reading.faults import UnreadableFile

MOST_BYTES = 150_000_000  # policy: three years at every minute with two sensors are about 70 MB
# what a person may send by mistake: the first bytes, and what to do
NOT_TEXT = (
    (b"PK\x03\x04", "This is a spreadsheet or a packed folder: save the sheet as CSV, or unpack it first."),
    (b"\xd0\xcf\x11\xe0", "This is an old spreadsheet: save the sheet as CSV."),
    (b"%PDF", "This is a PDF: export the readings as CSV from the logger's own programme."),
    (b"\x1f\x8b", "This file is packed: unpack it first."),
)
MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(frozen=True)
class Text:
    """The file as UTF-8 with lines ended by a line feed, and the encoding that it came in."""

    data: bytes
    encoding: str

    def head(self, lines: int) -> list[str]:
        """Its first lines."""
        end = 0
        for _ in range(lines):
            at = self.data.find(b"\n", end)
            if at < 0:
                end = len(self.data)
                break
            end = at + 1
        return self.data[:end].decode().split("\n")


def text_of(data: bytes) -> Text:
    """The text; UnreadableFile where there is none."""
    if not data.strip():
        raise UnreadableFile("The file is empty: fetch it from the logger again.")
    for mark, words in NOT_TEXT:
        if data.startswith(mark):
            raise UnreadableFile(words)
    encoding = next((name for mark, name in MARKS if data.startswith(mark)), "")
    if not encoding and b"\0" in data:
        raise UnreadableFile(
            "The file holds null characters, so it is no text: export the readings as CSV, or as text."
        )
    text, encoding = _decoded(data, encoding)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")
    return Text(lines.encode("utf-8", "replace"), encoding)


def _decoded(data: bytes, encoding: str) -> tuple[str, str]:
    if encoding:
        return data.decode(encoding, "replace"), encoding
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace"), "cp1252"  # the degree sign of most old programmes
