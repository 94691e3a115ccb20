"""What somebody is asked about a table: what a text may mean, and what is wrong in which cells."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from collection.models import Bay, CareKind, Owner, SheetImport, Vehicle
from collection.permissions import Access
from collection.spreadsheets.actions.bays import ADD, HOUSE, bay_named
from collection.spreadsheets.actions.cars import NEW, NO_BAY
from collection.spreadsheets.actions.incoming import KINDS, mapping_of, sheets_of
from collection.spreadsheets.sheets.cells import shown, text_of
from collection.spreadsheets.sheets.fields import FLAG
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.mapping import TO_NOTE
from collection.spreadsheets.sheets.shaping import table_of
from scheduler.vocabulary.buildings import BUILDING_KINDS

Pairs = list[tuple[str, str]]
AT_ONCE = 25  # rows with faults that are mended on one page


class Options:
    """What may be chosen for each thing that is asked, of what this person may see."""

    def __init__(self, access: Access, row: SheetImport) -> None:
        self._access, self._kind, self._manages = access, KINDS[row.kind], access.may_manage

    def label(self, asked: Mapping[str, Any]) -> str:
        """The question."""
        field, text = asked["field"], shown(asked["text"])
        match field:
            case "fixed:owner":
                return "Whose cars are these?"
            case "fixed:car.number":
                return "Which car is this table about?"
            case "owner":
                return f"Owner “{text}” is"
            case "place":
                return f"“{text}” stands for"
        of = self._kind.field(field)
        return f"{of.label}: “{text}” is" if of else f"“{text}” is"

    def of(self, asked: Mapping[str, Any]) -> Pairs:
        """The choices."""
        field, fits = asked["field"], asked["fits"]
        match field:
            case "car" | "fixed:car.number":
                return self._cars(fits)
            case "fixed:owner":
                return [(owner.name, owner.name) for owner in self._owners]
            case "owner":
                return [*((name, name) for name in fits), *self._another()]
            case "place":
                return self._bays(fits, asked["text"])
            case "kind":
                kinds = [(it.value, str(it.label)) for it in CareKind if it != CareKind.WITHDRAWN]
                return [(TO_NOTE, "No work: into the note"), *kinds]
        return [*self._words(field), (TO_NOTE, "Put it into the note")]

    def _another(self) -> Pairs:
        return [(NEW, "Another owner: add")] if self._manages else []

    def _words(self, field: str) -> Pairs:
        of = self._kind.field(field)
        if of is None:
            return []
        if of.type == FLAG:
            return [("yes", "Yes"), ("no", "No")]
        return list(dict(of.choices()).items()) if of.choices else []

    def _cars(self, fits: Iterable[int]) -> Pairs:
        cars = [self._vehicles[pk] for pk in fits if pk in self._vehicles] or list(self._vehicles.values())
        return [(str(car.pk), f"{car}{', ' + car.registration if car.registration else ''}") for car in cars]

    def _bays(self, fits: Iterable[int], text: str) -> Pairs:
        bays = [bay for bay in self._all_bays if bay.pk in fits] or self._all_bays
        houses = self._access.buildings().select_related("site") if self._manages and bay_named(text) else ()
        add = [(f"{ADD}{house.pk}", f"Add “{shown(text)}” in {house}") for house in houses]
        sites = self._access.sites() if self._manages and not fits else ()
        build = [
            (f"{HOUSE}{site.pk} {kind.code}", f"Add “{shown(text)}” at {site}: {kind.title.lower()}")
            for site in sites
            for kind in BUILDING_KINDS
        ]
        return [(NO_BAY, "Leave the bay out"), *add, *((str(bay.pk), str(bay)) for bay in bays), *build]

    @cached_property
    def _vehicles(self) -> dict[int, Vehicle]:
        return self._access.vehicles().in_bulk()

    @cached_property
    def _owners(self) -> list[Owner]:
        return list(self._access.organisation.owners.order_by("name"))

    @cached_property
    def _all_bays(self) -> list[Bay]:
        return list(self._access.bays().select_related("building__site"))


@dataclass(frozen=True)
class BadRow:
    """A row with faults: its cells as they stand, each with its column and heading."""

    name: str
    faults: list[Mapping[str, Any]]
    cells: list[tuple[int, str, str]]


def bad_rows(row: SheetImport) -> list[BadRow]:
    """The first rows with faults; of each the cells at fault, or all that mean something."""
    faults: dict[str, list[Mapping[str, Any]]] = {}
    for fault in row.report.get("faults", []):
        if str(fault["row"]) in faults or len(faults) < AT_ONCE:
            faults.setdefault(str(fault["row"]), []).append(fault)
    if not faults or row.data is None:
        return []
    mapping, kind = mapping_of(row), KINDS[row.kind]
    table = table_of(sheets_of(row), mapping.shape)
    labels = {at: of.label for at, use in mapping.columns.items() if (of := kind.field(use.field))}
    found = {}
    for name, cells in table.rows:
        if str(name) not in faults:
            continue
        at_fault = {fault["field"] for fault in faults[str(name)]}
        columns = [at for at, label in labels.items() if label in at_fault] or list(labels)
        edits = mapping.edits.get(str(name), {})
        found[str(name)] = [
            (
                at,
                heading_of(table.headings, at),
                edits.get(str(at), text_of(cells[at] if at < len(cells) else None)),
            )
            for at in columns
        ]
    return [BadRow(name, wrong, found.get(name, [])) for name, wrong in faults.items()]
