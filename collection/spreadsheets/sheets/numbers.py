"""Numbers as people write them: a point or a comma, groups of thousands, a unit behind."""

import re
from collections.abc import Iterable

LONGEST = 80  # signs of a number with its unit
# Figures, their groups and an exponent, then words. Each run is taken once and not given back.
NUMBER = re.compile(
    r"([+\-−–]?\s?\d(?:[\d., \u00a0\u202f]|['’](?=\d))*+(?:(?<=[\d.])[eE][+-]?\d{1,3}(?![\d.,]))?)"
    r"\s*+([^\d\s.,].*)?"
)
POINT, COMMA = "point", "comma"


def split_unit(text: str) -> tuple[str, str] | None:
    """The figures and the words behind them; None when it does not begin with a number."""
    text = text.strip().lstrip("~≈ ")
    match = NUMBER.fullmatch(text) if len(text) <= LONGEST else None
    return (match[1].strip(), (match[2] or "").strip()) if match else None


def decimal_sign(texts: Iterable[str], *, otherwise: str = POINT) -> str:
    """What stands before a column's decimals: told by the cells that can be read one way only."""
    for text in texts:
        parts = split_unit(text)
        if parts is None:
            continue
        figures = parts[0]
        comma, point = figures.rfind(","), figures.rfind(".")
        if comma >= 0 and point >= 0:
            return COMMA if comma > point else POINT
        if comma >= 0 and figures.count(",") == 1 and len(figures) - comma - 1 != 3:
            return COMMA
        if point >= 0 and figures.count(".") == 1 and len(figures) - point - 1 != 3:
            return POINT
    return otherwise


def number(figures: str, decimal: str) -> float:
    """The value of figures; ValueError when they are none."""
    if len(figures) > LONGEST:
        raise ValueError("these are more figures than any number has")
    text = re.sub(r"[ '’\u00a0\u202f]", "", figures).replace("−", "-").replace("–", "-")
    group, sign = (".", ",") if decimal == COMMA else (",", ".")
    if sign not in text and text.count(group) == 1 and not re.fullmatch(r"[+-]?\d{1,3}\D\d{3}", text):
        group, sign = sign, group  # one sign that stands where no thousands can: it is the decimal
    return float(text.replace(group, "").replace(sign, "."))
