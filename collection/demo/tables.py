"""The demo's tables in fixtures/demo: one car a line, empty cells where nobody knows."""

import csv
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta
from django.conf import settings

Row = dict[str, str]


@dataclass(frozen=True)
class CarLine:
    """One car: its line in cars.csv and, where there is one, its line in kit.csv."""

    car: Row
    kit: Row

    @property
    def key(self) -> str:
        """What the stories call it: registration, else marque and model."""
        return self.car["registration"] or f"{self.car['marque']} {self.car['model']}"

    def days(self, column: str) -> int:
        """A whole number of days from cars.csv."""
        return int(self.car[column])


def read(name: str) -> list[Row]:
    """The rows of a table of the demo."""
    path = settings.BASE_DIR / "fixtures" / "demo" / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def car_lines() -> list[CarLine]:
    """Every car of the demo, in the order of cars.csv."""
    kit = {row["registration"]: row for row in read("kit")}
    return [CarLine(row, kit.get(row["registration"], {})) for row in read("cars")]


def number(text: str) -> float | None:
    """A number, or nothing for an empty cell."""
    return float(text) if text else None


def months_before(day: date, months: int) -> date:
    """The same day of the month, that many months earlier."""
    earlier: date = day - relativedelta(months=months)
    return earlier


def ago(today: date, months: str) -> date | None:
    """The day that many months ago, or nothing for an empty cell."""
    return months_before(today, int(months)) if months else None


def date_code(today: date, years: str) -> str:
    """The four-digit code of a tyre made that many years ago: week, then year."""
    year, week, _ = months_before(today, 12 * int(years)).isocalendar()
    return f"{week:02d}{year % 100:02d}"
