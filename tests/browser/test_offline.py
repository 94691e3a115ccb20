"""The worksheet with the network cut in the middle of it, the browser closed, and opened again."""

import re
import sqlite3
import time
import uuid
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from collection.care import core as choices
from collection.demo.people import SIGN_INS
from collection.demo.places import TIME_ZONE
from tests.browser.conftest import DESK, PHONE, assert_no_fault
from tests.logbook import passing

STAFF = next(person for person in SIGN_INS if person.role == "staff")
MANAGER = next(person for person in SIGN_INS if person.role == "manager")
SOON_MS = 15_000


DUE = "SELECT vehicle_id FROM collection_dutyrow WHERE duty = ? AND hold = '' AND due <= date('now')"
PLANNED = "SELECT vehicle_id FROM collection_assignment WHERE day BETWEEN '{}' AND '{}'"


def needing(kaldmere, *duties):
    """A car at which these are due now; what a test has done is not due any more."""
    return first_of(kaldmere, duties)


def on_the_round(kaldmere, *duties):
    """A car at which these are due now, and which the plan has on the round for what is left of the week."""
    today = datetime.now(ZoneInfo(TIME_ZONE)).date()  # at the barn, where it may be Monday already
    return first_of(kaldmere, duties, PLANNED.format(today, today + timedelta(days=6 - today.weekday())))


def first_of(kaldmere, duties, *more):
    car = kaldmere.value(" INTERSECT ".join([*more, *[DUE] * len(duties)]) + " LIMIT 1", *duties)
    assert car, f"the demo has no car that needs {', '.join(duties)}"
    return car


def sign_in(page, person=STAFF):
    page.goto("/sign-in/")
    page.get_by_label("E-mail address").fill(person.email)
    page.get_by_label("Password").fill(person.password)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url("**/collection/")


def take_the_round(page):
    """Open the round and wait until all of it is on the phone."""
    page.goto("/worksheet/")
    page.wait_for_selector("#kept[data-done]", timeout=90_000)
    expect(page.locator("#kept")).to_have_text("All of it is on this phone: it works without a signal.")
    page.wait_for_function("navigator.serviceWorker.controller !== null")


def count(kaldmere, car, kind):
    query = "SELECT count(*) FROM collection_entry WHERE vehicle_id = ? AND kind = ?"
    return kaldmere.value(query, car, kind)


def step(page, duty):
    return page.locator(f"[data-step='{duty}']")


def open_car(page, car):
    page.goto(f"/worksheet/cars/{car}/")
    page.wait_for_selector("#worksheet[data-ready]")


def log_charge(kaldmere, page, car):
    """A charge with volts that a battery of this car's system can have: outside them the form refuses."""
    volts = kaldmere.value("SELECT system_volts FROM collection_vehicle WHERE id = ?", car) * 1.02
    step(page, "charge").get_by_text("Done: Maintainer charge").click()
    step(page, "charge").get_by_label("Rested volts, V").fill(f"{volts:.2f}")
    step(page, "charge").get_by_role("button", name="Log the charge").click()


def waits_empty(page):
    """Until everything has gone up; a page just opened has an empty list before it has looked."""
    expect(page.locator("#queue")).to_have_attribute("data-waiting", "0", timeout=SOON_MS)
    expect(page.locator("#queue")).to_be_empty(timeout=SOON_MS)


# the paper comes first: later tests do the charges that stand on it


def charged_on_paper(page):
    """A car whose charge stands on the paper: what is due may be planned for another day."""
    page.goto("/week/from-paper/")
    numbers = {link.split("/from-paper/")[1].split("/")[0] for link in links(page, "/from-paper/")}
    for number in sorted(numbers, key=int, reverse=True):  # later tests find theirs from the other end
        page.goto(f"/week/from-paper/{number}/")
        if page.locator("[name=charge-rested_volts]").count():
            return int(number)
    raise AssertionError("no car's charge stands on the paper")


def links(page, part):
    return [a.get_attribute("href") for a in page.locator(f"main a[href*='{part}']").all()]


def test_the_paper_is_keyed_in_with_the_keyboard_alone(kaldmere, open_as):
    page = open_as("manager", DESK)
    car = charged_on_paper(page)
    page.goto("/week/from-paper/")
    expect(page.locator("#go")).to_be_focused()
    page.keyboard.type(str(car))
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/from-paper/{car}/**")
    before = count(kaldmere, car, "charge")
    page.wait_for_function("document.activeElement.closest('.keyed') !== null")  # the cursor is set
    while page.evaluate("document.activeElement.name") != "charge-rested_volts":
        page.keyboard.press("Tab")
    page.keyboard.type("12.5")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: f"/{car}/" not in url)
    assert count(kaldmere, car, "charge") == before + 1
    value = kaldmere.value(
        "SELECT r.value FROM collection_reading r JOIN collection_entry e ON e.id = r.entry_id"
        " WHERE e.vehicle_id = ? AND e.kind = 'charge' ORDER BY e.recorded_at DESC LIMIT 1",
        car,
    )
    assert value == 12.5


def test_a_worksheet_cut_off_in_the_middle_closed_and_opened_again_loses_and_doubles_nothing(
    kaldmere, cable, phone
):
    car = on_the_round(kaldmere, "charge", "run_up")
    before = {kind: count(kaldmere, car, kind) for kind in ("charge", "not_done", "note", "tag_opened")}
    page = phone()
    sign_in(page)
    take_the_round(page)
    open_car(page, car)

    cable.cut()
    began = datetime.now(UTC)
    log_charge(kaldmere, page, car)
    expect(step(page, "charge").locator(".on-phone")).to_contain_text("waits for a signal")
    expect(step(page, "charge").locator(".acts")).to_be_hidden()
    step(page, "run_up").get_by_text("Not done because").click()
    step(page, "run_up").get_by_role("button", name="Weather").click()
    page.get_by_text("Found something…").click()
    page.get_by_role("button", name="Smell of petrol").click()
    expect(page.locator("#danger")).to_be_visible()
    expect(step(page, "run_up").locator(".acts")).to_be_hidden()
    expect(page.locator("#queue")).to_contain_text("3 entries kept on this phone")
    assert page.faults == []
    page.context.close()

    page = phone()
    page.goto("/worksheet/")
    expect(page.locator("#queue")).to_contain_text("3 entries kept on this phone")
    expect(page.locator(f"[data-car='{car}'] .on-phone")).to_contain_text("3 logged on this phone, 3 waiting")
    open_car(page, car)
    expect(step(page, "charge").locator(".on-phone")).to_contain_text("waits for a signal")
    expect(page.locator("#danger")).to_be_visible()
    ended = datetime.now(UTC)
    assert {kind: count(kaldmere, car, kind) for kind in before} == before

    time.sleep(1.5)
    cable.mend()
    page.reload()
    waits_empty(page)
    for kind in before:
        assert count(kaldmere, car, kind) == before[kind] + 1, kind
    done_at, recorded_at, author = row(
        kaldmere,
        "SELECT done_at, recorded_at, p.email FROM collection_entry e JOIN collection_person p"
        " ON p.id = e.by_id WHERE vehicle_id = ? AND kind = 'charge' ORDER BY recorded_at DESC LIMIT 1",
        car,
    )
    assert began <= moment(done_at) <= ended, "dated when it was done, not when it went up"
    assert moment(recorded_at) > ended
    assert author == STAFF.email
    page.reload()
    expect(page.get_by_text("Tag on this car").first).to_be_visible()
    page.reload()
    for kind in before:
        assert count(kaldmere, car, kind) == before[kind] + 1, kind
    assert page.faults == []


def row(kaldmere, query, *values):
    with sqlite3.connect(kaldmere.database, timeout=20) as connection:
        return connection.execute(query, values).fetchone()


def moment(text):
    """As SQLite keeps it; the browser gives milliseconds."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC) + timedelta(milliseconds=1)


def test_an_entry_whose_answer_was_lost_is_sent_again_and_stored_once(kaldmere, cable, phone):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    take_the_round(page)
    open_car(page, car)
    cable.lose_answers()
    log_charge(kaldmere, page, car)
    expect(page.locator("#queue")).to_contain_text("No signal", timeout=SOON_MS)
    assert count(kaldmere, car, "charge") == before + 1, "it had arrived"
    cable.mend()
    page.evaluate("window.dispatchEvent(new Event('online'))")
    waits_empty(page)
    assert count(kaldmere, car, "charge") == before + 1


@pytest.mark.parametrize("status", [503, 507])
def test_an_entry_that_the_site_cannot_store_now_stays_on_the_phone_and_goes_up_later(
    kaldmere, cable, phone, status
):
    car = needing(kaldmere, "charge")
    before = count(kaldmere, car, "charge")
    page = phone()
    sign_in(page)
    take_the_round(page)
    open_car(page, car)
    said = {"says": "The disk is full. There is no room left on the machine that keeps the record."}
    page.route("**/worksheet/entries/", lambda route: route.fulfill(status=status, json=said))
    log_charge(kaldmere, page, car)
    expect(page.locator("#queue")).to_contain_text("1 entry kept on this phone", timeout=SOON_MS)
    expect(page.locator("#queue")).to_contain_text("The disk is full", timeout=SOON_MS)
    page.unroute("**/worksheet/entries/")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    waits_empty(page)
    assert count(kaldmere, car, "charge") == before + 1


def test_what_two_people_finished_is_stored_once_and_both_are_told(kaldmere, cable, phone, open_as):
    car = needing(kaldmere, "run_up")
    first, second = phone(), open_as("manager", PHONE)
    sign_in(first)
    url = f"/worksheet/cars/{car}/"
    duty = "run_up"
    for page in (first, second):
        page.goto(url)
        page.wait_for_selector("#worksheet[data-ready]")
    before = count(kaldmere, car, duty)
    for page in (first, second):
        step(page, duty).get_by_text("Done: Run-up").click()
        step(page, duty).get_by_label("Run for, min").fill("40")
        step(page, duty).get_by_label("Driven, not only stationary").check()
        step(page, duty).get_by_label("Reached full temperature").check()
        step(page, duty).get_by_role("button", name="Log the run-up").click()
        expect(step(page, duty).locator(".on-phone")).to_contain_text(re.compile("at the site|two people"))
    assert count(kaldmere, car, duty) == before + 1
    expect(second.locator("#queue")).to_contain_text(f"{STAFF.name} had logged it")
    first.reload()
    expect(first.get_by_text(f"{MANAGER.name} also sent it")).to_be_visible()
    second.get_by_role("button", name="Leave it at that").click()
    waits_empty(second)


def test_what_the_site_refuses_is_mended_and_keeps_its_time(kaldmere, cable, phone):
    car = needing(kaldmere, "run_up")
    page = phone()
    sign_in(page)
    open_car(page, car)
    before = count(kaldmere, car, "run_up")
    runs = step(page, "run_up")
    runs.get_by_text("Done: Run-up").click()
    runs.get_by_label("Run for, min").fill("40")
    runs.get_by_label(re.compile("Distance")).fill("20")
    clicked = datetime.now(UTC)
    runs.get_by_role("button", name="Log the run-up").click()
    expect(page.locator("#queue")).to_contain_text("A car that was not driven covers no distance")
    assert count(kaldmere, car, "run_up") == before
    time.sleep(2)
    page.get_by_role("link", name="Mend it").click()
    expect(runs.get_by_label("Run for, min")).to_have_value("40")
    runs.get_by_label("Driven, not only stationary").check()
    runs.get_by_role("button", name="Log the run-up").click()
    waits_empty(page)
    assert count(kaldmere, car, "run_up") == before + 1
    (done_at,) = row(
        kaldmere,
        "SELECT done_at FROM collection_entry WHERE vehicle_id = ? AND kind = 'run_up'"
        " ORDER BY recorded_at DESC LIMIT 1",
        car,
    )
    assert moment(done_at) - clicked < timedelta(seconds=2)


def test_a_phone_whose_clock_is_a_day_ahead_is_flagged(kaldmere, cable, phone):
    car = needing(kaldmere, "run_up")
    page = phone()
    sign_in(page)
    page.clock.install(time=datetime.now(UTC) + timedelta(days=1))
    open_car(page, car)
    page.get_by_text("Found something…").click()
    with page.expect_response("**/worksheet/entries/") as answer:
        page.get_by_role("button", name="Oil leak").click()
    assert answer.value.json()["outcomes"][0]["state"] == "stored"
    (details,) = row(
        kaldmere,
        "SELECT details FROM collection_entry WHERE vehicle_id = ? AND kind = 'note'"
        " ORDER BY recorded_at DESC LIMIT 1",
        car,
    )
    assert re.search(r'"claim_skew_s": 86[34]\d\d', details), details


def test_pages_of_the_last_person_are_gone_after_they_signed_out(kaldmere, cable, phone):
    page = phone()
    sign_in(page)
    take_the_round(page)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/**")
    page.wait_for_function("caches.has('worksheet-pages').then(has => !has)")
    cable.cut()
    page.goto("/worksheet/")
    expect(page.locator("h1")).to_have_text("No signal")


def test_a_scanned_bay_without_a_signal_opens_its_car(kaldmere, cable, phone):
    car = on_the_round(kaldmere)  # whatever is to be done there
    bay = kaldmere.value("SELECT bay_id FROM collection_vehicle WHERE id = ?", car)
    page = phone()
    sign_in(page)
    take_the_round(page)
    cable.cut()
    page.goto(f"/worksheet/bays/{bay}/")
    page.wait_for_url(f"**/worksheet/cars/{car}/")
    expect(page.locator("h1 .bay")).to_be_visible()


def test_the_clock_of_a_run_up_goes_on_while_the_page_is_closed_and_fills_in_the_minutes(
    kaldmere, cable, phone
):
    car = needing(kaldmere, "run_up")
    page = phone()
    sign_in(page)
    page.clock.install()
    open_car(page, car)
    step(page, "run_up").get_by_text("Done: Run-up").click()
    page.get_by_role("button", name="Start the clock").click()
    page.clock.fast_forward("31:00")
    page.reload()
    expect(page.locator("output")).to_contain_text("31:")
    page.get_by_role("button", name="Stop the clock").click()
    expect(step(page, "run_up").get_by_label("Run for, min")).to_have_value("31")


def test_the_worksheet_can_be_installed(kaldmere, cable, phone):
    page = phone()
    sign_in(page)
    take_the_round(page)
    session = page.context.new_cdp_session(page)
    assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] == []


def test_targets_are_large_enough_for_gloves(kaldmere, cable, phone):
    page = phone()
    sign_in(page)
    open_car(page, needing(kaldmere, "run_up"))
    page.evaluate("document.querySelectorAll('details').forEach(step => { step.open = true })")
    small = page.evaluate("""() => Array.from(document.querySelectorAll('.glove :is(button, summary, input)'))
        .filter(each => !['hidden', 'checkbox', 'radio'].includes(each.type))
        .filter(each => each.offsetParent && each.getBoundingClientRect().height < 56)
        .map(each => each.outerHTML)""")
    assert small == []


# the steps of a recommissioning

SLEEPER = "SELECT id FROM collection_vehicle WHERE model = 'Falconet GT'"
SEND = """entries => fetch('/worksheet/entries/', {
    method: 'POST', body: JSON.stringify({
        sent_at: new Date().toISOString(), entries: entries,
        person: Number(document.getElementById('worksheet').dataset.person),
        organisation: Number(document.getElementById('worksheet').dataset.organisation),
    }), headers: {
        'Content-Type': 'application/json', 'X-CSRFToken': document.cookie.match(/csrftoken=([^;]+)/)[1],
    }}).then(answer => answer.json()).then(said => said.outcomes.map(outcome => outcome.state))"""


def open_waking(page, car):
    page.goto(f"/worksheet/cars/{car}/recommission/")
    page.wait_for_selector("#worksheet[data-ready]")


def pass_all(page, car):
    """Every step passes, so that the site permits what rests on gates."""
    now = datetime.now(UTC).isoformat()
    sent = [
        {
            "key": str(uuid.uuid4()),
            "car": car,
            "kind": "waking_result",
            "check": check.key,
            "units": "metric",
            "fields": {name: [text] for name, text in passing(check).items()},
            "done_at": now,
        }
        for check in choices.checks().values()
        if check.key != choices.CARE_SET_UP
    ]
    for some in (sent[start : start + 40] for start in range(0, len(sent), 40)):
        assert set(page.evaluate(SEND, some)) == {"stored"}


def permission(page, number):
    return page.locator(f"[data-permission='{number}'] .state")


def recommission_step(page, check):
    """A step with its form open; its stage may be closed."""
    found = page.locator(f"#step-{check}")
    found.evaluate(
        "step => { step.closest('.stage').open = true; step.querySelector('.acts > details').open = true }"
    )
    return found


def results(kaldmere, car, check):
    query = "SELECT count(*) FROM collection_entry WHERE vehicle_id = ? AND details LIKE ?"
    return kaldmere.value(query, car, f'%"check": "{check}"%')


def test_a_stop_logged_without_a_signal_warns_at_once_and_takes_the_permissions_away_when_it_has_gone_up(
    kaldmere, cable, phone
):
    car, page = kaldmere.value(SLEEPER), phone()
    sign_in(page)
    open_waking(page, car)
    pass_all(page, car)
    take_the_round(page)
    open_waking(page, car)
    expect(permission(page, 0)).to_have_text("✓ May crank")
    before = {check: results(kaldmere, car, check) for check in ("photographed", "hand_turn", "battery_rest")}

    cable.cut()
    page.reload()  # from what the phone keeps
    page.wait_for_selector("#worksheet[data-ready]")
    expect(page.get_by_text("when this page was made")).to_be_visible()

    rest = recommission_step(page, "battery_rest")
    rest.get_by_role("textbox", name="Rest voltage").fill("11.9")
    expect(rest.get_by_text("This is a stop.")).to_be_visible()
    rest.get_by_role("textbox", name="Rest voltage").fill("12.7")
    expect(rest.get_by_text("This is a stop.")).to_be_hidden()
    rest.get_by_role("button", name="Log the result").click()
    expect(rest.locator(".on-phone")).to_contain_text("waits for a signal")
    expect(page.locator("#stopped")).to_be_hidden()
    expect(permission(page, 0)).to_have_text("✓ May crank")

    turned = recommission_step(page, "hand_turn")
    turned.get_by_label("Hard stop: stop").check()
    expect(turned.get_by_text("This is a stop.")).to_be_visible()
    expect(turned.locator(".stop-here")).to_contain_text("may crank, may run, may move, may use the road")
    turned.get_by_role("button", name="Log the result").click()
    expect(page.locator("#stopped")).to_contain_text("hard stop")
    for number, label in enumerate(("crank", "run", "move", "use the road")):
        expect(permission(page, number)).to_have_text(f"✕ May {label}: no, a stop on this phone")
    expect(page.locator("#queue")).to_contain_text("2 entries kept on this phone")
    page.context.close()

    page = phone()
    open_waking(page, car)
    expect(permission(page, 0)).to_have_text("✕ May crank: no, a stop on this phone")
    assert {check: results(kaldmere, car, check) for check in before} == before

    cable.mend()
    page.evaluate("window.dispatchEvent(new Event('online'))")
    waits_empty(page)
    expect(page.locator("#gone-up")).to_be_visible()
    expect(permission(page, 0)).to_have_text("✕ May crank: no, a stop on this phone")
    # the car's other page, made after, does not make the phone forget the stop: this one may still be kept
    open_car(page, car)
    cable.cut()
    open_waking(page, car)
    expect(page.locator("#stopped")).to_be_visible()
    cable.mend()
    page.reload()
    page.wait_for_selector("#worksheet[data-ready]")
    expect(page.locator("#stopped")).to_be_hidden()
    expect(permission(page, 0)).to_have_text("✕ May crank: no")
    expect(page.locator("#step-hand_turn .state").first).to_have_text("✕ stop")
    page.reload()
    waits_empty(page)
    assert {check: results(kaldmere, car, check) for check in before} == before | {
        "hand_turn": before["hand_turn"] + 1,
        "battery_rest": before["battery_rest"] + 1,
    }
    assert page.faults == []


def test_a_result_that_the_site_would_refuse_is_not_logged_at_the_car(kaldmere, cable, phone):
    car, page = kaldmere.value(SLEEPER), phone()
    sign_in(page)
    open_waking(page, car)
    pass_all(page, car)  # before its questions are answered the plan asks for no volts
    open_waking(page, car)
    rest = recommission_step(page, "battery_rest")
    value = rest.get_by_role("textbox", name="Rest voltage")
    for typed, reason in (("", ""), ("12,7 V", ""), ("12.7", "no meter")):
        value.fill(typed)
        rest.get_by_label("Or: could not be done, because").fill(reason)
        rest.get_by_role("button", name="Log the result").click()
        assert not value.evaluate("field => field.checkValidity()"), (typed, reason)
        expect(page.locator("#queue")).to_be_empty()
    rest.get_by_label("Or: could not be done, because").fill("")
    value.fill("12,7")
    assert value.evaluate("field => field.checkValidity()"), "a decimal comma is one"


def test_a_result_for_a_car_that_came_into_care_meanwhile_stays_on_the_phone_and_says_so(
    kaldmere, cable, phone
):
    car, page = kaldmere.value(SLEEPER), phone()
    sign_in(page)
    take_the_round(page)
    open_waking(page, car)
    before = results(kaldmere, car, "photographed")
    cable.cut()
    shot = recommission_step(page, "photographed")
    shot.get_by_label("Done: passes").check()
    shot.get_by_role("button", name="Log the result").click()
    expect(shot.locator(".on-phone")).to_contain_text("waits for a signal")
    set_regime(kaldmere, car, "exercised")
    try:
        cable.mend()
        page.reload()
        told = page.locator("#queue")
        expect(told).to_contain_text("The site did not take this", timeout=SOON_MS)
        expect(told).to_contain_text("results are logged only for a car that stood, history unknown")
        page.reload()
        expect(told).to_contain_text("results are logged only for a car that stood, history unknown")
        assert results(kaldmere, car, "photographed") == before
    finally:
        set_regime(kaldmere, car, "dormant")
    page.reload()
    page.get_by_role("link", name="Mend it").click()
    expect(shot.get_by_label("Done: passes")).to_be_checked()
    shot.get_by_role("button", name="Log the result").click()
    waits_empty(page)
    assert results(kaldmere, car, "photographed") == before + 1
    assert page.faults == []


def set_regime(kaldmere, car, regime):
    with sqlite3.connect(kaldmere.database, timeout=20) as connection:
        connection.execute("UPDATE collection_vehicle SET regime = ? WHERE id = ?", (regime, car))
    connection.close()


def test_the_open_steps_of_a_waking_have_no_fault_and_are_large_enough_for_gloves(kaldmere, open_as):
    page = open_as("staff", PHONE)
    open_waking(page, kaldmere.value(SLEEPER))
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true })")
    page.evaluate("document.querySelectorAll('.caution, #gone-up').forEach(each => { each.hidden = false })")
    assert_no_fault(page, PHONE)
    small = page.evaluate("""() => Array.from(document.querySelectorAll('.at-car :is(button, input, select)'))
        .filter(each => !['hidden', 'checkbox', 'radio'].includes(each.type))
        .filter(each => each.offsetParent && each.getBoundingClientRect().height < 56)
        .map(each => each.outerHTML)""")
    assert small == []
