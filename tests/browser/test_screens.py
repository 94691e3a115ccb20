"""How many screens the pages that are looked at most take, on a desk and on a phone, with the whole demo."""

import io
import re
import sys

import pytest
from playwright.sync_api import expect
from pypdf import PdfReader

from tests.bench.bench_pages import SCREENS, main_pages, measure
from tests.browser.conftest import DESK, PHONE, assert_no_fault
from tests.browser.test_axe import IN_THE_WAY

FULLEST = (
    "SELECT vehicle_id FROM collection_entry e JOIN collection_vehicle v ON v.id = e.vehicle_id"
    " WHERE v.left_on IS NULL GROUP BY vehicle_id ORDER BY count(*) DESC LIMIT 1"
)
HEAVIEST_KB = 60  # of a page with style and script, compressed, without photographs
PHOTOGRAPH = '<img class="face" alt="" src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">'
RICH = "SELECT id FROM collection_vehicle WHERE registration = 'KM 1091'"


def screens(page):
    return page.evaluate("document.documentElement.scrollHeight / window.innerHeight")


def words(page):
    return len(page.locator("main").inner_text().split())


@pytest.fixture
def tell(capsys):
    def say(page, what):
        with capsys.disabled():
            sys.stdout.write(f"\n{what}: {screens(page):.1f} screens, {words(page)} words\n")

    return say


def test_the_whole_collection_is_two_screens_of_a_desk(kaldmere, open_as, tell):
    page = open_as("manager", DESK)
    page.goto("/collection/")
    tell(page, "collection, desk")
    standing = kaldmere.value("SELECT count(*) FROM collection_vehicle WHERE left_on IS NULL")
    assert page.locator("table.fleet tbody tr").count() == standing > 35
    list_of_cars = page.locator("form.narrow-list").bounding_box()
    cars = page.locator("#cars").bounding_box()
    assert cars["y"] + cars["height"] - list_of_cars["y"] <= 2 * DESK["height"]


def test_on_a_phone_it_is_a_card_for_what_presses_a_line_for_the_others_in_six_screens(open_as, tell):
    page = open_as("manager", PHONE)
    page.goto("/collection/")
    tell(page, "collection, phone")
    assert screens(page) <= 6
    cards, lines = page.locator("table.fleet tr.presses"), page.locator("table.fleet tbody tr:not(.presses)")
    assert cards.first.locator("td.part:visible").count() > 0
    assert lines.locator("td.part:visible").count() == 0
    assert (
        max(box["height"] for box in (line.bounding_box() for line in lines.all())) < 72
    )  # two lines of a name
    assert page.locator("nav.tasks").bounding_box()["height"] < 2 * 40


@pytest.mark.parametrize("which", [FULLEST, RICH], ids=["most entries", "most parts"])
@pytest.mark.parametrize(("screen", "most"), [(DESK, 4), (PHONE, 6)], ids=["desk", "phone"])
def test_a_cars_page_is_four_screens_of_a_desk_and_six_of_a_phone(
    kaldmere, open_as, tell, which, screen, most
):
    page = open_as("manager", screen)
    page.goto(f"/cars/{kaldmere.value(which)}/")
    tell(page, f"car, {screen['width']} px")
    assert screens(page) <= most


@pytest.mark.parametrize("which", [FULLEST, RICH], ids=["most entries", "most parts, a photograph"])
@pytest.mark.parametrize(("screen", "most"), [("desk", 2), ("phone", 4)])
def test_the_first_page_of_a_history_is_two_screens_of_a_desk_and_four_of_a_phone(
    kaldmere, open_as, capsys, which, screen, most
):
    car = kaldmere.value(which)
    page = open_as("manager", SCREENS[screen])
    found = measure(page, "history", screen, f"/cars/{car}/history/")
    with capsys.disabled():
        sys.stdout.write(f"\n{found}")
    assert found.kilobytes <= 50
    if which == RICH:  # a photograph is taller than a drawing
        page.evaluate("photo => document.querySelector('.hero .face').outerHTML = photo", PHOTOGRAPH)
    assert screens(page) <= most
    assert page.locator("dl.verdict > div:visible").count() == 7
    assert (
        page.locator(".contents > details").count() == page.locator(".contents > details:visible").count() > 8
    )
    assert page.locator(".contents > details[open]").count() == 0
    page.locator(".contents summary", has_text="What was done").click()
    page.locator("table.doings").first.wait_for()


def test_typing_narrows_the_list_and_the_address_keeps_it(open_as):
    page = open_as("manager", DESK)
    page.goto("/collection/")
    page.get_by_label("Find in the list").press_sequentially("nightjar")
    rows = page.locator("table.fleet tbody tr")
    expect(rows).to_have_count(2)
    assert "text=nightjar" in page.url
    assert page.get_by_label("Find in the list").input_value() == "nightjar"
    assert page.get_by_role("status").inner_text() == "2 cars"
    page.get_by_label("Find in the list").fill("zeppelin")
    page.get_by_text("No car fits what you asked for.").wait_for()
    page.get_by_label("Find in the list").fill("")
    expect(rows.nth(35)).to_be_visible()


def test_without_script_the_list_narrows_and_sorts_too(chromium, kaldmere, signed_in):
    context = chromium.new_context(
        base_url=kaldmere.address, storage_state=signed_in["manager"], java_script_enabled=False
    )
    page = context.new_page()
    page.goto("/collection/")
    page.get_by_label("Find in the list").fill("nightjar")
    page.get_by_role("button", name="Show", exact=True).click()
    page.wait_for_url("**text=nightjar**")
    names = page.locator("table.fleet tbody th a")
    assert names.count() == 2
    page.get_by_role("link", name="Car", exact=True).click()
    page.wait_for_url("**sort=name**")
    ascending = names.all_inner_texts()
    page.get_by_role("link", name="Car", exact=True).click()
    page.wait_for_url("**sort=-name**")
    assert names.all_inner_texts() == ascending[::-1]
    page.get_by_role("searchbox", name="Find anywhere").fill("castellane")
    page.keyboard.press("Enter")
    page.wait_for_url("**/find/**")
    assert page.get_by_role("link", name="Imre Castellane").is_visible()
    context.close()


@pytest.mark.parametrize("screen", SCREENS)
def test_the_main_pages_come_compressed_and_light(kaldmere, open_as, capsys, screen):
    for name, path in main_pages(kaldmere.value(RICH)).items():
        page = open_as("manager", SCREENS[screen])
        found = measure(page, name, screen, path)
        with capsys.disabled():
            sys.stdout.write(f"\n{found}")
        assert found.kilobytes < HEAVIEST_KB


def test_a_floor_plan_with_its_moves_is_one_sheet_of_paper(kaldmere, open_as):
    page = open_as("staff", DESK)
    page.goto(f"/floor-plan/?out={kaldmere.value(IN_THE_WAY)}")
    page.emulate_media(media="print")
    assert page.locator("#out ol").count() == 2
    assert len(PdfReader(io.BytesIO(page.pdf(format="A4"))).pages) == 1


def test_a_bay_is_moved_by_key_and_by_hand_and_lies_there_once_saved(kaldmere, open_as):
    page = open_as("manager", DESK)
    building = kaldmere.value("SELECT id FROM collection_building ORDER BY id LIMIT 1")
    page.goto(f"/places/buildings/{building}/arrange/")
    bay = page.get_by_role("button", name="Move bay A8")
    left = page.locator(f"#id_{bay.get_attribute('data-bay')}-from_left_m")
    before = float(left.input_value())
    bay.focus()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowLeft")
    assert float(left.input_value()) == pytest.approx(before + 0.9)
    assert "A8" in page.get_by_role("status").inner_text()
    at = bay.bounding_box()
    page.mouse.move(at["x"] + at["width"] / 2, at["y"] + at["height"] / 2)
    page.mouse.down()
    page.mouse.move(at["x"] + at["width"] / 2 + 22, at["y"] + at["height"] / 2, steps=4)
    page.mouse.up()
    dragged = float(left.input_value())
    assert dragged == pytest.approx(before + 1.9, abs=0.15)
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url("**/arrange/")
    assert float(left.input_value()) == dragged


def test_a_chart_stands_without_its_script_which_comes_when_somebody_explores(kaldmere, open_as):
    page = open_as("manager", DESK)
    page.goto(f"/cars/{kaldmere.value(RICH)}/why/charge/")
    assert page.locator("svg.drawn path").count() > 5
    assert page.evaluate("typeof Plotly") == "undefined"
    page.get_by_role("button", name="Explore").click()
    page.locator(".js-plotly-plot .main-svg").first.wait_for()
    assert page.locator("svg.drawn").is_hidden()


@pytest.mark.parametrize("path", ["/collection/", "/timeline/", "car"])
@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_a_dark_page_has_no_fault_on_either_screen(kaldmere, open_as, path, screen):
    page = open_as("manager", screen)
    page.emulate_media(color_scheme="dark")
    page.goto(f"/cars/{kaldmere.value(RICH)}/" if path == "car" else path)
    page.evaluate("document.querySelectorAll('details').forEach(part => { part.open = true })")
    assert_no_fault(page, screen)


def test_a_collector_sees_what_matters_opens_why_acts_and_sees_it_clear(open_as):
    page = open_as("staff", PHONE)
    page.goto("/collection/?sort=body&show=pressing")
    pressing = page.locator("table.fleet tr.presses")  # inspections, which no file before this one takes
    asked = page.locator("td.part a[href$='/why/inspection/'] .mark-act_now")
    car = pressing.filter(has=asked).first
    name = car.locator("th a").inner_text()
    car.locator("a[href$='/why/inspection/']").click()
    page.wait_for_url("**/why/inspection/")
    assert page.get_by_role("heading", level=1).is_visible()
    page.get_by_role("link", name=name).first.click()
    page.get_by_role("link", name="Log Inspection").click()
    with page.expect_navigation(url=re.compile(r"/cars/\d+/$")):
        page.get_by_role("button", name="Log the inspection").click()
    page.goto("/collection/?sort=name")
    row = page.locator("table.fleet tbody tr").filter(has=page.get_by_role("link", name=name, exact=True))
    assert row.count() == 1
    assert row.filter(has=asked).count() == 0
