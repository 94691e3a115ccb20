"""No text makes an expression slow: four times the length takes no more than some four times as long."""

from contextlib import suppress
from time import process_time

import pytest

from collection.cars.pasted import cars_pasted
from collection.host.zones import stated_zone
from collection.loggers.reading import stamps
from collection.loggers.reading.columns import Seen, roles, unit_of, volt_unit_of
from collection.loggers.reading.lines import text_of as lines_of
from collection.loggers.reading.stamps import is_bare_clock
from collection.loggers.reading.table import find_table
from collection.spreadsheets.actions.bays import bay_named
from collection.spreadsheets.sheets import dates, numbers
from collection.spreadsheets.sheets.author import split_author
from collection.spreadsheets.sheets.car_fields import CARS
from collection.spreadsheets.sheets.car_rows import date_code, split_name
from collection.spreadsheets.sheets.compound import split_cell
from collection.spreadsheets.sheets.dictionaries import normal
from collection.spreadsheets.sheets.escaping import fit_for_xml, from_xml, unguarded
from collection.spreadsheets.sheets.fields import Field
from collection.spreadsheets.sheets.guessing import Known
from collection.spreadsheets.sheets.headings import bare, candidates, header_row, heading_of, plate
from collection.spreadsheets.sheets.log_fields import LOG
from collection.spreadsheets.sheets.log_rows import works_of
from collection.spreadsheets.sheets.mapping import Use, signature
from collection.spreadsheets.sheets.reading import delimiter_of, read_file
from collection.spreadsheets.sheets.units import gallons_in_heading, unit_in_heading, unit_named
from collection.spreadsheets.sheets.values import choice_of, join_words, split_words, value_of
from collection.spreadsheets.sheets.whole_readings import readings_from
from collection.web.units import edge
from tests.spreadsheets.tables_of import guessed

SHORT = 8_000
TIMES = 4
AT_MOST = 10  # a square would be 16
QUICK_S = 0.05  # so little is no freeze, and too short to be compared
METRIC = edge("metric")
CHOICES = (("shed", "Shed (cold): dry"), ("yard", "Yard"))


def value(text, **field):
    return value_of(Field("x", "X", **field), Use("x"), text)


def compound(text, key, kind):
    return split_cell(kind, kind.field(key), Use(key, unit="psi"), text)


def seen(text):
    column = Seen(0, text[:80], 0.0, 1.0, counts_up=False, sample="")
    return roles([column], of_battery=False), unit_of(column), volt_unit_of(column)


READERS = {
    "normal": normal,
    "bare": lambda text: bare(text, "volts"),
    "candidates": lambda text: candidates(text, LOG),
    "header_row": lambda text: header_row([[text, text]], CARS),
    "heading_of": lambda text: heading_of([text], 0),
    "plate": plate,
    "unit_named": lambda text: unit_named("kpa", text),
    "unit_in_heading": lambda text: unit_in_heading("kPa", text),
    "gallons_in_heading": lambda text: gallons_in_heading("litres", text),
    "guess": lambda text: guessed([[text, "Date"], [text, text]], LOG, Known(METRIC)),
    "signature": lambda text: signature("log", [text]),
    "cars_pasted": lambda text: cars_pasted(text, 64),
    "is_bare_clock": is_bare_clock,
    "date_order": lambda text: dates.date_order([text]),
    "looks_like_a_date": dates.looks_like_a_date,
    "lacks_year": dates.lacks_year,
    "in_english": dates.in_english,
    "read_date": lambda text: dates.read_date(text, dates.DMY),
    "read_time": dates.read_time,
    "split_unit": numbers.split_unit,
    "decimal_sign": lambda text: numbers.decimal_sign([text]),
    "number": lambda text: numbers.number(text, numbers.POINT),
    **{
        f"value {type_}": lambda text, type_=type_: value(text, type=type_)
        for type_ in ("text", "number", "whole", "date", "moment", "clock", "flag", "words")
    },
    "choice_of": lambda text: choice_of(text, CHOICES, Field("shelter", "Shelter")),
    "split_cell battery": lambda text: compound(text, "battery.chemistry", CARS),
    "split_cell wheels": lambda text: compound(text, "tyres.placard_kpa", CARS),
    "split_cell volts": lambda text: compound(text, "r.rested_volts", LOG),
    "split_cell gravity": lambda text: compound(text, "r.specific_gravity", LOG),
    "split_cell year": lambda text: compound(text, "year", CARS),
    "bay_named": bay_named,
    "split_words": split_words,
    "join_words": lambda text: join_words([text, text]),
    "split_name": split_name,
    "date_code": date_code,
    "works_of": works_of,
    "split_author": split_author,
    "readings_from": readings_from,
    "unguarded": unguarded,
    "from_xml": lambda text: from_xml(fit_for_xml(text)),
    "delimiter_of": delimiter_of,
    "read_file": lambda text: read_file("t.csv", text.encode()),
    "stated_zone": lambda text: stated_zone([text]),
    "is_stamp": stamps.is_stamp,
    "is_clock": stamps.is_clock,
    "order_of_number": stamps.order_of_number,
    "find_table": lambda text: find_table(lines_of(text.encode() or b" ")),
    "columns": seen,
}
PIECES = (
    *("(", "[", "((1)", ")", "{", "{}", "[[", " ", "\t", "\n", ",", ".", ";", "/", "_", "'", '"', "-", "+"),
    *("1", "12", "1 ", "1,", "1'", "1/", "e5", "12:30 ", "a", "é", "m ", "deg ", "jan ", "janx", "T", "T1"),
    *("utc ", "zone:", "\n(Done by ", "_x0041"),
)
NO_DATES = ("1/1/1", "1/1/1 10:00", "10:00")
AROUND = (("", ""), ("1", "x"), ("1", "\n!"), ("jan", "("), *((start, "!") for start in NO_DATES))


def taken(reader, text):
    best = float("inf")
    for _ in range(2):
        began = process_time()
        with suppress(ValueError):  # a refusal in words is an answer
            reader(text)
        best = min(best, process_time() - began)
        if best < QUICK_S:
            break
    return best


@pytest.mark.parametrize("name", READERS)
def test_time_grows_no_more_than_the_text(name):
    reader = READERS[name]
    taken(reader, "warm")
    for before, after in AROUND:
        for piece in PIECES:
            long = taken(reader, before + piece * (TIMES * SHORT // len(piece)) + after)
            if long > QUICK_S:
                short = taken(reader, before + piece * (SHORT // len(piece)) + after)
                assert long <= AT_MOST * max(short, QUICK_S / TIMES), (name, before, piece, after)


def test_many_headings_that_are_nearly_known_are_soon_dealt_with():
    """Each of the first cells of many rows is held against every name that we know."""
    words = [field.label for field in LOG.fields]
    rows = [[f"{words[(r + c) % len(words)]}x{r % 7}{c % 9}q" for c in range(250)] for r in range(8)]
    began = process_time()
    header_row(rows, LOG)
    assert process_time() - began < 20
