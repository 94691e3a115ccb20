"""Where on a car something is measured: its wheels, the cells of its battery."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Position:
    """``short``: how headings of tables abbreviate it, parted by strokes."""

    code: str
    title: str
    short: str = ""


WHEELS = (
    Position(
        code="front_left",
        title="Front left",
        short="fl|lf|left front|front left|nsf|front nearside|nearside front",
    ),
    Position(
        code="front_right",
        title="Front right",
        short="fr|rf|right front|front right|osf|front offside|offside front",
    ),
    Position(
        code="rear_left", title="Rear left", short="rl|lr|left rear|rear left|nsr|rear nearside|nearside rear"
    ),
    Position(
        code="rear_right", title="Rear right", short="rr|right rear|rear right|osr|rear offside|offside rear"
    ),
)
SPARE = Position(code="spare", title="Spare", short="spare|spare wheel|sp")
TYRES = (*WHEELS, SPARE)
CELLS = tuple(Position(code=cell, title=f"cell {cell}", short=cell) for cell in "123456")
