"""From the first page of an empty installation to a list that one can believe, in few answers: counted."""

import os
import signal
import subprocess
import sys
import time

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings

from tests.browser.conftest import DESK, PHONE, WITHIN_SECONDS, answers, watch
from tests.postgresql import unused_port

MOST = {"fields": 40, "clicks": 30, "pages": 10}
FIRST = {
    "ORGANISATION": "Ferrow Garage",
    "MANAGER_NAME": "Ada Ferrow",
    "MANAGER_EMAIL": "ada@ferrow.example",
    "MANAGER_PASSWORD": "long-enough-pass",
}
CARS = (
    ("Brackwater", "Eight", "1938"),
    ("Wendlow", "Twelve", "1962"),
    ("Wendlow", "Traveller", "1968"),
    ("Ostler", "Nine", "1974"),
    ("Calder", "Falconet GT", "1987"),
    ("Calder", "Meridian", "1996"),
    ("Ostler", "Twin Six", "2008"),
    ("Brackwater", "Carrier", "1991"),
)


@pytest.fixture(scope="module")
def nothing_yet(chromium, tmp_path_factory):
    """``manage.py serve`` as somebody starts it for the first time; its address."""
    folder, port = tmp_path_factory.mktemp("empty"), unused_port()
    address = f"http://127.0.0.1:{port}"
    named = {f"LONGSTAND_FIRST_{name}": value for name, value in FIRST.items()}
    with (folder / "log").open("w") as log:
        process = subprocess.Popen(  # noqa: S603 - our own command line
            [sys.executable, settings.BASE_DIR / "manage.py", "serve", "--only", "web", "--port", str(port)],
            env=os.environ | {"LONGSTAND_DATA": str(folder), "LONGSTAND_MODE": "local"} | named,
            stdout=log,
            stderr=log,
            stdin=subprocess.DEVNULL,
        )
        try:
            deadline = time.monotonic() + WITHIN_SECONDS
            while not answers(address):
                assert process.poll() is None, (folder / "log").read_text()
                assert time.monotonic() < deadline, (folder / "log").read_text()
                time.sleep(0.3)
            yield address
        finally:
            process.send_signal(signal.SIGINT)
            process.wait(40)


class Counted:
    """A page whose fields filled, things pressed and pages seen are counted."""

    def __init__(self, page):
        self.page = page
        self.counts = dict.fromkeys(MOST, 0)
        page.on("framenavigated", lambda frame: self.count("pages") if frame == page.main_frame else None)

    def count(self, what):
        self.counts[what] += 1

    def fill(self, label, value):
        self.count("fields")
        self.page.get_by_label(label, exact=True).fill(value)

    def choose(self, label, words):
        self.count("fields")
        self.page.get_by_label(label, exact=True).select_option(label=words)

    def press(self, name, role="button"):
        self.count("clicks")
        self.page.get_by_role(role, name=name, exact=True).click()
        self.page.wait_for_load_state()


def look_at(page):
    """No fault that axe can find on this page, on the desk or the phone; it does not scroll sideways."""
    for screen in (PHONE, DESK):
        page.set_viewport_size(screen)
        result = Axe().run(page)
        assert result.violations_count == 0, result.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= screen["width"]


def test_eight_cars_in_one_garage_are_a_list_in_few_answers(chromium, nothing_yet):
    context = chromium.new_context(base_url=nothing_yet, viewport=DESK, timezone_id="Europe/Vienna")
    page = watch(context.new_page())
    page.set_default_timeout(120_000)
    person = Counted(page)
    page.goto("/")
    person.fill("E-mail address", FIRST["MANAGER_EMAIL"])
    person.fill("Password", FIRST["MANAGER_PASSWORD"])
    person.press("Sign in")
    look_at(page)
    person.press("Start with your cars", role="link")
    look_at(page)
    person.fill("Place", "Ferrow")
    person.choose("Its climate", "Temperate inland")
    assert page.get_by_label("Time zone").is_hidden()
    person.press("On to the cars")
    page.set_viewport_size(PHONE)
    lines = page.locator("table.first-cars tbody tr")
    assert [lines.nth(number).is_visible() for number in range(3)] == [True, False, False]
    page.set_viewport_size(DESK)
    for number, (make, model, year) in enumerate(CARS, 1):
        person.fill(f"Make, car {number}", make)
        person.fill(f"Model, car {number}", model)
        person.fill(f"Year, car {number}", year)
    for number in (2, 3, 5, 7):
        person.fill(f"Last driven, car {number}", "2026-01-15")
    person.press("Write them down")

    page.wait_for_url("**/collection/")
    look_at(page)
    counts = ", ".join(f"{count} {what}" for what, count in person.counts.items())
    print(f"\neight cars in one garage: {counts}")  # noqa: T201 - for whoever runs it with -s
    assert all(count <= MOST[what] for what, count in person.counts.items()), counts
    for make, model, year in CARS:
        assert page.get_by_role("link", name=f"{year} {make} {model}").first.is_visible()
    driven = page.get_by_role("row", name="1962 Wendlow Twelve")
    assert "Act now" in driven.inner_text()
    assert "Unknown" in page.get_by_role("row", name="1974 Ostler Nine").inner_text()
    surer = page.get_by_role("region", name="To be surer: two minutes each")
    assert surer.get_by_role("listitem").count() == 3
    page.get_by_role("link", name="1938 Brackwater Eight").first.click()
    assert "Carburettor (assumed from its kind)" in page.locator(".record").inner_text()
    page.goto("/places/")
    assert "Europe/Vienna" in page.get_by_role("main").inner_text()
    assert page.complaints == []
    context.close()
