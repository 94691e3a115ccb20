"""A table from file to record and back in Chromium, each page without a fault on desk and phone."""

import re

from tests.browser.conftest import DESK, PHONE, assert_no_fault

MESSY = (
    "Weekly checks;;;;\n;;;;\nReg;Date;Vlts;FL (psi);Remarks\n"
    "KM 1091;03/04/2026;12,61;26;all well\nkm1091;05/04/2026;12,4 V;2 bar;\n"
)
BAD = "Car,Date,Volts,Work\nFalconet GT,soon,99,zzz\nNo such,2026-01-01,12.4,\n"


def looked_at(page):
    for screen in (DESK, PHONE):
        page.set_viewport_size(screen)
        assert_no_fault(page, screen)


def send(page, name, text):
    page.goto("/spreadsheets/")
    page.get_by_label("Care log").check()
    page.set_input_files("input[type=file]", {"name": name, "mimeType": "text/csv", "buffer": text.encode()})
    page.get_by_role("button", name="Read it").click()
    page.wait_for_url("**/columns/")


def test_a_table_comes_in_and_is_taken_back(kaldmere, open_as):
    page = open_as("manager", DESK)
    send(page, "weekly.csv", MESSY)
    looked_at(page)
    page.get_by_role("button", name="Check every row").click()
    page.get_by_text("say whether the day or the month comes first").wait_for()
    looked_at(page)
    page.get_by_label("Dates in “Date”").select_option("dmy")
    page.get_by_role("button", name="Check every row").click()
    page.get_by_role("heading", name="The first rows as they will be stored").wait_for()
    looked_at(page)
    page.get_by_role("button", name=re.compile("^Bring 4 entries in")).click()
    page.get_by_text("Brought in", exact=True).wait_for()
    looked_at(page)
    page.get_by_role("button", name="Take the table back").click()
    page.get_by_text("4 entries withdrawn").wait_for()
    looked_at(page)


def test_faults_are_shown_by_row_and_field(kaldmere, open_as):
    page = open_as("staff", DESK)
    send(page, "bad.csv", BAD)
    page.get_by_role("button", name="Check every row").click()
    page.get_by_role("heading", name="To be corrected").wait_for()
    assert page.get_by_text("fits no car here").count() > 0
    looked_at(page)
    page.get_by_role("button", name="Forget this table").click()
    page.get_by_text("bad.csv is forgotten").wait_for()
