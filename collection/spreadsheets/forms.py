"""A table on its way in: the file, what its columns mean, which car a name means."""

from collections.abc import Mapping as Facts
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from collection.models import SheetKind, Vehicle
from collection.spreadsheets.actions.incoming import KINDS
from collection.spreadsheets.sheets import dates
from collection.spreadsheets.sheets.cells import Sheet, text_of
from collection.spreadsheets.sheets.fields import DATE, MOMENT, NUMBER
from collection.spreadsheets.sheets.guessing import column_of, refined
from collection.spreadsheets.sheets.headings import heading_of, letters
from collection.spreadsheets.sheets.mapping import Mapping, Use
from collection.spreadsheets.sheets.reading import MOST_BYTES, MOST_ROWS
from collection.web.measures import PlainForm
from collection.web.units import Edge
from scheduler.vocabulary.units import UNITS

SAMPLES, LONG = 4, 40
ORDERS = ((dates.DMY, "day first: 31/12/2024"), (dates.MDY, "month first: 12/31/2024"))
UNDECIDED = "Every date of this column can be read both ways: say whether the day or the month comes first."


class TakeInForm(PlainForm):
    """The file, and what it is brought in for."""

    kind = forms.ChoiceField(label="It holds", choices=SheetKind.choices, widget=forms.RadioSelect)
    file = forms.FileField(
        label="The file",
        help_text=f"CSV or .xlsx, up to {MOST_BYTES / 1e6:.0f} MB and {MOST_ROWS:,} rows.",
        widget=forms.ClearableFileInput({"accept": ".csv,.txt,.tsv,.xlsx,.xlsm"}),
        error_messages={"empty": "This file is empty: send one with headings and rows."},
    )

    def clean_file(self) -> Any:
        """Small enough to be read while somebody waits."""
        file = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise ValidationError(
                f"This file has {file.size / 1e6:.1f} MB: up to {MOST_BYTES / 1e6:.0f} MB are read. Split it."
            )
        return file


class SheetForm(PlainForm):
    """Which sheet of the workbook, and in which row its headings stand."""

    sheet = forms.ChoiceField()
    header = forms.IntegerField(label="Headings in row", min_value=1, max_value=MOST_ROWS, required=False)

    def __init__(self, *args: Any, sheets: list[Sheet], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sheet"].choices = [(s.name, f"{s.name} ({len(s.rows)} rows)") for s in sheets]  # type: ignore[attr-defined]
        if len(sheets) == 1:
            self.fields["sheet"].widget = forms.HiddenInput()


class ColumnsForm(PlainForm):
    """For each column: what it means, its unit, its order of day and month, its decimal sign."""

    def __init__(self, data: Any, *, kind: str, sheet: Sheet, mapping: Mapping, edge: Edge) -> None:
        super().__init__(data)
        self.kind, self.sheet, self.mapping, self.edge = KINDS[kind], sheet, mapping, edge
        below = sheet.rows[mapping.header + 1 :]
        self.headings = sheet.rows[mapping.header] if mapping.header < len(sheet.rows) else []
        width = max((len(row) for row in sheet.rows[mapping.header :]), default=0)
        self.cells = {at: column_of(below, at) for at in range(width)}
        for at in range(width):
            self._column(at, mapping.columns.get(at))
        self.fields["skip_doubles"] = forms.BooleanField(
            required=False, label="Leave out rows that are on the record already"
        )

    def _column(self, at: int, use: Use | None) -> None:
        name = heading_of(self.headings, at)
        options = [("", "Not brought in"), *((field.key, field.label) for field in self.kind.fields)]
        self.fields[f"f{at}"] = forms.ChoiceField(
            choices=options, required=False, initial=use.field if use else "", label=f"“{name}” is"
        )
        chosen = self.kind.field((self.data.get(f"f{at}") if self.is_bound else use and use.field) or "")
        if chosen is None:
            return
        finer = refined(use or Use(chosen.key), self.kind, name, self.cells[at], self.edge)
        if len(UNITS.get(chosen.unit, ())) > 1:
            units = [(unit.name, unit.name) for unit in UNITS[chosen.unit]]
            self._choice(f"u{at}", f"Unit of “{name}”", units, use.unit if use else finer.unit)
        if chosen.type in (DATE, MOMENT) and (finer.order or (use and use.order)):
            order = use.order if use and use.order else finer.order
            first = [("", "Choose")] if order == dates.ASK else []
            self._choice(
                f"o{at}", f"Dates in “{name}”", [*first, *ORDERS], order if order != dates.ASK else ""
            )
        if chosen.type == NUMBER and any(isinstance(cell, str) and "," in cell for cell in self.cells[at]):
            signs = [("point", "12.5"), ("comma", "12,5")]
            self._choice(f"d{at}", f"Decimals in “{name}”", signs, use.decimal if use else finer.decimal)

    def _choice(self, key: str, label: str, choices: Any, initial: str) -> None:
        self.fields[key] = forms.ChoiceField(choices=choices, required=False, label=label, initial=initial)

    def rows(self) -> list[dict[str, Any]]:
        """The table of the page: a column of the file to a row."""
        return [
            {
                "letters": letters(at),
                "heading": heading_of(self.headings, at),
                "samples": self._samples(at),
                "field": self[f"f{at}"],
                "unsure": self._unsure(at),
                "more": [self[f"{of}{at}"] for of in "uod" if f"{of}{at}" in self.fields],
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
        """Ask for the order of day and month where no row tells it."""
        values = self.cleaned_data
        self.columns = {at: use for at in self.cells if (use := self._use(at, values))}
        for at, use in self.columns.items():
            if use.order == dates.ASK:
                if f"o{at}" not in self.fields:
                    self._choice(f"o{at}", "Dates", [("", "Choose"), *ORDERS], "")
                self.add_error(f"o{at}", UNDECIDED)
        return values

    def _use(self, at: int, values: Facts[str, Any]) -> Use | None:
        field = self.kind.field(values.get(f"f{at}") or "")
        if field is None:
            return None
        finer = refined(Use(field.key), self.kind, heading_of(self.headings, at), self.cells[at], self.edge)
        order = values.get(f"o{at}") or finer.order
        unit = values.get(f"u{at}") if f"u{at}" in self.data else finer.unit
        return replace(
            finer, unit=unit or finer.unit, order=order, decimal=values.get(f"d{at}") or finer.decimal
        )

    def result(self, cars: dict[str, int]) -> Mapping:
        """What somebody made of the columns."""
        return Mapping(self.mapping.sheet, self.mapping.header, self.columns, cars)


class CarsForm(PlainForm):
    """Which car each name means that fits several, or none."""

    def __init__(self, data: Any, *, asked: Facts[str, list[int]], cars: Facts[int, Vehicle]) -> None:
        super().__init__(data)
        self.texts = list(asked)
        for at, text in enumerate(self.texts):
            fits = [cars[pk] for pk in asked[text] if pk in cars] or list(cars.values())
            options = [
                (str(car.pk), f"{car}{', ' + car.registration if car.registration else ''}") for car in fits
            ]
            self.fields[f"c{at}"] = forms.ChoiceField(
                label=f"“{text}” is", required=False, choices=[("", "Not said yet"), *options]
            )

    def answers(self) -> dict[str, int]:
        """Name: the number of the car."""
        chosen = {text: self.cleaned_data.get(f"c{at}") for at, text in enumerate(self.texts)}
        return {text: int(pk) for text, pk in chosen.items() if pk}
