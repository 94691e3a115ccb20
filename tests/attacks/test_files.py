"""Pictures, tables and logger files that would fill or freeze the site are refused, and the page says why."""

import io
import struct
import uuid
import zipfile
import zlib
from functools import cache

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from collection.care import attachments_apart
from collection.care.attachments_apart import clean_apart
from collection.care.pictures import LONGEST_SIDE_PX, redrawn
from collection.host.contained import Share
from collection.host.refusal import Refused
from collection.loggers.core import apart
from collection.models import Entry, LoggerFile, LoggerState, SheetImport
from collection.spreadsheets.sheets.apart import packed_apart
from collection.spreadsheets.sheets.cells import pack, unpack
from collection.spreadsheets.sheets.reading import LONGEST_CELL, MOST_CHARACTERS, read_file
from collection.spreadsheets.sheets.workbook import MOST_RATIO
from tests.loggers.logger_files import air_csv
from tests.spreadsheets.tables_of import book_of, csv_of


@pytest.fixture(autouse=True)
def own_folders(settings, tmp_path):
    settings.DATA_DIR = settings.MEDIA_ROOT = tmp_path


# pictures


@cache
def png(width, height, *, colour=2, claimed=None):
    """A PNG of one colour, packed strip by strip; ``claimed`` is what its head says of its size."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    packer, row = zlib.compressobj(9), bytes(1 + width * {0: 1, 2: 3, 6: 4}[colour])
    body = b"".join(packer.compress(row) for _ in range(height)) + packer.flush()
    head = struct.pack(">IIBBBBB", *(claimed or (width, height)), 8, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def webp(width, height):
    out = io.BytesIO()
    Image.new("RGB", (width, height)).save(out, "WEBP", method=0)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (png(1, 1, claimed=(60_000, 60_000)), "too many pixels"),
        (png(1, 1, claimed=(2**31 - 1, 2**31 - 1)), "too many pixels|no photograph"),
        (png(1, 1, claimed=(7_700, 7_700)), "damaged"),
        (webp(5_000, 5_000), "tyre would take 300 MB of memory when opened"),
    ],
)
def test_a_picture_is_refused_by_what_its_head_says(data, words):
    with pytest.raises(Refused, match=words):
        clean_apart([("tyre.png", data)], keep_place=False)


def test_a_small_file_of_many_pixels_is_taken_in_little_memory(monkeypatch):
    """240 MB of pixels in 175 kB: 680 MB before; now little more than the picture as it is unpacked."""
    data = png(7_740, 7_740)
    assert len(data) < 200_000
    narrow = Share("narrow", at_once=1, cpu_s=60, wall_s=300.0, memory=480_000_000, answer=5_000_000)
    monkeypatch.setattr(attachments_apart, "SHARE", narrow)
    kept = clean_apart([("tyre.png", data)], keep_place=False)[0]
    assert max(Image.open(io.BytesIO(kept.data)).size) == LONGEST_SIDE_PX


def test_a_picture_that_takes_more_than_its_share_is_named_with_what_was_too_much(monkeypatch):
    small = Share("small", at_once=1, cpu_s=60, wall_s=300.0, memory=150_000_000, answer=5_000_000)
    monkeypatch.setattr(attachments_apart, "SHARE", small)
    with pytest.raises(Refused, match=r"^left tyre takes more than 150 MB of memory"):
        clean_apart([("left tyre.png", png(7_740, 7_740))], keep_place=False)


@pytest.mark.parametrize("size", [(4_000, 3_000), (9_000, 50), (50, 9_000), (2_401, 2_399), (1, 7_000)])
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_made_smaller_strip_by_strip_a_picture_stays_what_it_shows(size, kind):
    picture, out = Image.new("RGB", size, "red"), io.BytesIO()
    picture.paste("blue", (0, size[1] // 2, size[0], size[1]))
    picture.save(out, kind, quality=95)
    made = Image.open(io.BytesIO(redrawn("x", out.getvalue(), keep_place=False)))
    assert max(made.size) <= LONGEST_SIDE_PX
    assert abs(made.width / made.height / (size[0] / size[1]) - 1) < 0.05 or min(made.size) < 20
    red, blue = made.getpixel((0, made.height // 8)), made.getpixel((0, made.height - 1))
    assert red[0] > 200 > 60 > red[2]
    assert blue[2] > 200 > 60 > blue[0]


@pytest.mark.django_db
def test_the_form_says_what_was_too_much_and_nothing_is_logged(client_as, keeper, car):
    bomb = SimpleUploadedFile("tyre.png", png(1, 1, claimed=(60_000, 60_000)))
    sent = {"note": "Left rear tyre.", "key": str(uuid.uuid4()), "attachments": [bomb]}
    page = client_as(keeper).post(reverse("log_kind", args=[car.pk, "note"]), sent).content.decode()
    assert "tyre has too many pixels" in page
    assert not Entry.objects.exists()


# tables

SHARED = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def book_with(**parts):
    """A workbook in which some parts are ours."""
    out, source = io.BytesIO(), zipfile.ZipFile(io.BytesIO(book_of({"S": [["a"]]})))
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for name in source.namelist():
            made.writestr(name, parts.pop(name, source.read(name)))
        for name, data in parts.items():
            made.writestr(name, data)
    return out.getvalue()


def sheet_of(rows):
    return f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'


def one_text_in_every_cell():
    """A shared text of 30,000 characters, named two thousand times."""
    texts = f'<sst xmlns="{MAIN}" count="1" uniqueCount="1"><si><t>{"x" * 30_000}</t></si></sst>'
    cells = "".join(f'<row r="{row}"><c r="A{row}" t="s"><v>0</v></c></row>' for row in range(1, 2_001))
    types = zipfile.ZipFile(io.BytesIO(book_of({"S": [["a"]]}))).read("[Content_Types].xml").decode()
    named = f'<Override PartName="/xl/sharedStrings.xml" ContentType="{SHARED}"/></Types>'
    parts = {"xl/sharedStrings.xml": texts, "xl/worksheets/sheet1.xml": sheet_of(cells)}
    return book_with(**parts | {"[Content_Types].xml": types.replace("</Types>", named)})


def opendocument(size):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet", zipfile.ZIP_STORED)
        made.writestr("content.xml", b" " * size)
    return out.getvalue()


HUGE = {
    "swells in one part": (lambda: book_with(**{"xl/media/x": bytes(60_000_000)}), "far larger inside"),
    "swells in many parts": (
        lambda: book_with(**{f"xl/media/{n}": b"" for n in range(2_100)}),
        "far larger inside",
    ),
    "one text in every cell": (one_text_in_every_cell, "million characters"),
    "a long cell": (lambda: csv_of([["Car", "x" * (LONGEST_CELL + 1)]]), "Row 1 has a cell of 32,768"),
    "many cells": (lambda: (b",".join([b"1"] * 249) + b"\n") * 8_100, "cells: up to 2,000,000"),
    "an OpenDocument file that is none": (lambda: opendocument(10), "is damaged or is no workbook"),
    "an OpenDocument file that swells": (lambda: opendocument(100_000_000), "far larger inside"),
}


@pytest.mark.parametrize("what", HUGE)
def test_a_table_that_is_more_than_it_looks_is_refused_in_words(what):
    make, words = HUGE[what]
    with pytest.raises(Refused, match=words):
        packed_apart("t", make())


def test_a_dull_table_of_ours_is_far_from_what_swells():
    data = book_of({"S": [["Winter Room", "12.5", "2 bar"]] * 3_000})
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        unpacked = sum(info.file_size for info in book.infolist())
    assert unpacked < MOST_RATIO / 4 * len(data)
    assert len(read_file("t.xlsx", data)[0].rows) == 3_000


def test_what_is_kept_of_tables_cannot_swell_either(monkeypatch):
    data = pack(read_file("t.csv", b"a,b\n" * 10_000))
    monkeypatch.setattr("collection.spreadsheets.sheets.cells.MOST_KEPT", 1_000)
    with pytest.raises(Refused, match="more than can be read at once"):
        unpack(data)
    assert MOST_CHARACTERS < 150_000_000


@pytest.mark.django_db
def test_the_page_of_a_table_full_of_brackets_answers(client_as, keeper, barn):
    """One such cell once stopped the page for minutes."""
    client, data = (
        client_as(keeper),
        csv_of([["(" * 32_000, "Date"], ["(" * 32_000, "1" + " " * 32_000 + "x"]]),
    )
    answer = client.post(reverse("spreadsheets"), {"kind": "log", "file": SimpleUploadedFile("t.csv", data)})
    assert client.get(answer.url).status_code == 200
    assert SheetImport.objects.get().rows == 1


# loggers


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"(" * 1_000_000, "Line 1 has 1,000,000 characters"),
        (b"\n".join([b"2024-01-01 10:00" + b" " * 15_000 + b"x,1"] * 300), "No line holds a date"),
    ],
)
@pytest.mark.django_db
def test_a_logger_file_that_is_none_is_told_so(client_as, keeper, barn, data, words):
    sent = {"file": SimpleUploadedFile("a.csv", data)}
    answer = client_as(keeper).post(reverse("logger_site", args=[barn.sites.get().pk]), sent, follow=True)
    assert words in answer.content.decode()
    assert LoggerFile.objects.get().state == LoggerState.FAILED


@pytest.mark.django_db
def test_a_logger_file_waits_while_others_are_read(client_as, keeper, barn, monkeypatch):
    none = Share("none", at_once=0, cpu_s=9, wall_s=9.0, memory=10**9, answer=1, wait_s=0.0)
    client, full = client_as(keeper), apart.SHARE
    monkeypatch.setattr(apart, "SHARE", none)
    sent = {"file": SimpleUploadedFile("a.csv", air_csv(days=40))}
    answer = client.post(reverse("logger_site", args=[barn.sites.get().pk]), sent, follow=True)
    assert "Waiting until other files are read" in answer.content.decode()
    assert LoggerFile.objects.get().state == LoggerState.WAITING
    monkeypatch.setattr(apart, "SHARE", full)
    client.post(answer.redirect_chain[-1][0], {"act": "again"})
    assert LoggerFile.objects.get().state == LoggerState.READ
