"""The round at the barn: rows walked, the day, the queue, with and without a signal, measured for gloves."""

import io
from datetime import UTC, datetime

import pytest
from PIL import Image
from playwright.sync_api import expect

from collection.care.attachments import MOST_BYTES, MOST_FILES
from tests.browser.conftest import DESK, PHONE, assert_no_fault
from tests.browser.test_offline import (
    MANAGER,
    SOON_MS,
    STAFF,
    count,
    log_charge,
    needing,
    on_the_round,
    open_car,
    sign_in,
    step,
    take_the_round,
    waits_empty,
)

GLOVES_PX, ELSEWHERE_PX = 44, 24  # the least of a target: in the barn; WCAG 2.2, 2.5.8 Target Size (Minimum)
WALK = "/worksheet/walk/{}/?row=A"


def photograph():
    made = io.BytesIO()
    Image.new("RGB", (40, 30), "brown").save(made, "PNG")
    return made.getvalue()


def building(kaldmere):
    return kaldmere.value("SELECT id FROM collection_building ORDER BY walk_order LIMIT 1")


def cars_of_row(kaldmere):
    query = (
        "SELECT group_concat(v.id) FROM collection_vehicle v JOIN collection_bay b ON b.id = v.bay_id"
        " WHERE v.left_on IS NULL AND b.building_id = ? AND b.row = 'A'"
    )
    return [int(pk) for pk in kaldmere.value(query, building(kaldmere)).split(",")]


def open_row(page, kaldmere):
    page.goto(WALK.format(building(kaldmere)))
    page.wait_for_selector("#worksheet[data-ready]")


def in_row(page, car):
    return page.locator(f"[data-line='{car}']")


def gone_up(page):
    """Until the row is at the site: a dozen entries and a photograph, on a machine that does much else."""
    expect(page.locator("#queue")).to_have_attribute("data-waiting", "0", timeout=6 * SOON_MS)
    expect(page.locator("#queue")).to_be_empty()


def online(page):
    page.evaluate("window.dispatchEvent(new Event('online'))")


# --- a row -----------------------------------------------------------------------------------------


def test_a_row_walked_without_a_signal_goes_up_once_with_what_was_found_and_its_photograph(
    kaldmere,
    cable,
    phone,
):
    cars = cars_of_row(kaldmere)
    before = {car: (count(kaldmere, car, "inspected"), count(kaldmere, car, "note")) for car in cars}
    page = phone()
    sign_in(page)
    take_the_round(page)
    on_round = {int(link.get_attribute("data-car")) for link in page.locator("[data-car]").all()}
    cars.sort(key=lambda car: car not in on_round)  # the first has its page on the phone
    cable.cut()
    open_row(page, kaldmere)
    assert page.locator("#walk :checked:not(option)").count() == 0, "nothing claims work before somebody taps"
    expect(page.get_by_role("button", name=f"All well: {len(cars)} cars")).to_be_visible()
    first, second = in_row(page, cars[0]), in_row(page, cars[1])
    first.locator("summary").click()
    first.get_by_label("▲ Smell of petrol").check()
    first.get_by_label("Photographs").set_input_files(
        {"name": "tank.png", "mimeType": "image/png", "buffer": photograph()}
    )
    expect(first.locator(".line-state")).to_have_text("▲ Smell of petrol · 1 photograph")
    second.locator("summary").click()
    second.get_by_label("Not looked at, because").select_option("Locked, no key")
    page.get_by_role("button", name=f"All well: {len(cars) - 2} cars, 1 with a finding, 1 left out").click()
    expect(page.locator("#walked")).to_contain_text("waits for a signal")
    expect(page.locator("#queue")).to_contain_text("1 entry kept on this phone")
    expect(page.locator("#queue")).to_contain_text("1 file")
    open_car(page, cars[0])
    expect(page.locator("#danger")).to_be_visible()
    assert before == {car: (count(kaldmere, car, "inspected"), count(kaldmere, car, "note")) for car in cars}

    cable.mend()
    page.reload()
    gone_up(page)
    page.reload()
    gone_up(page)
    after = {car: (count(kaldmere, car, "inspected"), count(kaldmere, car, "note")) for car in cars}
    assert after[cars[0]] == (before[cars[0]][0] + 1, before[cars[0]][1] + 1)
    assert after[cars[1]] == before[cars[1]]
    assert all(after[car][0] == before[car][0] + 1 for car in cars[2:])
    stored = kaldmere.value(
        "SELECT count(*) FROM collection_attachment a JOIN collection_entry e ON e.id = a.entry_id"
        " WHERE e.vehicle_id = ? AND e.kind = 'note' AND e.recorded_at > datetime('now', '-1 hour')",
        cars[0],
    )
    assert stored == 1
    assert page.faults == []


def test_what_was_refused_of_a_row_is_mended_in_the_row(kaldmere, cable, phone):
    cars = cars_of_row(kaldmere)
    before = [count(kaldmere, car, "inspected") for car in cars]
    page = phone()
    sign_in(page)
    open_row(page, kaldmere)
    line = in_row(page, cars[2])
    line.locator("summary").click()
    line.get_by_label("Something else").check()
    page.locator("#walk button[type=submit]").click()
    expect(page.locator("#queue")).to_contain_text("Say in a few words what it is", timeout=6 * SOON_MS)
    page.get_by_role("link", name="Mend it").click()
    expect(line.get_by_label("Something else")).to_be_checked()
    line.get_by_label("Where, in your words").fill("cover torn")
    page.locator("#walk button[type=submit]").click()
    expect(page.locator("#walked")).to_contain_text("at the site", timeout=6 * SOON_MS)
    assert [count(kaldmere, car, "inspected") for car in cars] == [number + 1 for number in before]


# --- the queue -------------------------------------------------------------------------------------


def test_the_queue_is_one_line_and_taking_back_asks(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    open_car(page, car)
    cable.cut()
    log_charge(kaldmere, page, car)
    line = page.locator("#queue summary")
    expect(line).to_contain_text("1 entry kept on this phone, not yet at the site. No signal.")
    expect(page.get_by_role("button", name="Take back")).to_be_hidden()
    assert page.locator("#queue").bounding_box()["height"] < 120
    line.click()
    page.get_by_role("button", name="Take back").click()
    expect(page.get_by_text("It is then logged nowhere.")).to_be_visible()
    page.get_by_role("button", name="Keep it").click()
    expect(line).to_be_visible()
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Take back").click()
    waits_empty(page)
    cable.mend()
    page.reload()
    waits_empty(page)
    assert count(kaldmere, car, "charge") == before


def test_phones_of_one_barn_do_not_try_again_at_the_same_moment(kaldmere, cable, phone):
    page = phone()
    page.add_init_script(
        """window.waits = []; const real = window.setTimeout;
        window.setTimeout = (act, ms, ...more) => { window.waits.push(ms); return real(act, ms, ...more) }"""
    )
    sign_in(page)
    waits = []
    for _ in range(4):
        open_car(page, needing(kaldmere, "charge"))
        waits += [ms for ms in page.evaluate("window.waits") if ms >= 10_000]
    assert len(waits) == len(set(waits)) >= 4
    assert all(20_000 <= ms <= 40_000 for ms in waits)


def test_what_waits_goes_up_in_the_background_with_no_page_open(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    take_the_round(page)
    open_car(page, car)
    cable.cut()
    log_charge(kaldmere, page, car)
    expect(page.locator("#queue")).to_contain_text("No signal", timeout=SOON_MS)
    tags = page.evaluate("navigator.serviceWorker.ready.then(worker => worker.sync.getTags())")
    assert tags == ["worksheet-entries"], "the browser wakes the worker for it"
    page.goto("about:blank")  # no page of ours is open
    session = page.context.new_cdp_session(page)
    seen = []
    session.on("ServiceWorker.workerRegistrationUpdated", lambda told: seen.extend(told["registrations"]))
    session.send("ServiceWorker.enable")
    page.wait_for_timeout(300)
    cable.mend()
    session.send(
        "ServiceWorker.dispatchSyncEvent",
        {
            "origin": cable.address,
            "registrationId": seen[0]["registrationId"],
            "tag": "worksheet-entries",
            "lastChance": False,
        },
    )
    for _ in range(100):
        if count(kaldmere, car, "charge") == before + 1:
            break
        page.wait_for_timeout(100)
    assert count(kaldmere, car, "charge") == before + 1
    open_car(page, car)
    waits_empty(page)
    assert count(kaldmere, car, "charge") == before + 1


def test_a_sign_in_lost_meanwhile_loses_no_entry(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    open_car(page, car)
    page.context.clear_cookies(name="sessionid")
    log_charge(kaldmere, page, car)
    expect(page.locator("#queue")).to_contain_text("Sign in again", timeout=SOON_MS)
    page.locator("#queue").get_by_role("link", name="Sign in").click()
    page.get_by_label("E-mail address").fill(STAFF.email)
    page.get_by_label("Password").fill(STAFF.password)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"**/worksheet/cars/{car}/")
    waits_empty(page)
    assert count(kaldmere, car, "charge") == before + 1


def test_another_person_on_the_same_phone_sends_nothing_of_the_first(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    open_car(page, car)
    page.context.clear_cookies(name="sessionid")
    log_charge(kaldmere, page, car)
    expect(page.locator("#queue")).to_contain_text("Sign in again", timeout=SOON_MS)
    page.context.clear_cookies()
    sign_in(page, MANAGER)
    open_car(page, car)
    expect(page.locator("#queue")).to_contain_text("1 entry of somebody else")
    assert count(kaldmere, car, "charge") == before


def test_a_storage_that_the_browser_clears_under_an_open_page_loses_no_later_entry(
    kaldmere,
    cable,
    phone,
):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    open_car(page, car)
    page.context.new_cdp_session(page).send(
        "Storage.clearDataForOrigin", {"origin": cable.address, "storageTypes": "indexeddb,cache_storage"}
    )
    log_charge(kaldmere, page, car)
    expect(step(page, "charge").locator(".on-phone")).to_contain_text("at the site", timeout=SOON_MS)
    assert count(kaldmere, car, "charge") == before + 1


def test_without_any_storage_the_form_goes_to_the_site_as_it_is(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    page.add_init_script(
        "IDBDatabase.prototype.transaction = () => { throw new DOMException('', 'InvalidStateError') }"
    )
    sign_in(page)
    page.goto(f"/worksheet/cars/{car}/")
    log_charge(kaldmere, page, car)
    expect(page.locator("main")).to_contain_text("logged for", timeout=SOON_MS)
    assert count(kaldmere, car, "charge") == before + 1


def found_form(page):
    form = page.locator("form[data-kind=found]")
    form.evaluate("form => { form.closest('details').open = true }")
    return form


def with_photographs(form, *sizes):
    files = [{"name": f"{n}.png", "mimeType": "image/png", "buffer": data} for n, data in enumerate(sizes)]
    form.get_by_label("Photographs").set_input_files(files)


def test_what_has_no_photographs_goes_up_before_what_has(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    page = phone()
    sign_in(page)
    open_car(page, car)
    cable.cut()
    form = found_form(page)
    with_photographs(form, photograph())
    form.get_by_role("button", name="Oil leak").click()
    expect(page.locator("#queue")).to_contain_text("1 file")
    log_charge(kaldmere, page, car)
    expect(page.locator("#queue")).to_contain_text("2 entries kept on this phone")
    cable.mend()
    online(page)
    gone_up(page)
    last = "SELECT group_concat(kind) FROM (SELECT kind FROM collection_entry WHERE vehicle_id = ?"
    assert kaldmere.value(f"{last} ORDER BY recorded_at DESC LIMIT 2)", car) == "note,charge"
    assert page.faults == []


def test_a_phone_without_room_for_a_photograph_says_so_and_loses_nothing_that_was_typed(
    kaldmere, cable, phone
):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "note")
    page = phone()
    page.add_init_script(
        """const put = IDBObjectStore.prototype.put;
        IDBObjectStore.prototype.put = function (item) {
            if (item.files && item.files.length) { throw new DOMException('', 'QuotaExceededError') }
            return put.call(this, item) }"""
    )
    sign_in(page)
    open_car(page, car)
    form = found_form(page)
    form.get_by_label("Where, in your words").fill("under the gearbox")
    with_photographs(form, photograph())
    form.get_by_role("button", name="Oil leak").click()
    expect(form.get_by_role("alert")).to_contain_text("no room")
    expect(page.locator("#queue")).to_be_empty()
    expect(form.get_by_label("Where, in your words")).to_have_value("under the gearbox")
    assert count(kaldmere, car, "note") == before
    form.get_by_label("Photographs").set_input_files([])
    form.get_by_role("button", name="Oil leak").click()
    expect(form.get_by_label("Where, in your words")).to_have_value("")  # the phone has it
    gone_up(page)
    expect(form.get_by_role("alert")).to_have_count(0)
    assert count(kaldmere, car, "note") == before + 1
    assert page.faults == []


def test_photographs_that_the_site_would_refuse_are_refused_on_the_phone(kaldmere, open_as):
    page = open_as("staff", PHONE)
    page.goto(WALK.format(building(kaldmere)))
    page.wait_for_selector("#worksheet[data-ready]")
    line = in_row(page, cars_of_row(kaldmere)[0])
    line.locator("summary").click()
    for sizes, told in (
        ([b"1"] * (MOST_FILES + 1), f"At most {MOST_FILES} files"),
        ([bytes(MOST_BYTES + 1)], "0.png is larger than 15 MB."),
    ):
        with_photographs(line, *sizes)
        line.locator("summary").click()  # folded, where its fault would not be seen
        page.locator("#walk button[type=submit]").click()
        assert told in line.get_by_label("Photographs").evaluate("input => input.validationMessage")
        expect(line.get_by_label("Photographs")).to_be_visible()
    expect(page.locator("#queue")).to_be_empty()
    with_photographs(line, photograph())
    assert page.locator("#walk").evaluate("form => form.checkValidity()")


def test_a_page_of_an_older_version_keeps_its_own_scripts_through_an_upgrade(
    kaldmere,
    cable,
    phone,
):
    car = on_the_round(kaldmere)
    page = phone()
    sign_in(page)
    take_the_round(page)
    old = "/static/collection/worksheet/car.0123456789ab.js"
    page.evaluate(
        """async ([url, old]) => {
            const pages = await caches.open('worksheet-pages');
            const assets = await caches.open('worksheet-assets');
            const html = await (await pages.match(url)).text();
            await pages.put(url, new Response(html.replace(/[^"]+worksheet\\/car\\.[^"]*js/, old),
                { headers: { 'Content-Type': 'text/html' } }));
            const text = "document.documentElement.dataset.version = 'old'";
            for (const each of [old, old.replace('/car.', '/unused.')]) {
                const headers = { 'Content-Type': 'text/javascript' };
                await assets.put(each, new Response(text, { headers }));
            }
            const registration = await navigator.serviceWorker.getRegistration();
            await registration.unregister();
        }""",
        [f"/worksheet/cars/{car}/", old],
    )
    page.goto("/worksheet/offline/")
    page.evaluate(  # the new version comes: it installs, and drops what nobody needs any more
        """async () => {
            await navigator.serviceWorker.register('/worksheet/service-worker.js', { scope: '/worksheet/' });
            const registration = await navigator.serviceWorker.ready;
            while (registration.active.state !== 'activated') { await new Promise(go => setTimeout(go, 20)) }
        }"""
    )
    kept = page.evaluate(
        "caches.open('worksheet-assets').then(assets => assets.keys())"
        ".then(keys => keys.map(key => new URL(key.url).pathname))"
    )
    assert old in kept
    assert old.replace("/car.", "/unused.") not in kept
    cable.cut()
    page.goto(f"/worksheet/cars/{car}/")
    expect(page.locator("html")).to_have_attribute("data-version", "old")


# --- the day ---------------------------------------------------------------------------------------


def test_the_day_loaded_the_evening_before_is_there_next_morning_without_a_signal(
    kaldmere,
    cable,
    phone,
):
    page = phone()
    sign_in(page)
    take_the_round(page)
    after = page.locator("#after")
    cars = after.locator("ol.round a")
    assert cars.count() > 0
    day = after.get_attribute("data-day")
    cable.cut()
    page.clock.install(time=datetime.fromisoformat(f"{day}T07:30:00").replace(tzinfo=UTC))
    page.goto("/worksheet/")
    expect(after).to_have_attribute("open", "")
    expect(page.locator("main details, main section#today").first).to_have_id("after")
    cars.first.click()
    page.wait_for_selector("#worksheet[data-ready]")
    expect(page.locator("h1")).to_be_visible()


def test_a_task_is_passed_on_and_a_note_left_without_a_signal(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    page = phone()
    sign_in(page)
    take_the_round(page)
    open_car(page, car)
    cable.cut()
    duty = step(page, "charge")
    duty.get_by_text("Carry over, or give away").click()
    duty.get_by_label("Give it to").select_option("Sanna Veldt")
    duty.get_by_role("button", name="Pass it on").click()
    expect(duty.locator(".on-phone")).to_contain_text("waits for a signal")
    page.goto("/worksheet/")
    page.get_by_text("Note for the next shift").click()
    page.get_by_label("For the next shift").fill("The door of row B sticks.")
    page.get_by_role("button", name="Leave the note").click()
    expect(page.locator("#queue")).to_contain_text("2 entries kept on this phone")
    cable.mend()
    online(page)
    waits_empty(page)
    given = "SELECT p.name FROM collection_pinnedchoice c JOIN collection_person p ON p.id = c.person_id"
    assert kaldmere.value(f"{given} WHERE c.vehicle_id = ? AND c.duty = 'charge'", car) == "Sanna Veldt"
    assert kaldmere.value("SELECT words FROM collection_shiftnote") == "The door of row B sticks."
    page.reload()
    expect(page.get_by_text("The door of row B sticks.")).to_be_visible()


def test_a_bay_typed_or_a_label_scanned_jumps_to_its_car_without_a_signal(kaldmere, cable, phone):
    car = on_the_round(kaldmere)
    place = "SELECT {} FROM collection_vehicle v JOIN collection_bay b ON b.id = v.bay_id WHERE v.id = ?"
    bay = kaldmere.value(place.format("b.row || b.place"), car)
    label = kaldmere.value(place.format("b.id"), car)
    page = phone()
    page.add_init_script(
        f"""window.label = 'https://elsewhere.example/worksheet/bays/{label}/';
        window.BarcodeDetector = class {{
            static getSupportedFormats() {{ return Promise.resolve(['qr_code']) }}
            detect() {{ return Promise.resolve([{{ rawValue: window.label }}]) }} }};
        navigator.mediaDevices.getUserMedia = () => {{
            const canvas = document.createElement('canvas'); canvas.getContext('2d').fillRect(0, 0, 9, 9);
            return Promise.resolve(canvas.captureStream()) }};"""
    )
    sign_in(page)
    take_the_round(page)
    cable.cut()
    page.get_by_label("Bay or registration").fill("Q99")
    page.get_by_role("button", name="Go").click()
    expect(page.locator("#jumped")).to_contain_text("Not in this round.")
    page.get_by_label("Bay or registration").fill(bay.lower())
    page.get_by_role("button", name="Go").click()
    page.wait_for_url(f"**/worksheet/cars/{car}/")
    page.goto("/worksheet/")
    assert page.evaluate("document.featurePolicy.allowsFeature('camera')"), "the page may ask for it"
    page.get_by_role("button", name="Scan a label").click()
    expect(page.locator("#scanned")).to_have_text("This is no label of this site.")
    page.evaluate(f"window.label = location.origin + '/worksheet/bays/{label}/'")
    page.wait_for_url(f"**/worksheet/cars/{car}/")
    cable.mend()
    page.goto("/worksheet/scan/")
    page.evaluate(f"window.label = location.origin + '/worksheet/bays/{label}/'")
    page.get_by_role("button", name="Scan a label").click()
    page.wait_for_url(f"**/worksheet/cars/{car}/")


# --- measured --------------------------------------------------------------------------------------

SMALL = """least => Array.from(document.querySelectorAll(
    'main :is(a[href], button, summary, input, select, textarea), header :is(a[href], button, input)'))
    .filter(each => each.type !== 'hidden' && each.offsetParent)
    .filter(each => getComputedStyle(each).visibility === 'visible')
    .map(each => [each, ['checkbox', 'radio'].includes(each.type) && each.closest('label, .check') || each])
    .map(([each, target]) => [each, target, target.getBoundingClientRect()])
    .filter(([each, target, box]) => box.height > 1 && (box.height < least - 0.5 || box.width < least - 0.5))
    .filter(([each, target]) => !(target.tagName === 'A' && getComputedStyle(target).display === 'inline'
        && target.parentElement.innerText.trim().length > target.innerText.trim().length + 2))
    .map(([each, target, box]) => [box.width, box.height].map(Math.round).join(' x ')
        + ' ' + each.outerHTML.slice(0, 99))"""


def opened(page, path):
    page.goto(path)
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    return page


def test_what_is_tapped_in_the_barn_is_large_enough_for_gloves(kaldmere, open_as):
    page = open_as("staff", PHONE)
    car = needing(kaldmere, "run_up")
    for path in (
        "/worksheet/",
        f"/worksheet/cars/{car}/",
        WALK.format(building(kaldmere)),
        f"/worksheet/walk/{building(kaldmere)}/?work=charge",
    ):
        opened(page, path)
        assert page.evaluate(SMALL, GLOVES_PX) == [], path
        assert_no_fault(page, PHONE)


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_what_is_tapped_elsewhere_is_at_least_as_large_as_the_guidelines_ask(kaldmere, open_as, screen):
    page = open_as("manager", screen)
    car = needing(kaldmere, "run_up")
    for path in (
        "/collection/",
        "/due/",
        "/week/",
        f"/cars/{car}/",
        "/floor-plan/",
        "/labels/",
        "/me/reminders/",
    ):
        opened(page, path)
        assert page.evaluate(SMALL, ELSEWHERE_PX) == [], path
