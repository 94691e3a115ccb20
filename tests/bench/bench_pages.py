"""Weight, words, links and screens of the five pages that are looked at most, as a browser gets them.

    uv run python -m tests.bench.bench_pages ADDRESS EMAIL PASSWORD     of a demo that runs, as it prints them

The weight is what goes over the wire at a first look: compressed, with style and script, without photographs.
"""

import os
import sys
from dataclasses import dataclass

from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = os.environ.get("LONGSTAND_CHROMIUM", "/usr/bin/chromium")
SCREENS = {"desk": {"width": 1280, "height": 900}, "phone": {"width": 360, "height": 740}}
WEIGHT = """() => performance.getEntriesByType('navigation')[0].transferSize
  + performance.getEntriesByType('resource').filter(one => one.initiatorType !== 'img')
      .reduce((sum, one) => sum + one.transferSize, 0)"""


@dataclass(frozen=True)
class Measured:
    """One page on one screen."""

    name: str
    screen: str
    kilobytes: float
    words: int
    links: int
    screens: float

    def __str__(self) -> str:
        return (
            f"{self.name:<10} {self.screen:<5} {self.kilobytes:6.1f} kB {self.words:5} words"
            f" {self.links:4} links {self.screens:5.1f} screens"
        )


def measure(page: Page, name: str, screen: str, path: str) -> Measured:
    """Look at a page for the first time."""
    page.goto(path)
    return Measured(
        name=name,
        screen=screen,
        kilobytes=page.evaluate(WEIGHT) / 1000,
        words=len(page.locator("main").inner_text().split()),
        links=page.locator("main a").count(),
        screens=page.evaluate("document.documentElement.scrollHeight / window.innerHeight"),
    )


def main_pages(car: int) -> dict[str, str]:
    """The five: collection, due, a car, the week, its history."""
    return {
        "collection": "/collection/",
        "due": "/due/",
        "car": f"/cars/{car}/",
        "week": "/week/",
        "history": f"/cars/{car}/history/",
    }


def _signed_in(browser: Browser, address: str, email: str, password: str) -> tuple[object, int]:
    context = browser.new_context(base_url=address)
    page = context.new_page()
    page.set_default_timeout(120_000)
    page.goto("/sign-in/")
    page.get_by_label("E-mail address").fill(email)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url("**/collection/")
    page.goto("/collection/?text=1091")
    car = page.locator("table.fleet tbody th a").first.get_attribute("href") or ""
    state = context.storage_state()
    context.close()
    return state, int(car.split("/")[2])


def run(address: str, email: str, password: str) -> None:
    """Print every page on both screens, each with an empty cache."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        state, car = _signed_in(browser, address, email, password)
        for screen, size in SCREENS.items():
            for name, path in main_pages(car).items():
                context = browser.new_context(base_url=address, viewport=size, storage_state=state)  # type: ignore[arg-type]
                page = context.new_page()
                page.set_default_timeout(120_000)
                sys.stdout.write(f"{measure(page, name, screen, path)}\n")
                context.close()
        browser.close()


if __name__ == "__main__":
    run(*sys.argv[1:])
