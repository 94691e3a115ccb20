"""The real demo in a process of its own, and Chromium looking at it.

Everything here lives as long as this folder's tests and no longer: Playwright keeps an event loop
in its thread, in which Django refuses to touch a database for the tests that follow.
"""

import os
import re
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import override_settings
from playwright.sync_api import sync_playwright

from collection.demo.people import SIGN_INS
from collection.operations import serving
from tests.browser.cable import Cable
from tests.postgresql import unused_port

CHROMIUM = Path(os.environ.get("LONGSTAND_CHROMIUM", "/usr/bin/chromium"))
IN_CI = os.environ.get("CI") == "true"
DESK, PHONE = {"width": 1280, "height": 900}, {"width": 360, "height": 740}
WITHIN_SECONDS = 300  # to start or to end, on a busy machine


@dataclass(frozen=True)
class Demo:
    """Where the demo answers, and its database to look addresses up in."""

    address: str
    database: Path

    def value(self, query, *parameters):
        """The first value that a query of the demo's database gives."""
        with sqlite3.connect(self.database, timeout=20) as connection:
            row = connection.execute(query, parameters).fetchone()
        connection.close()
        return row[0] if row else None


def answers(address):
    try:
        with urllib.request.urlopen(f"{address}/sign-in/", timeout=5) as answer:  # noqa: S310 - our own address
            return answer.status == 200
    except (urllib.error.URLError, OSError):
        return False


@pytest.fixture(scope="package")
def chromium():
    if not CHROMIUM.exists():
        message = f"no browser at {CHROMIUM}: install Chromium or name it in LONGSTAND_CHROMIUM"
        pytest.fail(message) if IN_CI else pytest.skip(message)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@contextmanager
def running(command, folder, address, **environment):
    """A process that serves the barn of a folder, until Ctrl-C; what it wrote stands in the folder's log."""
    log = folder / "log"
    with log.open("w") as out:
        process = subprocess.Popen(  # noqa: S603 - our own command line
            command,
            cwd=settings.BASE_DIR,
            env=os.environ | {"LONGSTAND_DATA": str(folder), "LONGSTAND_MODE": "local"} | environment,
            stdout=out,
            stderr=out,
            stdin=subprocess.DEVNULL,
        )
    try:
        deadline = time.monotonic() + WITHIN_SECONDS
        while not answers(address):
            assert process.poll() is None, log.read_text()
            assert time.monotonic() < deadline, log.read_text()
            time.sleep(0.3)
        yield
    finally:
        process.send_signal(signal.SIGINT)  # as Ctrl-C does
        process.wait(WITHIN_SECONDS)
    assert process.returncode == 0, log.read_text()
    assert "Traceback" not in log.read_text(), log.read_text()


@pytest.fixture(scope="module")
def kaldmere(request, built_demo, tmp_path_factory):
    """The barn as it was built, for each file anew.

    A file that sets ``WHOLE_COMMAND`` has it from ``manage.py demo``, worker and all, as a person starts it
    again; the others from the web server alone, which is up in a third of the time.
    """
    folder, port = tmp_path_factory.mktemp("demo"), unused_port()
    shutil.copytree(built_demo, folder, dirs_exist_ok=True)
    demo = Demo(f"http://127.0.0.1:{port}", folder / "demo.sqlite3")
    whole = getattr(request.module, "WHOLE_COMMAND", False)
    if whole:
        command, more = [sys.executable, settings.BASE_DIR / "manage.py", "demo", "--port", str(port)], {}
    else:
        with override_settings(WEB_PROCESSES=1):
            command = serving.web_command("127.0.0.1", port)
        more = {
            "DJANGO_SETTINGS_MODULE": "collection.settings",
            "LONGSTAND_DATABASE": f"sqlite:///{demo.database}",
        }
    with running(command, folder, demo.address, **more):
        yield demo
    said = (folder / "log").read_text()
    assert not whole or all(person.email in said and person.password in said for person in SIGN_INS), said


def watch(page, host="127.0.0.1"):
    """Everything that the browser complains of on this page, as it comes."""
    page.complaints = []
    note = page.complaints.append
    page.on("console", lambda said: note(said.text) if said.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: note(str(error)))
    # a page that is left while it is still coming is not a fault: the browser itself gave it up
    page.on(
        "requestfailed",
        lambda request: (
            None if request.failure == "net::ERR_ABORTED" else note(f"{request.url}: {request.failure}")
        ),
    )
    page.on(
        "request",
        lambda request: (
            None if re.match(rf"http://{re.escape(host)}:|data:|blob:", request.url) else note(request.url)
        ),
    )
    return page


def assert_no_fault(page, screen):
    """Axe finds nothing on the page, and it does not scroll sideways on that screen."""
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= screen["width"], f"{page.url} scrolls sideways"


class SignedIn(dict):
    """The cookies of each role, signed in once through the page when they are first asked for."""

    def __init__(self, chromium, demo):
        super().__init__({None: None})
        self.chromium, self.demo = chromium, demo

    def __missing__(self, role):
        person = next(person for person in SIGN_INS if person.role == role)
        context = self.chromium.new_context(base_url=self.demo.address)
        page = context.new_page()
        page.goto("/sign-in/")
        page.get_by_label("E-mail address").fill(person.email)
        page.get_by_label("Password").fill(person.password)
        page.get_by_role("button", name="Sign in", exact=True).click()
        page.wait_for_url("**/collection/")
        self[role] = context.storage_state()
        context.close()
        return self[role]


@pytest.fixture(scope="module")
def signed_in(chromium, kaldmere):
    return SignedIn(chromium, kaldmere)


@pytest.fixture
def open_as(chromium, kaldmere, signed_in):
    """Open a page as a role (None: not signed in) on a screen; at the end nothing may have complained."""
    contexts, pages = [], []

    def open_page(role, screen):
        phone = {"is_mobile": True, "has_touch": True} if screen == PHONE else {}
        context = chromium.new_context(
            base_url=kaldmere.address, viewport=screen, storage_state=signed_in[role], **phone
        )
        contexts.append(context)
        pages.append(watch(context.new_page()))
        return pages[-1]

    yield open_page
    complaints = [complaint for page in pages for complaint in page.complaints]
    for context in contexts:
        context.close()
    assert complaints == []


@pytest.fixture
def cable(kaldmere):
    laid = Cable(int(kaldmere.address.rpartition(":")[2]))
    yield laid
    laid.close()


@pytest.fixture
def phone(chromium, cable, tmp_path):
    """A phone whose browser may be closed and opened: what it keeps, it keeps on disk."""
    opened = []

    def open_browser():
        context = chromium.browser_type.launch_persistent_context(
            tmp_path / "phone",
            executable_path=CHROMIUM,
            args=["--no-sandbox"],
            base_url=cable.address,
            viewport=PHONE,
            is_mobile=True,
            has_touch=True,
        )
        opened.append(context)
        page = context.new_page()
        page.faults = []
        page.on("pageerror", lambda error: page.faults.append(str(error)))
        return page

    yield open_browser
    for context in opened:
        context.close()
