"""What the check of a table finds, and the pieces in which it is then stored.

Each piece is stored in a short transaction of the caller's and says what has been stored by then. Read anew
after some of them, a table gives those that are left.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError

from collection.care.actions.record import Edit, open_records
from collection.life.queries import local_day
from collection.models import Basis, Person, SheetImport, SheetKind
from collection.permissions import EDIT_CARS, MANAGE, WORK, may_in, zone_of_organisation
from collection.spreadsheets.actions import cars, log
from collection.spreadsheets.actions.findings import Beat, Findings, Pace, pieces_of
from collection.spreadsheets.actions.incoming import mapping_of, reader_of, sheets_of
from collection.spreadsheets.actions.log_store import store_log, stored_keys
from collection.spreadsheets.actions.undoing import record_print
from collection.spreadsheets.queries import garage_of, places_of
from collection.spreadsheets.sheets.guessing import column_of
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.parsing import Parsed
from collection.spreadsheets.sheets.shaping import RowName, table_of

Result = dict[str, Any]
Piece = Callable[[datetime], Result]


@dataclass
class Work:
    """What a check found, and the pieces to be stored."""

    found: Findings
    pieces: Iterator[Piece]
    before: Result  # what is stored already
    pace: Pace


@dataclass
class Lines:
    """The rows of a table, each read; lines that are no rows of it, columns without a meaning."""

    rows: list[Parsed]
    skipped: list[tuple[RowName, str]]
    columns: list[str]

    def tell(self, findings: Findings) -> None:
        """Nothing is left out in silence."""
        for name, why in self.skipped:
            findings.note(name, "", f"{why}: left out")
        findings.left = self.columns


def _lines(row: SheetImport) -> Lines:
    """The rows of the table, each read; ValidationError where something must be said of a column first."""
    reader = reader_of(row)
    table = table_of(sheets_of(row), reader.mapping.shape)
    if asked := reader.mapping.questions():
        names = ", ".join(sorted({f"{what} of “{heading_of(table.headings, at)}”" for at, what in asked}))
        raise ValidationError(f"Say first: {names}.")
    unread = [at for at in range(len(table.headings)) if at not in reader.mapping.columns]
    left = [heading_of(table.headings, at) for at in unread if column_of(table, at)]
    return Lines(list(reader.rows(table)), table.skipped, left)


def read_table(row: SheetImport, beat: Beat, now: datetime) -> Work:
    """Check every row that is not stored yet against the record as it is."""
    if row.by is None:
        raise ValidationError("Whoever sent this table is no longer here: send it again.")
    needed = EDIT_CARS if row.kind == SheetKind.CARS else WORK
    if not may_in(row.by, row.organisation, needed):
        raise ValidationError("Your role no longer allows this: ask a manager.")
    return (_cars if row.kind == SheetKind.CARS else _log)(row, row.by, beat, now)


def _cars(row: SheetImport, by: Person, beat: Beat, now: datetime) -> Work:
    organisation, today = row.organisation, local_day(row.organisation, now)
    answers, may = mapping_of(row).answers, may_in(by, organisation, MANAGE)
    before: Result = {"made": {}, "owners": 0, "upto": -1} | row.result

    def rows() -> list[Parsed]:
        return [each for each in lines.rows if each.place > before["upto"]]

    def barn() -> cars.Barn:
        return cars.barn_of(
            organisation, today, may_add_owners=may, skip_doubles=row.skip_doubles, answers=answers
        )

    lines, pace = _lines(row), Pace(first=5, most=50)
    findings = cars.check_cars(rows(), barn(), beat)
    lines.tell(findings)

    def pieces() -> Iterator[Piece]:
        nonlocal lines
        lines, here = _lines(row), barn()
        for some in pieces_of(rows(), pace):
            yield lambda at, some=some: store(some, here, at)  # type: ignore[misc]

    def store(some: tuple[Parsed, ...], here: cars.Barn, at: datetime) -> Result:
        made = list(cars.store_cars(some, here))
        open_records(made, Edit(by, at, basis=Basis.DOCUMENT))
        before["made"] |= {str(car.pk): record_print(car.pk) for car in made}
        return before | {"owners": len(here.new_owners), "upto": some[-1].place}

    return Work(findings, pieces(), before, pace)


def _log(row: SheetImport, by: Person, beat: Beat, now: datetime) -> Work:
    table, pace = _lines(row), Pace(first=100, most=500)
    before: Result = {"cars": [], "entries": 0} | row.result
    checked = log.Log(
        garage_of(row.organisation),
        places_of(row.organisation),
        zone_of_organisation(row.organisation),
        now,
        mapping_of(row).answers.get("car", {}),
        row.skip_doubles,
        by.name,
        stored=stored_keys(row.pk, before["cars"]),
    )
    findings = log.check_log(table.rows, checked, beat)
    table.tell(findings)

    def pieces() -> Iterator[Piece]:
        """Car by car, since each car of a piece has its chain and its dates to be seen to."""
        by_car = sorted(checked.lines, key=lambda line: line.draft.vehicle.pk)
        for some in pieces_of(by_car, pace):
            yield lambda at, some=some: store(some, at)  # type: ignore[misc]

    def store(some: tuple[log.Line, ...], at: datetime) -> Result:
        touched = store_log(some, sheet=row.pk, by=by, now=at, after=before["entries"])
        before["cars"] = sorted({*before["cars"], *touched})
        before["entries"] += len(some)
        return before

    return Work(findings, pieces(), before, pace)
