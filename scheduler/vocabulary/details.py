"""What an entry of the care log may hold beside its date and its note: the form of each detail.

Limits stop slips of the pen; they are policy. Values are SI, or in the unit named.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Detail:
    """What all details share.

    ``label``: in the log, and in the form unless ``asked`` says it otherwise there. ``in_form``: False
    where the program fills it in. ``heading``: its column in tables, the label where empty; one column
    serves all kinds that have the key. ``also``: other headings, parted by strokes. ``home``:
    False where a table's row does not tell of this kind by giving this alone.
    """

    key: str
    label: str
    required: bool = False
    asked: str = ""
    help: str = ""
    in_form: bool = True
    heading: str = ""
    also: str = ""
    home: bool = True


@dataclass(frozen=True, kw_only=True)
class Number(Detail):
    """A measured or counted value between two limits, both allowed."""

    low: float
    high: float
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class Flag(Detail):
    """Yes or no. ``no_is_silence``: a table says it of every row by a tick."""

    no_is_silence: bool = False


@dataclass(frozen=True, kw_only=True)
class Choice(Detail):
    """One of a few, as (code, words)."""

    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class Text(Detail):
    """Free words up to a length. ``refers_to``: the kind of the entry whose number they are."""

    limit: int
    refers_to: str = ""


@dataclass(frozen=True, kw_only=True)
class Words(Detail):
    """A list of short texts."""

    limit: int = 60
    most: int = 40


@dataclass(frozen=True, kw_only=True)
class Row(Detail):
    """The number of a row of ours: a bay. It has no column: its words have."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A quantity that the kind may hold; a field each position where it has positions.

    ``asked``: the field's label, the position's title in the braces. ``positions``: in this order.
    """

    quantity: str
    positions: tuple[str, ...] = ()
    asked: str = ""
    help: str = ""
    in_form: bool = True


@dataclass(frozen=True, kw_only=True)
class Along:
    """What is written down along with a reading and kept on its row."""

    key: str
    asked: str = ""


TEMPERATURE = Number(key="temperature_c", label="Temperature", low=-60, high=80, unit="°C")
REST = Number(key="rest_hours", label="Rested for", low=0, high=100_000, unit="h")
