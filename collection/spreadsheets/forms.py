"""A table on its way in: the file, what its columns mean, which car a name means."""

from collections.abc import Mapping as Facts
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from collection.models import SheetImport, SheetKind
from collection.spreadsheets.actions.incoming import KINDS, Answer, mapping_of, shape_for
from collection.spreadsheets.asking import BadRow, Options
from collection.spreadsheets.sheets import dates
from collection.spreadsheets.sheets.cells import Sheet, text_of
from collection.spreadsheets.sheets.fields import NUMBER
from collection.spreadsheets.sheets.guessing import column_of, refined
from collection.spreadsheets.sheets.headings import heading_of
from collection.spreadsheets.sheets.letters import letters
from collection.spreadsheets.sheets.mapping import TICK, TO_NOTE, Mapping, Use
from collection.spreadsheets.sheets.reading import MOST_BYTES, MOST_ROWS
from collection.spreadsheets.sheets.shaping import NO_HEADINGS, Shape, Table
from collection.spreadsheets.sheets.units import AMERICAN, BRITISH, gallons_in_heading
from collection.spreadsheets.sheets.values import MOST_TEXT
from collection.web.measures import PlainForm
from collection.web.units import Edge
from scheduler.vocabulary.units import UNITS

SAMPLES, LONG = 4, 40
ORDERS = ((dates.DMY, "day first: 31/12/2024"), (dates.MDY, "month first: 12/31/2024"))
WHY = {
    "order": "Every date of this column can be read both ways: say whether the day or the month comes first.",
    "unit": "Nothing says in which unit this is: choose it.",
    "year": "These dates have no year: say which.",
}
NAMED_BY_SHEET = {"cars": ("owner", "place", "name"), "log": ("car.name", "kind", "by")}
SHARED = {"cars": ("owner", "place"), "log": ("car.name", "kind", "by")}  # what may hold for all rows


class TakeInForm(PlainForm):
    """The file; what it is brought in for is found out, and can be changed on the next page."""

    file = forms.FileField(
        label="The file",
        help_text=f"CSV, .xlsx, .xls or .ods, up to {MOST_BYTES / 1e6:.0f} MB and {MOST_ROWS:,} rows.",
        widget=forms.ClearableFileInput({"accept": ".csv,.txt,.tsv,.xlsx,.xlsm,.xls,.ods"}),
        error_messages={"empty": "This file is empty: send one with headings and rows."},
    )
    kind = forms.ChoiceField(
        label="It holds",
        choices=[("", "Find out"), *SheetKind.choices],
        required=False,
        widget=forms.RadioSelect,
        initial="",
    )

    def clean_file(self) -> Any:
        """Small enough to be read while somebody waits."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise ValidationError(
                f"This file has {file.size / 1e6:.1f} MB: up to {MOST_BYTES / 1e6:.0f} MB are read. Split it."
            )
        return file


class ShapeForm(PlainForm):
    """Which sheets of the file, where their headings stand, what the name of each tells."""

    kind = forms.ChoiceField(label="It holds", choices=SheetKind.choices)
    sheets = forms.MultipleChoiceField(
        label="Sheets",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose one sheet at least."},
    )
    header = forms.IntegerField(
        label="Headings in row", min_value=1, max_value=MOST_ROWS, required=False, help_text="Empty: none."
    )
    joined = forms.BooleanField(label="with the row above", required=False)
    turned = forms.BooleanField(label="One car or day to a column", required=False)
    sheet_is = forms.ChoiceField(label="The sheet’s name is", required=False)

    def __init__(self, *args: Any, row: SheetImport, sheets: list[Sheet], **kwargs: Any) -> None:
        self.shape = mapping_of(row).shape
        read = [name for name, _ in self.shape.sheets]
        header = self.shape.header
        initial = {
            "kind": row.kind,
            "sheets": read,
            "header": header + 1 if header != NO_HEADINGS else None,
            "joined": self.shape.depth > 1,
            "turned": self.shape.turned,
            "sheet_is": self.shape.sheet_is,
        }
        super().__init__(*args, initial=initial, **kwargs)
        self.row, self.before = row, initial
        names = [(sheet.name, f"{sheet.name} ({len(sheet.rows)} rows)") for sheet in sheets]
        self.fields["sheets"].choices = names  # type: ignore[attr-defined]
        if len(sheets) == 1:
            self.fields["sheets"].widget = forms.MultipleHiddenInput()
        options = [(key, KINDS[row.kind].field(key).label) for key in NAMED_BY_SHEET[row.kind]]  # type: ignore[union-attr]
        self.fields["sheet_is"].choices = [("", "Not used"), *options]  # type: ignore[attr-defined]

    def result(self) -> Shape:
        """The shape as somebody wants it; what they left as it was is found anew for other sheets."""
        values = self.cleaned_data
        same = values["sheets"] == self.before["sheets"] and values["turned"] == self.before["turned"]
        shape = self.shape if same else shape_for(self.row, values["sheets"], turned=values["turned"])
        if same and (values["header"], values["joined"]) != (self.before["header"], self.before["joined"]):
            header = values["header"] - 1 if values["header"] else NO_HEADINGS
            depth = 0 if header == NO_HEADINGS else 2 if values["joined"] and header else 1
            sheets = tuple((name, header) for name, _ in shape.sheets)
            shape = Shape(sheets, depth=depth, turned=shape.turned)
        chosen = values["sheet_is"]
        return replace(
            shape, sheet_is=chosen if chosen != self.before["sheet_is"] or same else shape.sheet_is
        )


class ColumnsForm(PlainForm):
    """For each column: what it means, its unit, its order of day and month, its year; what all rows share."""

    def __init__(self, data: Any, *, kind: str, table: Table, mapping: Mapping, edge: Edge) -> None:
        super().__init__(data)
        self.kind, self.table, self.mapping, self.edge = KINDS[kind], table, mapping, edge
        width = max([len(table.headings), *(len(row) for _, row in table.rows)], default=0)
        self.cells = {at: column_of(table, at) for at in range(width)}
        for at in range(width):
            self._column(at, mapping.columns.get(at))
        for key in SHARED[kind]:
            field = self.kind.field(key)
            if field is not None:
                self.fields[f"all.{key}"] = forms.CharField(
                    label=field.label, required=False, max_length=120, initial=mapping.fixed.get(key, "")
                )
        self.fields["skip_doubles"] = forms.BooleanField(
            required=False, label="Leave out what is on the record already"
        )

    def shared(self) -> list[Any]:
        """The fields that hold for every row."""
        return [self[name] for name in self.fields if name.startswith("all.")]

    def _column(self, at: int, use: Use | None) -> None:
        name = heading_of(self.table.headings, at)
        options = [
            ("", "Not brought in"),
            (TO_NOTE, "Into the note"),
            *([(TICK, "Ticks: the work it names")] if self.kind.field("kind") else []),
            *((field.key, field.label) for field in self.kind.fields),
        ]
        self.fields[f"f{at}"] = forms.ChoiceField(
            choices=options, required=False, initial=use.field if use else "", label=f"“{name}” is"
        )
        chosen = self.kind.field((self.data.get(f"f{at}") if self.is_bound else use and use.field) or "")
        if chosen is None:
            return
        finer = refined(Use(chosen.key), self.kind, name, self.cells[at], self.edge)
        now = use if use and use.field == chosen.key else finer
        if len(UNITS.get(chosen.unit, ())) > 1:
            gallons = gallons_in_heading(chosen.unit, name) and now.unit_asked
            known = [unit for unit in UNITS[chosen.unit] if not gallons or unit.name in (AMERICAN, BRITISH)]
            units = [(unit.name, unit.name) for unit in known]
            first = [("", "Choose the unit")] if now.unit_asked else []
            self._choice(f"u{at}", f"Unit of “{name}”", [*first, *units], "" if now.unit_asked else now.unit)
        if finer.order:
            order = now.order or finer.order
            first = [("", "Choose")] if order == dates.ASK else []
            self._choice(
                f"o{at}", f"Dates in “{name}”", [*first, *ORDERS], order if order != dates.ASK else ""
            )
        if finer.year == dates.ASK_YEAR:
            self.fields[f"y{at}"] = forms.IntegerField(
                label=f"Year of “{name}”",
                required=False,
                min_value=dates.EARLIEST,
                max_value=dates.LATEST,
                initial=now.year if now.year > 0 else None,
                widget=forms.NumberInput({"placeholder": "Which year?"}),
            )
        if chosen.type == NUMBER and any(isinstance(cell, str) and "," in cell for cell in self.cells[at]):
            signs = [("point", "12.5"), ("comma", "12,5")]
            self._choice(f"d{at}", f"Decimals in “{name}”", signs, now.decimal)

    def _choice(self, key: str, label: str, choices: Any, initial: str) -> None:
        self.fields[key] = forms.ChoiceField(choices=choices, required=False, label=label, initial=initial)

    def rows(self) -> list[dict[str, Any]]:
        """The table of the page: a column of the file to a row."""
        return [
            {
                "letters": letters(at),
                "heading": heading_of(self.table.headings, at),
                "samples": self._samples(at),
                "field": self[f"f{at}"],
                "unsure": self._unsure(at),
                "more": [self[f"{of}{at}"] for of in "uoyd" if f"{of}{at}" in self.fields],
            }
            for at in self.cells
        ]

    def _unsure(self, at: int) -> bool:
        use = self.mapping.columns.get(at)
        return use is not None and not use.sure

    def _samples(self, at: int) -> list[str]:
        texts: list[str] = []
        for cell in self.cells[at]:
            text = text_of(cell)
            if text not in texts:
                texts.append(text)
            if len(texts) == SAMPLES:
                break
        return [text if len(text) <= LONG else f"{text[: LONG - 1]}…" for text in texts]

    def clean(self) -> dict[str, Any]:
        """Ask for what no row tells: a unit, the order of day and month, a year."""
        values = self.cleaned_data
        self.columns = {at: use for at in self.cells if (use := self._use(at, values))}
        for at, asked in replace(self.mapping, columns=self.columns).questions():
            key = f"{asked[0]}{at}"
            if key not in self.fields:
                self._ask_anew(key, at, asked)
            self.add_error(key, WHY[asked])
        return values

    def _ask_anew(self, key: str, at: int, asked: str) -> None:
        """What a meaning that was chosen just now asks for."""
        field = self.kind.field(self.columns[at].field)
        if asked == "year":
            self.fields[key] = forms.IntegerField(label="Year", required=False)
            return
        units = (
            [(unit.name, unit.name) for unit in UNITS[field.unit]] if field and asked == "unit" else ORDERS
        )
        self._choice(key, asked.capitalize(), [("", "Choose"), *units], "")

    def _use(self, at: int, values: Facts[str, Any]) -> Use | None:
        chosen = values.get(f"f{at}") or ""
        if chosen in (TO_NOTE, TICK):
            return Use(chosen)
        field = self.kind.field(chosen)
        if field is None:
            return None
        heading = heading_of(self.table.headings, at)
        finer = refined(Use(field.key), self.kind, heading, self.cells[at], self.edge)
        unit, year = values.get(f"u{at}") or "", values.get(f"y{at}") or 0
        return replace(
            finer,
            unit=unit or finer.unit,
            unit_asked=finer.unit_asked and not unit,
            order=values.get(f"o{at}") or finer.order,
            year=year or finer.year,
            decimal=values.get(f"d{at}") or finer.decimal,
        )

    def result(self) -> Mapping:
        """What somebody made of the columns."""
        fixed = {
            name.removeprefix("all."): text
            for name in self.fields
            if name.startswith("all.") and (text := self.cleaned_data.get(name))
        }
        return replace(self.mapping, columns=self.columns, fixed=self.mapping.fixed | fixed)


class AskedForm(PlainForm):
    """What texts of the table mean that nobody could tell: cars, owners, bays, words."""

    def __init__(self, data: Any, *, asked: list[Facts[str, Any]], options: Options) -> None:
        super().__init__(data)
        self.asked = asked
        for at, it in enumerate(asked):
            self.fields[f"a{at}"] = forms.ChoiceField(
                label=options.label(it),
                required=False,
                choices=[("", "Not said yet"), *options.of(it)],
                help_text=f"{it['rows']} row{'' if it['rows'] == 1 else 's'}, first {it['first']}",
            )

    def answers(self) -> list[Answer]:
        """What was said."""
        return [
            Answer(it["field"], it["text"], chosen)
            for at, it in enumerate(self.asked)
            if (chosen := self.cleaned_data.get(f"a{at}"))
        ]


class RowsForm(PlainForm):
    """Rows with faults: their cells to be corrected, or the row set aside."""

    def __init__(self, data: Any, *, rows: list[BadRow]) -> None:
        super().__init__(data)
        self.bad = rows
        for row in rows:
            for at, heading, text in row.cells:
                self.fields[f"{row.name}!{at}"] = forms.CharField(
                    label=heading, required=False, initial=text, strip=True, max_length=MOST_TEXT
                )
            self.fields[f"{row.name}!aside"] = forms.BooleanField(label="Set this row aside", required=False)

    def panels(self) -> list[dict[str, Any]]:
        """What the page shows of each row."""
        return [
            {
                "row": row,
                "cells": [self[f"{row.name}!{at}"] for at, _, _ in row.cells],
                "aside": self[f"{row.name}!aside"],
            }
            for row in self.bad
        ]

    def edits(self) -> dict[str, dict[str, str]]:
        """Cells that are not as they were, by row and column."""
        changed: dict[str, dict[str, str]] = {}
        for row in self.bad:
            for at, _, before in row.cells:
                text = self.cleaned_data.get(f"{row.name}!{at}", "")
                if text != before:
                    changed.setdefault(row.name, {})[str(at)] = text
        return changed

    def aside(self) -> dict[str, str]:
        """The rows that are to wait, each with what is wrong in it."""
        return {
            row.name: "; ".join(fault["text"] for fault in row.faults)
            for row in self.bad
            if self.cleaned_data.get(f"{row.name}!aside")
        }
