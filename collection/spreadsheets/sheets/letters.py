"""How a spreadsheet names its columns."""


def letters(at: int) -> str:
    """A to Z, AA and on; ``at`` is counted from 0."""
    name = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        name = chr(65 + rest) + name
    return name
