"""A second factor and a passkey as a person meets them: set up, used at the door, taken off."""

import base64
import hashlib
import hmac
import re
import struct
import time

import pytest
from PIL import Image

from tests.browser.conftest import DESK, PHONE, assert_no_fault, watch

VIEWER, PASSWORD = "viewer@kaldmere.example", "kaldmere-demo"
KEY = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


def code_of(secret, later_steps=0):
    """The six figures of RFC 6238."""
    counter = struct.pack(">Q", int(time.time()) // 30 + later_steps)
    mac = hmac.new(base64.b32decode(secret), counter, hashlib.sha1).digest()
    start = mac[-1] & 15
    return f"{(struct.unpack('>I', mac[start : start + 4])[0] & 0x7FFFFFFF) % 1_000_000:06d}"


def look(page, heading):
    """The page is the one expected, and has no fault on desk or phone."""
    assert heading in page.locator("h1").inner_text()
    for screen in (DESK, PHONE):
        page.set_viewport_size(screen)
        assert_no_fault(page, screen)


@pytest.fixture
def door(chromium, kaldmere):
    """A browser of nobody yet, with a key that says yes by itself."""
    # localhost, since a passkey belongs to a name and never to an address
    context = chromium.new_context(base_url=kaldmere.address.replace("127.0.0.1", "localhost"))
    page = watch(context.new_page(), "localhost")
    session = context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    session.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})
    yield page
    # going on before a page is whole is no fault
    complaints = [said for said in page.complaints if not said.endswith("net::ERR_ABORTED")]
    context.close()
    assert complaints == []


def press(page, name):
    page.get_by_role("button", name=name, exact=True).click()


def enter(page):
    page.goto("/sign-in/")
    page.get_by_label("E-mail address").fill(VIEWER)
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Sign in")


def leave(page):
    page.goto("/sign-out/")
    page.locator("main").get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")


def test_a_second_factor_and_a_passkey_from_first_to_last(door):
    page = door
    enter(page)
    page.wait_for_url("**/collection/")

    # an app, with recovery codes
    page.goto("/me/second-factor/")
    page.get_by_role("link", name="Set it up").click()
    look(page, "Your password, once more")
    page.get_by_label("Your password").fill(PASSWORD)
    press(page, "Go on")
    look(page, "App on your phone")
    secret = page.locator("main code").inner_text()
    page.get_by_label("Code").fill(code_of(secret))
    press(page, "Put it on")
    look(page, "Recovery codes")
    codes = page.locator("ul.codes code").all_inner_texts()
    assert len(codes) == 10
    page.get_by_role("link", name="Make new ones").click()
    look(page, "New recovery codes?")

    # a passkey
    page.goto("/me/second-factor/passkeys/new/")
    look(page, "New passkey")
    page.get_by_label("What you call it").fill("Barn phone")
    press(page, "Set it up")
    page.wait_for_url("**/me/second-factor/")
    look(page, "Second factor")
    page.get_by_role("link", name="See them").first.click()
    look(page, "Passkeys")
    assert "without password" in page.locator("main").inner_text()
    page.get_by_role("link", name=re.compile("Rename")).click()
    look(page, "Rename the passkey")
    page.get_by_label("What you call it").fill("My phone")
    press(page, "Save")

    # in by the passkey alone
    leave(page)
    look(page, "Sign in")
    press(page, "Sign in with a passkey")
    page.wait_for_url("**/collection/")

    # in by password and a recovery code, then by password and the passkey
    leave(page)
    enter(page)
    look(page, "One more step")
    page.get_by_label("Code").fill(codes[0])
    press(page, "Sign in")
    page.wait_for_url("**/collection/")
    leave(page)
    enter(page)
    press(page, "Use a passkey or a key")
    page.wait_for_url("**/collection/")

    # taken off again, each time after one's word
    page.goto("/me/again/code/")
    look(page, "A code, once more")
    page.goto("/me/again/passkey/?next=/me/second-factor/passkeys/")
    look(page, "Your passkey, once more")
    press(page, "Use the passkey")
    page.wait_for_url("**/me/second-factor/passkeys/")
    page.get_by_role("link", name=re.compile("Take off")).click()
    look(page, "Take “My phone” off?")
    press(page, "Take it off")
    page.goto("/me/second-factor/app/off/")
    look(page, "Take the app off?")
    press(page, "Take it off")
    page.wait_for_url("**/me/second-factor/")
    leave(page)
    enter(page)
    page.wait_for_url("**/collection/")


def test_a_photograph_is_sent_from_the_phone_and_shown_with_the_entry(kaldmere, open_as, tmp_path):
    picture = tmp_path / "tyre.png"
    Image.new("RGB", (200, 150), "grey").save(picture)
    phone = open_as("staff", PHONE)
    car = kaldmere.value("SELECT id FROM collection_vehicle WHERE registration = 'KM 1063'")
    phone.goto(f"/cars/{car}/log/note/")
    phone.get_by_label("Note").fill("A bulge in the left rear tyre.")
    phone.get_by_label("Photographs and documents").set_input_files(picture)
    press(phone, "Keep the note")
    shown = phone.locator("ol.log img").first
    shown.scroll_into_view_if_needed()
    phone.wait_for_function("() => document.querySelector('ol.log img').naturalWidth === 200")
    link = phone.get_by_role("link", name=re.compile("tyre.jpg")).first.get_attribute("href")
    answer = phone.request.get(link)
    assert answer.headers["content-disposition"] == 'attachment; filename="tyre.jpg"'
    assert answer.headers["content-security-policy"] == "sandbox; default-src 'none'"
