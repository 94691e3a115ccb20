"""The whole story in a browser: a car is due and why, a charge logged by phone, the date moves, the week."""

import re

from tests.browser.conftest import DESK, PHONE

WHOLE_COMMAND = True  # as a person starts it
CHARGE_DUE = """
    SELECT d.vehicle_id FROM collection_dutyrow d
    WHERE d.duty = 'charge' AND d.hold = '' AND NOT d.unknown AND d.late < date('now') ORDER BY d.late LIMIT 1
"""
CHARGE_BY = "SELECT late FROM collection_dutyrow WHERE duty = 'charge' AND vehicle_id = ?"


def test_the_whole_story(kaldmere, open_as, tmp_path):
    # at the desk: what is due, and why
    desk = open_as("staff", DESK)
    desk.goto("/due/?duty=charge")
    car = kaldmere.value(CHARGE_DUE)
    assert car, "the demo has no car whose charge is due"
    row = desk.get_by_role("row").filter(has=desk.locator(f"a[href='/cars/{car}/']"))
    assert "Act now" in row.inner_text()
    row.locator(f"a[href='/cars/{car}/why/charge/']").first.click()
    verdict = desk.locator(".verdict").inner_text()
    assert "Act now" in verdict
    by = kaldmere.value(CHARGE_BY, car)
    body = desk.inner_text("main")
    for heading in ("What went in", "How it is worked out", "Where the numbers come from"):
        assert heading in body
    assert "hydrogen" in body.lower(), "the caution for charging stands with the reason"

    # at the car, on the phone
    phone = open_as("staff", PHONE)
    phone.goto(f"/cars/{car}/")
    phone.get_by_role("link", name="Log care").click()
    phone.get_by_role("link", name="Battery charge").click()
    phone.get_by_label("Rested volts").fill("11.9")
    phone.get_by_label("Charged in full").check()
    button = phone.get_by_role("button", name="Log the charge")
    assert button.bounding_box()["height"] >= 44, "large enough for a cold thumb"
    assert phone.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    button.click()
    assert "Battery charge logged" in phone.locator(".notice.good").first.inner_text()

    # the date has moved, for everyone
    desk.reload()
    assert kaldmere.value(CHARGE_BY, car) > by
    assert "Act now" not in desk.locator(".verdict").inner_text()
    phone.goto(f"/cars/{car}/history/")
    phone.get_by_role("heading", name="What was done").click()  # a chapter opens
    assert "Battery charge" in phone.inner_text("main")

    # the week, on paper
    desk.goto("/week/")
    desk.emulate_media(media="print")
    assert desk.get_by_text("Worksheet, Kaldmere").is_visible()
    assert not desk.get_by_role("navigation", name="Main").is_visible()
    for size in ("A4", "Letter"):
        paper = desk.pdf(format=size)
        assert paper.startswith(b"%PDF-")
        pages = len(re.findall(rb"/Type\s*/Page\b", paper))
        assert 1 <= pages <= 40


def test_a_charge_sent_twice_is_stored_once(kaldmere, open_as):
    phone = open_as("staff", PHONE)
    car = kaldmere.value("SELECT id FROM collection_vehicle WHERE registration = 'KM 1063'")
    count = "SELECT count(*) FROM collection_entry WHERE vehicle_id = ? AND kind = 'charge'"
    before = kaldmere.value(count, car)
    phone.goto(f"/cars/{car}/log/charge/")
    form = phone.evaluate("Object.fromEntries(new FormData(document.querySelector('form.at-car')).entries())")
    headers = {"Referer": phone.url}
    answers = [phone.request.post(f"/cars/{car}/log/charge/", form=form, headers=headers) for _ in range(2)]
    assert [answer.status for answer in answers] == [200, 200]
    assert kaldmere.value(count, car) == before + 1
    assert "It had been stored before; it stands once." in answers[1].text()


def test_an_owner_sees_own_cars_and_nobody_elses(kaldmere, open_as):
    page = open_as("owner", DESK)
    page.goto("/due/")
    cars = page.locator("table.due tbody tr").count()
    theirs = kaldmere.value(
        "SELECT count(*) FROM collection_vehicle v JOIN collection_owner o ON o.id = v.owner_id"
        " WHERE o.name = 'Imre Castellane'"
    )
    assert cars == theirs > 5
    assert page.get_by_role("link", name="Week").count() == 0


def test_charts_are_drawn_by_our_own_script(kaldmere, open_as):
    page = open_as("manager", DESK)
    car = kaldmere.value("SELECT id FROM collection_vehicle WHERE registration = 'KM 1091'")
    page.goto(f"/cars/{car}/curves/")
    page.locator("[data-explore]").first.click()
    page.wait_for_selector(".chart .main-svg", timeout=20_000)
    assert page.locator(".chart .main-svg").count() > 0
