"""Layouts of loggers' files: what is guessed, and that no bytes at all bring a page down."""

import os
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collection.loggers.core.stream import battery_of
from collection.loggers.core.understand import understand
from collection.loggers.reading.faults import UnreadableFile
from collection.loggers.reading.layout import changed
from collection.loggers.reading.lines import text_of
from collection.loggers.reading.table import find_table

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
TRIES = int(os.environ.get("LONGSTAND_HOSTILE", "300"))


def read(text, zone="Europe/London", battery=None, layout=None):
    data = text.encode() if isinstance(text, str) else text
    return understand(data, layout=layout, zone=zone, battery=battery, now=NOW, tell=lambda _words: None)


def rows(form, count=60, **at):
    """Rows by a form of strftime, an hour apart, from 20 January 2026 14:00."""
    begin = datetime(2026, 1, 20, 14, tzinfo=UTC).timestamp()
    moments = (datetime.fromtimestamp(begin + 3600 * i, UTC) for i in range(count))
    return "\n".join(f"{m.strftime(form)}{at.get('tail', ',5.5,80')}" for m in moments)


LAYOUTS = {
    "ISO": ("When,Temp °C,RH %\n" + rows("%Y-%m-%d %H:%M"), "ymd", ","),
    "ISO with T and seconds": ("When,Temp °C,RH %\n" + rows("%Y-%m-%dT%H:%M:%S"), "ymd", ","),
    "day first, semicolons, decimal comma": (
        "Datum;Temp. (°C);Feuchte (%)\n" + rows("%-d %b %Y %H:%M:%S", tail=";5,5;80,0"),
        "dmy",
        ";",
    ),
    "month first, twelve hours": ("When,Temp °C,RH %\n" + rows("%m/%d/%y %I:%M:%S %p"), "mdy", ","),
    "date and time apart, tabs": (
        "Date\tTime\tTemp °C\tRH %\n" + rows("%d/%m/%Y\t%H:%M", tail="\t5.5\t80"),
        "dmy",
        "\t",
    ),
    "names of months": ("When,Temp °C,RH %\n" + rows("%d-%b-%Y %H:%M"), "dmy", ","),
    "compact": ("When,Temp °C,RH %\n" + rows("%Y%m%d %H%M%S"), "compact", ","),
    "no heading": (rows("%Y-%m-%d %H:%M"), "ymd", ","),
    "preamble": (
        "Model X-3\nSerial;0012\n\nExported 1/2/2026\nWhen;Temp °C;RH %\n"
        + rows("%Y-%m-%d %H:%M", tail=";5.5;80"),
        "ymd",
        ";",
    ),
    "quoted": ('"When","Temp °C","RH %"\n' + rows('"%Y-%m-%d %H:%M"', tail=',"5.5","80"'), "ymd", ","),
    "quoted with a decimal comma inside": (
        '"When","Temp °C","RH %"\n' + rows('"%Y-%m-%d %H:%M"', tail=',"5,5","80,0"'),
        "ymd",
        ",",
    ),
    "units in the cells": ("When,T,RH\n" + rows("%Y-%m-%d %H:%M", tail=",5.5 °C,80 %"), "ymd", ","),
    "year first with slashes, bars": (
        "When|Temp °C|RH %\n" + rows("%Y/%m/%d %H:%M", tail="|5.5|80"),
        "ymd",
        "|",
    ),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_layout_is_guessed(name):
    text, order, delimiter = LAYOUTS[name]
    file = read(text)
    assert (file.layout.order, file.layout.delimiter) == (order, delimiter)
    assert file.facts["kept"] == 60
    assert file.facts["first"] == "2026-01-20T14:00:00+00:00"
    assert set(file.hours.mean[0]) == {5.5}
    assert set(file.hours.mean[1]) == {80.0}
    assert file.facts["faults"] == []


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_and_ends_of_line(encoding, end):
    text = LAYOUTS["ISO"][0].replace("\n", end)
    file = read(text.encode(encoding))
    assert file.facts["kept"] == 60
    assert file.layout.names[1] == "Temp °C"


@pytest.mark.parametrize(("count", "unit"), [("epoch_s", 1), ("epoch_ms", 1000)])
def test_seconds_and_milliseconds_since_1970(count, unit):
    begin = int(datetime(2026, 1, 20, 14, tzinfo=UTC).timestamp())
    file = read("\n".join(f"{(begin + 60 * i) * unit},{i % 7}.5" for i in range(60)))
    assert (file.layout.order, file.layout.zone) == (count, "utc")
    assert file.facts["first"] == "2026-01-20T14:00:00+00:00"


def test_days_of_a_spreadsheet_are_the_sites_clock():
    file = read("\n".join(f"{46042 + i / 24:.6f},{i % 7}.5" for i in range(60)))
    assert file.layout.order == "serial"
    assert file.facts["first"] == "2026-01-20T00:00:00+00:00"


@pytest.mark.parametrize(
    ("heading", "zone", "first"),
    [
        ("Time (GMT+01:00)", "+01:00", "2026-07-01T11:00:00+00:00"),
        ("Time, UTC", "utc", "2026-07-01T12:00:00+00:00"),
        ("Time (UTC-5)", "-05:00", "2026-07-01T17:00:00+00:00"),
        ("Time", "site", "2026-07-01T11:00:00+00:00"),
    ],
)
def test_the_zone_of_the_heading_stands_before_the_sites(heading, zone, first):
    text = f'"{heading}";Temp °C\n' + "\n".join(f"2026-07-01 12:{i:02}:00;5.{i % 9}" for i in range(30))
    file = read(text)
    assert file.layout.zone == zone
    assert file.facts["first"] == first


@pytest.mark.parametrize("first", ["7.95", "7.45"])
def test_a_value_beside_a_stamp_without_a_colon_is_no_time_of_day(first):
    rows = "".join(
        f"20240105{hour:02}00,{value}\n" for hour, value in enumerate([first, "7.85", "7.40", "7.10"])
    )
    text = text_of(f"Stamp,Temp\n{rows}".encode())
    table = find_table(text)
    assert (table.date, table.time, table.start) == (0, -1, 1)


def test_a_time_with_a_dot_beside_a_date_is_one():
    rows = "".join(f"05.01.2024,{hour:02}.45,7.{hour}5\n" for hour in range(4))
    table = find_table(text_of(f"Day,Hour,Temp\n{rows}".encode()))
    assert (table.date, table.time) == (0, 1)


def test_the_number_of_a_row_is_no_date():
    body = rows("%Y-%m-%d %H:%M").split("\n")
    file = read("No,When,Temp °C,RH %\n" + "\n".join(f"{45210 + i},{row}" for i, row in enumerate(body)))
    assert (file.layout.date, file.layout.temperature) == (1, 2)


def test_an_offset_in_the_stamp_is_its_zone():
    file = read("\n".join(f"2026-07-01T12:{i:02}:00+05:30,5.{i % 9}" for i in range(30)))
    assert file.layout.zone == "stamp"
    assert file.facts["first"] == "2026-07-01T06:30:00+00:00"


def local_rows(moments):
    return "When,Temp °C\n" + "\n".join(f"{m},5.{i % 9}" for i, m in enumerate(moments))


def test_a_clock_with_summer_time_is_followed_through_the_hour_that_comes_twice():
    hours = ["00:00", "00:30", "01:00", "01:30", "01:00", "01:30", "02:00", "02:30"]
    file = read(local_rows(f"2025-10-26 {h}" for h in hours))
    assert file.layout.zone == "site"
    assert (file.facts["kept"], file.facts["gap_count"]) == (8, 0)
    assert any("twice in autumn" in note for note in file.facts["notes"])


def test_a_clock_that_has_no_hour_twice_is_on_winter_time_and_that_is_said():
    hours = ["00:00", "00:30", "01:00", "01:30", "02:00", "02:30", "03:00"]
    file = read(local_rows(f"2025-10-26 {h}" for h in hours))
    assert file.layout.zone == "standard"
    assert any("winter time all year" in note for note in file.facts["notes"])


def test_times_that_the_sites_clock_never_showed_mean_winter_time_too():
    hours = ["00:00", "00:30", "01:00", "01:30", "02:00"]
    file = read(local_rows(f"2026-03-29 {h}" for h in hours))
    assert file.layout.zone == "standard"
    assert file.facts["first"] == "2026-03-29T00:00:00+00:00"


def test_fahrenheit_is_known_by_its_heading_or_by_its_figures():
    by_heading = read("When,Temp (°F)\n" + rows("%Y-%m-%d %H:%M", tail=",50"))
    assert by_heading.hours.mean[0][0] == pytest.approx(10.0, abs=1e-3)
    by_figures = read("When,Temp\n" + rows("%Y-%m-%d %H:%M", tail=",68"))
    assert by_figures.hours.mean[0][0] == pytest.approx(20.0, abs=1e-3)
    assert "no place is so warm" in by_figures.facts["notes"][0]


def test_codes_for_an_error_and_words_are_missing_values_and_named_by_line():
    text = "When,Temp °C\n" + rows("%Y-%m-%d %H:%M", count=30, tail=",5.5").replace(
        "2026-01-20 15:00,5.5", "2026-01-20 15:00,-999"
    ).replace("2026-01-20 16:00,5.5", "2026-01-20 16:00,ERR")
    file = read(text)
    faults = {fault["line"]: fault["words"] for fault in file.facts["faults"]}
    assert "codes for an error, first “-999” in line 3" in faults[3]
    assert "words, first “ERR” in line 4" in faults[4]
    assert file.facts["kept"] == 28


def test_blank_lines_and_lines_that_break_off_are_left_out():
    lines = ("When,Temp °C,RH %\n" + rows("%Y-%m-%d %H:%M")).split("\n")
    lines[5] = ""
    lines[9] = "2026-01-"
    file = read("\n".join(lines) + "\n\n\n")
    assert file.facts["kept"] == 58
    assert [fault["line"] for fault in file.facts["faults"]] == [10]


def test_rows_with_the_newest_first_are_read_from_the_end():
    head, *body = ("When,Temp °C,RH %\n" + rows("%Y-%m-%d %H:%M")).split("\n")
    file = read("\n".join([head, *body[::-1]]))
    assert file.facts["first"] == "2026-01-20T14:00:00+00:00"
    assert not any("steps back" in fault["words"] for fault in file.facts["faults"])


def test_a_row_told_twice_is_said_with_its_line():
    lines = ("When,Temp °C,RH %\n" + rows("%Y-%m-%d %H:%M")).split("\n")
    file = read("\n".join([*lines[:10], lines[9], lines[9].replace("5.5", "9.5"), *lines[10:]]))
    faults = [(fault["line"], fault["words"]) for fault in file.facts["faults"]]
    assert faults == [
        (11, "rows tell the same moment with the same figures again: they count once."),
        (12, "rows tell a moment again with other figures: their mean is taken."),
    ]


def test_of_several_sensors_the_first_is_taken_and_the_others_are_offered():
    file = read(
        "When,Temp ch1 °C,RH ch1 %,Temp ch2 °C,RH ch2 %\n" + rows("%Y-%m-%d %H:%M", tail=",5.5,80,7.5,60")
    )
    assert (file.layout.temperature, file.layout.humidity) == (1, 2)
    assert [column["index"] for column in file.facts["columns"]] == [1, 2, 3, 4]


def test_millivolts_are_volts():
    battery = battery_of(12, "calcium")
    file = read("When,Battery mV\n" + rows("%Y-%m-%d %H:%M", tail=",12650"), battery=battery)
    assert file.hours.mean[0][0] == pytest.approx(12.65)


CELL = st.sampled_from(
    [
        "2026-01-20 14:00",
        "20/01/2026",
        "14:00",
        "1768917600",
        "5.5",
        "-999",
        "80 %",
        "ERR",
        "",
        "é°",
        '"',
        "1e400",
        "99999999999999999999",
        "2026-02-30 25:61",
        "nan",
        "-",
        "\x00",
        "1/1/1",
        "0/0/0 0:00",
        "31/12/9999 23:59",
    ]
)
LINE = st.tuples(st.lists(CELL, max_size=6), st.sampled_from([",", ";", "\t", "|"])).map(
    lambda p: p[1].join(p[0])
)
FUZZ = st.binary(max_size=400) | st.lists(LINE, max_size=40).map(lambda lines: "\n".join(lines).encode())


@given(FUZZ, st.booleans())
@settings(max_examples=TRIES, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_bytes_come_they_are_read_or_refused_in_words(data, of_battery):
    try:
        file = read(data, battery=battery_of(12, "") if of_battery else None)
    except UnreadableFile as fault:
        refused = str(fault)
    else:
        assert (np.diff(file.hours.hour) > 0).all()
        assert file.facts["kept"] <= file.facts["rows"]
        return
    assert refused.endswith((".", "…"))


@given(
    st.lists(
        st.tuples(st.integers(0, 300), st.sampled_from(["5.5", "ERR", "", "1e9", ";", '"', ",,,", "\r"])),
        max_size=8,
    )
)
@settings(max_examples=TRIES // 3, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_good_file_with_rubbish_thrown_in_is_still_read_or_refused_in_words(cuts):
    text = LAYOUTS["ISO"][0]
    for place, rubbish in cuts:
        text = text[:place] + rubbish + text[place + 3 :]
    try:
        kept = read(text).facts["kept"]
    except UnreadableFile as fault:
        kept = len(str(fault))
    assert kept > 0


@pytest.mark.parametrize("form", ["%Y-%m-%d %H%M", "%d.%m.%Y %H%M%S", "%Y%m%d %H%M"])
@pytest.mark.parametrize("value", ["7.95", "7.45", "12.30"])
def test_a_stamp_without_a_colon_is_a_moment_and_the_figure_beside_it_a_value(form, value):
    file = read("When,Temp °C\n" + rows(form, tail=f",{value}"))
    assert (file.facts["first"], file.facts["kept"]) == ("2026-01-20T14:00:00+00:00", 60)
    assert set(file.hours.mean[0]) == {float(value)}


def test_a_time_without_a_mark_in_a_column_of_its_own_is_one_where_its_heading_says_so():
    file = read("Date,Time,Temp °C,RH %\n" + rows("%d/%m/%Y,%H%M", tail=",7.95,80"))
    assert (file.layout.time, file.facts["first"]) == (1, "2026-01-20T14:00:00+00:00")
    pressures = read("Date,Pressure hPa,Temp °C\n" + rows("%d/%m/%Y %H:%M,1013", tail=",7.95"))
    assert pressures.layout.time == -1


def long(*values, form="%Y-%m-%d %H:%M"):
    """A row a value: its moment and what is told of it."""
    begin = datetime(2026, 1, 20, 14, tzinfo=UTC).timestamp()
    moments = [datetime.fromtimestamp(begin + 3600 * i, UTC) for i in range(60)]
    return "\n".join(row.replace("@", moment.strftime(form)) for moment in moments for row in values)


@pytest.mark.parametrize(
    "text",
    [
        "Name,Value,Time\n" + long("Hall temperature,5.5,@", "Hall humidity,80,@"),
        "Time;Sensor;Quantity;Value;Unit\n" + long("@;North;Temp;5,5;°C", "@;North;RH;80,0;%"),
        "Exported by hand\nTime,Channel,Reading\n" + long("@,T °C,5.5", "@,Hum,80"),
        long("@,Temperature,5.5", "@,Humidity,80"),
    ],
)
def test_a_value_to_a_row_with_its_name_becomes_a_column_for_each_name(text):
    file = read(text)
    assert file.facts["kept"] == 60
    assert set(file.hours.mean[0]) == {5.5}
    assert set(file.hours.mean[1]) == {80.0}
    assert any("a column for each name" in note for note in file.facts["notes"])
    again = read(text, layout=file.layout)
    assert set(again.hours.mean[1]) == {80.0}


def test_words_beside_values_are_no_names_of_them():
    file = read(
        "When,Temp °C,State\n" + rows("%Y-%m-%d %H:%M", tail=",5.5,ok") + "\n2026-01-24 02:00,5.5,low"
    )
    assert file.layout.names == ("When", "Temp °C", "State")


def test_two_sensors_side_by_side_are_named_and_either_can_be_chosen():
    text = "When,Temp hall (°C),RH hall,Temp yard (°C),RH yard\n" + rows(
        "%Y-%m-%d %H:%M", tail=",5.5,80,-2.5,91"
    )
    file = read(text)
    assert set(file.hours.mean[0]) == {5.5}
    assert any("Temp hall (°C), Temp yard (°C)" in note for note in file.facts["notes"])
    other = read(text, layout=changed(file.layout, temperature=3, humidity=4))
    assert (set(other.hours.mean[0]), set(other.hours.mean[1])) == ({-2.5}, {91.0})


@pytest.mark.parametrize(
    ("heading", "stamp", "first"),
    [
        ("Time (America/New_York)", "2026-07-01 12:{:02}", "2026-07-01T16:00:00+00:00"),
        ("Time, zone Europe/Berlin", "2026-01-10 12:{:02}", "2026-01-10T11:00:00+00:00"),
        ("Time", "2026-07-01 12:{:02} CEST", "2026-07-01T10:00:00+00:00"),
        ("Time", "01.01.2026 12:{:02}:00 MEZ", "2026-01-01T11:00:00+00:00"),
        ("Time", "07/30/2026 12:{:02} PM EDT", "2026-07-30T16:00:00+00:00"),
    ],
)
def test_a_clock_with_its_own_summer_time_is_read_as_its_place_has_it(heading, stamp, first):
    file = read(f'"{heading}";Temp °C\n' + "\n".join(f"{stamp.format(i)};5.{i % 9}" for i in range(30)))
    assert file.facts["first"] == first


def test_the_change_of_a_chosen_places_clock_is_its_own():
    text = "When,Temp °C\n" + "\n".join(f"2026-03-{day:02} 12:00,5.{day % 9}" for day in range(5, 31))
    file = read(text, zone="Europe/London", layout=changed(read(text).layout, zone="America/New_York"))
    assert file.facts["first"] == "2026-03-05T17:00:00+00:00"
    assert file.facts["last"] == "2026-03-30T16:00:00+00:00"
