"""Text that a spreadsheet program would run as a formula is marked as text, and unmarked when it returns.

See OWASP, CSV injection. The mark is the apostrophe that spreadsheets use themselves; a text that begins
with one is marked too, so that what is read back is what was written.
"""

import re

RUNS = ("=", "+", "-", "@", "\t", "\r", "\n")
MARK = "'"


def guarded(text: str) -> str:
    """Text fit to stand in a cell of a CSV file."""
    return MARK + text if text.startswith((*RUNS, MARK)) else text


def unguarded(text: str) -> str:
    """Text as it was before ``guarded``."""
    return text[1:] if text.startswith(MARK) and text[1:].startswith((*RUNS, MARK)) else text


# What XML cannot hold, and what looks like our way of writing it (ECMA-376-1, 22.9.2.19: _xHHHH_).
_UNFIT = re.compile(r"[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]|_(?=x[0-9A-Fa-f]{4}_)")
_WRITTEN = re.compile(r"_x([0-9A-Fa-f]{4})_")


def fit_for_xml(text: str) -> str:
    """Text as a workbook holds it."""
    return _UNFIT.sub(lambda match: f"_x{ord(match[0]):04X}_", text)


def from_xml(text: str) -> str:
    """Text as it was before ``fit_for_xml``."""
    return _WRITTEN.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text
