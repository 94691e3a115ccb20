"""Reading tables as people keep them, and files that mean harm: understood, or refused in words."""

import io
import zipfile
from datetime import date, time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from collection.models import Entry, SheetImport, Vehicle
from collection.spreadsheets.sheets import dates, numbers
from collection.spreadsheets.sheets.car_fields import CARS
from collection.spreadsheets.sheets.cells import Formula, Sheet, Unreadable, pack, unpack
from collection.spreadsheets.sheets.escaping import fit_for_xml, from_xml, guarded, unguarded
from collection.spreadsheets.sheets.guessing import Known
from collection.spreadsheets.sheets.log_fields import LOG
from collection.spreadsheets.sheets.reading import read_file
from collection.spreadsheets.sheets.units import gallons_in_heading, unit_in_heading, unit_named
from collection.spreadsheets.sheets.values import join_words, split_words
from collection.spreadsheets.sheets.writing import Table, write
from collection.web.units import edge
from scheduler.vocabulary.units import UNITS
from tests.logbook import as_shown
from tests.spreadsheets.tables_of import book_of, csv_of, guessed, send, step

ROWS = [["Zähler", "Marke"], ["7", "Größe; groß, | rot"]]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "latin-1"]
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_encodings_and_delimiters_are_found(encoding, delimiter):
    data = csv_of(ROWS, delimiter=delimiter, encoding=encoding)
    assert read_file("t.csv", data)[0].rows == ROWS


def test_a_first_line_that_names_the_delimiter_is_obeyed():
    assert read_file("t.csv", b"sep=;\r\na,b;c\r\n1,2;3\r\n")[0].rows == [["a,b", "c"], ["1,2", "3"]]


def test_a_workbook_gives_its_sheets_with_dates_and_the_values_of_formulas():
    data = book_of(
        {"Notes": [["x"]], "Cars": [["Make", "Since"], ["A", date(2024, 3, 1)], [None], ["=1+1", None]]}
    )
    notes, cars = read_file("t.xlsx", data)
    assert notes.rows == [["x"]]
    assert dates.read_date(cars.rows[1][1], "dmy").day == date(2024, 3, 1)
    assert cars.rows[3:] == [[Formula("=1+1")]]  # no program has computed it: it is said, and no empty cell


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no rows"),
        (b"\xd0\xcf\x11\xe0rest", "damaged"),
        (b"PK\x03\x04rubbish", "damaged"),
        (b"a,b\n\x00\x01\x02" * 3, "no table"),
        (b'a,b\n"open' + b"x" * 200_000, "quotation mark"),
        (b"a,b\n" * 20_100, "rows"),
        (b",".join([b"a"] * 300), "columns"),
        (b"x" * 10_000_001, "MB"),
    ],
)
def test_what_cannot_be_read_says_what_to_send_instead(data, words):
    with pytest.raises(Unreadable, match=words):
        read_file("t", data)


def _with_sheet(xml):
    book = io.BytesIO()
    source = zipfile.ZipFile(io.BytesIO(book_of({"S": [["a"]]})))
    with zipfile.ZipFile(book, "w", zipfile.ZIP_DEFLATED) as made:
        for name in source.namelist():
            made.writestr(name, xml if name == "xl/worksheets/sheet1.xml" else source.read(name))
    return book.getvalue()


MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
NEAR = '<row r="1"><c r="A1"><v>1</v></c></row>'
SHEET = f'<worksheet xmlns="{MAIN}"><sheetData>{{}}</sheetData></worksheet>'


def test_a_zip_bomb_is_not_opened():
    bomb = _with_sheet(SHEET.format("<row/>" * 1) + " " * 130_000_000)
    assert len(bomb) < 200_000
    with pytest.raises(Unreadable, match="larger inside"):
        read_file("t.xlsx", bomb)


def test_a_sheet_that_claims_a_far_corner_costs_nothing():
    far = _with_sheet(SHEET.format(NEAR + '<row r="99999999999"><c r="XFD99999999999"><v>2</v></c></row>'))
    assert read_file("t.xlsx", far)[0].rows == [[1]]
    wide = _with_sheet(SHEET.format('<row r="1"><c r="XFD1"><v>1</v></c></row>'))
    with pytest.raises(Unreadable, match="columns"):
        read_file("t.xlsx", wide)


def test_headings_are_found_under_titles_whatever_they_are_called():
    rows = [
        ["Barn, winter round"],
        [],
        [None, "printed 3 Nov"],
        ["Reg no.", "DATE", "Batt. Voltage (V)", "Tyre FL, bar"],
        ["X 1", "3 Nov 2026", "12.6", "2"],
    ]
    mapping = guessed(rows, LOG, Known(edge("british")))
    assert mapping.shape.header == 3
    assert {at: use.field for at, use in mapping.columns.items()} == {
        0: "car.registration",
        1: "done_at",
        2: "r.rested_volts",
        3: "r.tyre_pressure.front_left",
    }
    assert mapping.columns[3].unit == "bar"


def test_a_column_without_a_heading_is_known_by_what_stands_in_it():
    rows = [["", "When it was", "Volts"], ["HB 1", "3 Nov 2026", "12.6"], ["HB 2", "4 Nov 2026", "12.6"]]
    mapping = guessed(rows, LOG, Known(edge("metric"), frozenset({"HB1", "HB2"})))
    assert mapping.columns[0].field == "car.registration"
    assert mapping.columns[1].field == "done_at"


def test_every_heading_that_we_write_is_understood_as_what_it_is():
    for kind in (CARS, LOG):
        for units in ("metric", "british", "american"):
            from collection.spreadsheets.sheets.wording import CellFormat

            headings = [CellFormat(edge(units)).heading(field) for field in kind.fields]
            mapping = guessed([headings], kind, Known(edge(units)))
            assert [mapping.columns[at].field for at in range(len(headings))] == [f.key for f in kind.fields]


@pytest.mark.parametrize(
    ("text", "order", "day", "fine"),
    [
        ("2024-03-05", "", date(2024, 3, 5), "day"),
        ("5/3/24", "dmy", date(2024, 3, 5), "day"),
        ("3/5/2024", "mdy", date(2024, 3, 5), "day"),
        ("5.3.2024", "dmy", date(2024, 3, 5), "day"),
        ("Tue 5th March 2024", "", date(2024, 3, 5), "day"),
        ("March 5, 2024", "", date(2024, 3, 5), "day"),
        ("Mar 2024", "", date(2024, 3, 1), "month"),
        ("03/2024", "", date(2024, 3, 1), "month"),
        ("1998", "", date(1998, 1, 1), "year"),
        (45356, "", date(2024, 3, 5), "day"),
        (1998, "", date(1998, 1, 1), "year"),
        ("20240305", "", date(2024, 3, 5), "day"),
    ],
)
def test_dates_as_people_write_them(text, order, day, fine):
    read = dates.read_date(text, order)
    assert (read.day, read.fine) == (day, fine)


def test_times_beside_dates_are_kept():
    assert dates.read_date("5/3/2024 2:30 pm", "dmy").clock == time(14, 30)
    assert dates.read_date(45356.5, "").clock == time(12)


@pytest.mark.parametrize(
    "text", ["soon", "31/02/2024", "2024-13-01", "0/0/0000", "99", "Mar 99999", "1/1/1/1"]
)
def test_what_is_no_date_is_refused(text):
    with pytest.raises(ValueError, match=r"date|calendar"):
        dates.read_date(text, "dmy")


@pytest.mark.parametrize(
    ("cells", "order"),
    [
        (["1/2/2024", "13/2/2024"], "dmy"),
        (["1/2/2024", "2/13/2024"], "mdy"),
        (["1/2/2024"], "ask"),
        (["1/2/2024", "13/2/2024", "2/13/2024"], "ask"),
        (["2024-01-02"], ""),
        (["2/2/2024"], ""),
    ],
)
def test_the_order_of_day_and_month_is_that_of_the_column(cells, order):
    assert dates.date_order(cells) == order


@pytest.mark.parametrize(
    ("texts", "values"),
    [
        (["1,234.5", "1,000"], [1234.5, 1000]),
        (["1.234,5", "1.000"], [1234.5, 1000]),
        (["12,5", "1,234"], [12.5, 1.234]),
        (["1 234.5"], [1234.5]),
        (["−40"], [-40]),
    ],
)
def test_the_decimal_sign_is_that_of_the_column(texts, values):
    sign = numbers.decimal_sign(texts)
    assert [numbers.number(numbers.split_unit(text)[0], sign) for text in texts] == values


def test_units_are_known_from_headings_and_cells():
    assert unit_in_heading("kPa", "Front left (PSI)").name == "psi"
    assert unit_in_heading("°C", "Temp °F").name == "°F"
    assert unit_in_heading("litres", "Gallons in tank (US)") is None
    assert unit_in_heading("km", "Miles driven").name == "miles"
    assert unit_in_heading("litres", "Fuel, gallons") is None
    assert gallons_in_heading("litres", "Fuel, gallons")
    assert unit_in_heading("litres", "US gallons in tank").name == "US gal"
    assert unit_named("kPa", "furlongs") is None


@given(st.sampled_from([unit for units in UNITS.values() for unit in units]), st.floats(-1e6, 1e6))
@settings(max_examples=60, deadline=None)
def test_a_unit_turned_and_turned_back_is_what_it_was(unit, value):
    assert unit.from_si(unit.to_si(value)) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.text(max_size=30))
@settings(max_examples=200, deadline=None)
def test_text_survives_its_marks(text):
    assert unguarded(guarded(text)) == text
    assert from_xml(fit_for_xml(text)) == text


@given(st.lists(st.text(min_size=1, max_size=8), max_size=4))
@settings(max_examples=100, deadline=None)
def test_several_texts_in_one_cell_come_apart_again(words):
    assert split_words(join_words(words)) == words


CELLS = st.one_of(
    st.none(),
    st.text(max_size=12).filter(str.strip),
    st.integers(-(10**9), 10**9),
    st.floats(allow_nan=False, allow_infinity=False),
    st.dates(date(1950, 1, 1), date(2100, 1, 1)),
)


@given(
    st.lists(
        st.lists(CELLS, min_size=1, max_size=5).filter(lambda row: row[-1] is not None),
        min_size=1,
        max_size=6,
    )
)
@settings(max_examples=40, deadline=None)
def test_a_workbook_that_we_write_is_read_as_it_was(rows):
    width = max(map(len, rows))
    headings = [f"h{at}" for at in range(width)]
    file = io.BytesIO()
    write("xlsx", [Table("T", headings, [row + [None] * (width - len(row)) for row in rows])], file)
    read = read_file("t.xlsx", file.getvalue())[0].rows[1:]
    as_read = [[cell.date() if hasattr(cell, "date") else cell for cell in row] for row in read]
    assert as_read == rows
    assert unpack(pack([Sheet("T", read)]))[0].rows == read


@given(st.binary(max_size=400))
@settings(max_examples=150, deadline=None)
def test_any_bytes_are_read_or_refused_in_words(data):
    for start in (b"", b"PK\x03\x04", b"\xff\xfe"):
        try:
            read_file("t", start + data)
        except Unreadable as refusal:
            assert len(str(refusal)) > 20  # noqa: PT017 - either outcome is right


@pytest.mark.django_db
@given(
    data=st.one_of(
        st.binary(max_size=300),
        st.lists(
            st.lists(
                st.one_of(
                    st.sampled_from(
                        ["Reg", "Date", "Volts", "HB 1", "12.5", "1/2/2024", "", "=1", "Kind", "run"]
                    ),
                    st.text(max_size=8),
                ),
                max_size=6,
            ),
            max_size=8,
        ).map(lambda rows: csv_of(rows, encoding="utf-16")),
    )
)
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_file_breaks_a_page_and_none_stores_anything_unasked(client_as, manager, barn, data):
    client = client_as(manager)
    for kind in ("cars", "log"):
        answer = client.post(
            reverse("spreadsheets"), {"kind": kind, "file": SimpleUploadedFile("t.csv", data)}
        )
        assert answer.status_code in (200, 302)
        if answer.status_code == 302:
            row = SheetImport.objects.latest("sent_at")
            assert client.get(answer.url).status_code == 200
            step(row, "check", by=manager)
            assert client.get(reverse("spreadsheet", args=[row.pk])).status_code in (200, 302)
            row.delete()
    assert Vehicle.objects.count() == Entry.objects.count() == 0


@pytest.mark.django_db
def test_the_pages_lead_from_file_to_record_and_back(client_as, keeper, barn, car):
    car.registration = "HB 1"
    car.save()
    client = client_as(keeper)
    data = csv_of([["Reg", "Date", "Volts"], ["HB 1", "03/04/2026", "12.5"]])
    columns = client.post(
        reverse("spreadsheets"), {"kind": "log", "file": SimpleUploadedFile("t.csv", data)}
    ).url
    row = SheetImport.objects.get()
    sent = {
        "what": "columns",
        "f0": "car.registration",
        "f1": "done_at",
        "f2": "r.rested_volts",
        "u2": "V",
        "skip_doubles": "on",
    }
    assert "say whether the day or the month" in client.post(columns, sent).content.decode()
    assert client.post(columns, sent | {"o1": "mdy"}).url == reverse("spreadsheet", args=[row.pk])
    page = client.get(reverse("spreadsheet", args=[row.pk])).content.decode()
    assert "Wed 04 Mar 2026" in page
    assert Entry.objects.count() == 0
    for _ in range(2):  # pressed twice
        client.post(reverse("spreadsheet", args=[row.pk]), {"what": "import"})
    assert Entry.objects.get().readings.get().value == 12.5
    client.post(reverse("spreadsheet", args=[row.pk]), {"what": "undo"})
    page = client.get(reverse("spreadsheet", args=[row.pk])).content.decode()
    assert "1 entry withdrawn" in as_shown(page)


@pytest.mark.django_db
def test_a_table_of_another_organisation_is_not_found(client_as, outsider, keeper, barn):
    row = send(barn, keeper, "log", [["Reg", "Date"], ["X", "2026-01-01"]])
    for name in ("spreadsheet", "spreadsheet_columns"):
        assert client_as(outsider).get(reverse(name, args=[row.pk])).status_code == 404


def test_a_workbook_of_ours_opens_in_the_usual_library():
    file = io.BytesIO()
    write("xlsx", [Table("A", ["x"], [["=1"], [True], [None]]), Table("B", ["y"], [])], file)
    book = load_workbook(file)
    assert book.sheetnames == ["A", "B"]
    assert isinstance(Workbook(), type(book))
