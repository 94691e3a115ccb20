"""A stranger's file becomes tables in a child of its own: see ``host.contained``."""

from collection.host.child import Facts, Tell
from collection.host.contained import Share, read_apart
from collection.spreadsheets.sheets.cells import pack
from collection.spreadsheets.sheets.reading import read_file

# policy: 20,000 rows of 50 columns take a workbook's reader some fifteen seconds and 400 MB
SHARE = Share("tables", at_once=2, cpu_s=90, wall_s=120.0, memory=1_000_000_000, answer=50_000_000)


def packed_apart(name: str, data: bytes) -> bytes:
    """The tables of a file as ``cells.pack`` keeps them; Refused says what to send instead."""
    return read_apart(read_here, data, {"name": name}, share=SHARE)[1]


def read_here(data: bytes, facts: Facts, _tell: Tell) -> tuple[Facts, bytes]:
    """In the child."""
    return {}, pack(read_file(facts["name"], data))
