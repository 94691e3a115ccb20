"""A row about a car: what is said once for four wheels, or in one cell for marque, model and year."""

import re
from typing import Any

from collection.spreadsheets.sheets.parsing import Parsed
from scheduler.vocabulary.positions import WHEELS

_YEAR = re.compile(r"\b(18[89]\d|19\d\d|20\d\d)\b")
LOST_NOUGHT = "three figures are read as made before 2000: if the table lost a nought, write it like 0519"


def spread(row: Parsed) -> None:
    """Put what stands for several fields into each of them; what a cell of its own says stays."""
    values = row.values
    for of in ("date_code", "placard_kpa"):
        cell = values.pop(f"tyres.{of}", None)
        for wheel in WHEELS if cell is not None else ():
            values.setdefault(f"{wheel.code}.{of}", cell)
    name = values.pop("name", None)
    if name:
        for key, value in split_name(str(name), str(values.get("marque", ""))).items():
            values.setdefault(key, value)
    for key in values:
        if key.endswith("date_code"):
            values[key] = date_code(str(values[key]))
            if len(values[key]) == 3:
                row.notes.append((key, LOST_NOUGHT))


def split_name(name: str, marque: str = "") -> dict[str, Any]:
    """Year, marque and model out of “1962 Wendlow Twelve”."""
    year = _YEAR.search(name)
    words = " ".join(_YEAR.sub(" ", name, count=1).replace("(", " ").replace(")", " ").split())
    if marque and words.casefold().startswith(marque.casefold()):
        words = words[len(marque) :].strip()
        return {"model": words} | ({"year": int(year[1])} if year else {})
    first, _, rest = words.partition(" ")
    parts: dict[str, Any] = {"marque": first, "model": rest} if not marque else {"model": words}
    return {key: value for key, value in parts.items() if value} | ({"year": int(year[1])} if year else {})


def date_code(text: str) -> str:
    """The figures of a tyre's date code out of a whole “DOT …” mark."""
    match = re.search(r"(\d{3,4})$", text.strip())
    return match[1] if match and text.strip().upper().startswith("DOT") else text.strip()
