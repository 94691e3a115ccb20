"""A link made at the desk, read on a phone by somebody without a sign-in, and ended."""

import re

from tests.browser.conftest import DESK, PHONE, assert_no_fault
from tests.browser.test_axe import RICH


def make_link(desk, car, reader):
    desk.goto(f"/cars/{car}/shares/")
    desk.get_by_label("For whom").fill(reader)
    desk.get_by_label("Show estimated costs").check()
    desk.get_by_role("button", name="Make the link").click()
    return desk.locator("code.link").inner_text()


def test_a_link_is_read_without_a_sign_in_and_ended(kaldmere, open_as):
    desk, car = open_as("manager", DESK), kaldmere.value(RICH)
    link = make_link(desk, car, "A buyer in the browser")
    phone = open_as(None, PHONE)
    assert phone.goto(link).status == 200
    main = phone.inner_text("main")
    assert "Storage history" in main
    assert "Condition outlook" in main
    assert "Fennimore" not in main, "the owner's name was not ticked"
    assert "Long Barn" not in main, "nor was the place"
    assert phone.get_by_role("navigation", name="Main").count() == 0
    for screen in (PHONE, DESK):
        phone.set_viewport_size(screen)
        assert_no_fault(phone, screen)
    desk.goto(f"/cars/{car}/shares/")
    assert "A buyer in the browser" in desk.locator("table").inner_text()
    desk.get_by_role("button", name=re.compile("End it now ?: A buyer in the browser")).click()
    assert phone.request.get(link).status == 410


def test_two_links_are_put_side_by_side(kaldmere, open_as):
    desk = open_as("manager", DESK)
    other = "SELECT id FROM collection_vehicle WHERE registration = 'KM 1063'"
    links = [make_link(desk, kaldmere.value(query), "Compared") for query in (RICH, other)]
    reader = open_as(None, PHONE)
    reader.goto("/shared/compare/")
    reader.get_by_label("Links, one a line").fill("\n".join(links))
    reader.get_by_role("button", name="Put them side by side").click()
    assert "1991 Halvorne 560" in reader.inner_text("main")
    assert "1963 Tessaline Aurelle" in reader.inner_text("main")
    assert_no_fault(reader, PHONE)
