"""Who did the work, as a table says it. The entry's author is whoever brought the table in; the name that
stood in the table is kept in the note, as its words and not as a sign-in's."""

import re

_TAIL = re.compile(r"(?:^|\n)\(Done by ([^\n]+), as a table says\)$")


def with_author(note: str, name: str) -> str:
    """The note with the name behind it."""
    author = " ".join(name.split())
    return f"{note}\n(Done by {author}, as a table says)".lstrip("\n") if author else note


def split_author(note: str) -> tuple[str, str]:
    """Note and name out of such a note; an empty name where it has none."""
    match = _TAIL.search(note)
    return (note[: match.start()], match[1]) if match else (note, "")
