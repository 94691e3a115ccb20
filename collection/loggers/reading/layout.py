"""How a logger's file is to be read: guessed first, shown, changed by a person, kept with the file."""

from dataclasses import asdict, dataclass, fields, replace
from typing import Any, Literal, Self

NONE = -1  # no such column

ORDERS = {
    "ymd": "Year, month, day",
    "dmy": "Day, month, year",
    "mdy": "Month, day, year",
    "compact": "20240131 235900",
    "epoch_s": "Seconds since 1970",
    "epoch_ms": "Milliseconds since 1970",
    "serial": "Days of a spreadsheet",
}
ZONES = {
    "site": "The site's clock, with summer time",
    "standard": "The site's clock, always on winter time",
    "utc": "UTC",
    "stamp": "As each stamp says itself",
}
UNITS = {"c": "°C", "f": "°F"}
VOLT_UNITS = {"v": "V", "mv": "mV"}
DUPLICATES = {"mean": "Take their mean", "first": "Take the first"}
DELIMITERS = {",": "Comma", ";": "Semicolon", "\t": "Tab", "|": "Bar"}
DECIMALS = {".": "Point: 3.5", ",": "Comma: 3,5"}

# A fixed offset is named as in "+05:30", besides the names of ZONES.
Role = Literal["temperature", "humidity", "dew_point", "volts"]
ROLES: tuple[Role, ...] = ("temperature", "humidity", "dew_point", "volts")


@dataclass(frozen=True)
class Layout:
    """``start`` is the first line with values, from 0; columns are counted from 0, -1 for none."""

    encoding: str
    delimiter: str
    start: int
    decimal: str
    names: tuple[str, ...]
    date: int
    time: int
    order: str
    zone: str
    temperature: int = NONE
    humidity: int = NONE
    dew_point: int = NONE
    volts: int = NONE
    unit: str = "c"
    volt_unit: str = "v"
    duplicates: str = "mean"
    undecided: bool = False  # day and month could stand either way, and nobody has said which

    def as_json(self) -> dict[str, Any]:
        """Plain values, to be kept."""
        return asdict(self)

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        """From what was kept."""
        known = {spec.name for spec in fields(cls)}
        facts = {name: value for name, value in kept.items() if name in known}
        return cls(**facts | {"names": tuple(facts["names"])})


def changed(layout: Layout, **choices: object) -> Layout:
    """The layout as a person wants it: their choice of the order of day and month settles that question."""
    return replace(layout, **choices | {"undecided": False})  # type: ignore[arg-type]  # checked by the form
