"""One car from its arrival to its first road run, on one phone, the second half without a signal."""

from datetime import date

from PIL import Image
from playwright.sync_api import expect

from collection.care import core as choices
from tests.browser.test_offline import MANAGER, count, sign_in, take_the_round, waits_empty
from tests.scheduler.worlds.long_stood_cars import Stood

CAR = Stood("story", 9, generator="alternator", earth="positive")
WITHOUT_SIGNAL = ("R7", "R8", "R9", "R10", "R11", "R12", "R13", "R13a", "R14")
# Fills in each step's form as a person would, and sends it: [step, field, value, unit].
LOG = """steps => steps.forEach(([check, field, value, unit]) => {
    const form = document.querySelector(`#step-${check} form`);
    if (field === 'answer') { form.querySelector(`[name=answer][value="${value}"]`).checked = true; }
    else {
        form.querySelector('[name=value]').value = value;
        const box = form.querySelector('[name=unit]');
        box.value = Array.from(box.options).find(each => each.value === unit).value;
    }
    form.dispatchEvent(new Event('input', { bubbles: true }));
    form.requestSubmit();
})"""
KEPT = "window.Queue.list().then(items => items.length)"
STEPS = "Array.from(document.querySelectorAll('.step form[data-check]')).map(form => form.dataset.check)"


def found(check):
    """What a step shows at this car, as the form takes it."""
    value = CAR.shows(check)
    if isinstance(value, str):
        return [check, "answer", value, ""]
    return [check, "value", f"{value:g}", choices.checks()[check].judge.unit]


def open_steps(page, car):
    page.goto(f"/worksheet/cars/{car}/recommission/")
    page.wait_for_selector("#worksheet[data-ready]")


def open_anew(page, car):
    """The page as the site has it now: where the site is slow, the phone shows the one that it kept."""
    for _ in range(20):
        open_steps(page, car)
        page.wait_for_timeout(300)
        if page.locator("#gone-up").is_hidden():
            return
    raise AssertionError("the phone still shows an old page")


def log_steps(page, checks):
    """Log them all, and wait until the phone has each."""
    kept = page.evaluate(KEPT)
    page.evaluate(LOG, [found(check) for check in checks])
    page.wait_for_function(f"least => {KEPT}.then(number => number >= least)", arg=kept + len(checks))


def steps_of(page, stages):
    return [key for key in page.evaluate(STEPS) if choices.checks()[key].stage in stages]


def road(page):
    return page.locator("[data-permission='3'] .state")


def test_a_car_arrives_is_recommissioned_half_without_a_signal_and_takes_its_first_road_run(
    kaldmere, cable, phone, tmp_path
):
    page = phone()
    sign_in(page, MANAGER)

    # it arrives; what nobody knows is asked first
    page.goto("/cars/new/")
    page.get_by_label("Owner").select_option(index=1)
    page.get_by_label("Make", exact=True).fill("Carrowick")
    page.get_by_label("Model").fill("Arrival")
    page.get_by_label("Bay", exact=True).select_option(index=1)
    page.get_by_label("Care regime").select_option("dormant")
    page.get_by_role("button", name="Save", exact=True).click()
    page.wait_for_url("**/cars/**")
    car = kaldmere.value("SELECT id FROM collection_vehicle WHERE model = 'Arrival' ORDER BY id DESC")
    page.goto(f"/cars/{car}/recommission/evidence/inspection_pass/")
    page.get_by_label("Date on it").fill(date(date.today().year - 9, 5, 4).isoformat())  # noqa: DTZ011
    page.locator("main form button[type=submit]").first.click()
    take_the_round(page)
    open_steps(page, car)
    expect(road(page)).to_have_text("✕ May use the road: no")
    assert {"is_volts", "is_fuel", "is_generator"} <= set(page.evaluate(STEPS))
    assert not {"spark", "charging", "compression"} & set(page.evaluate(STEPS))
    log_steps(page, steps_of(page, ("R0",)))
    waits_empty(page)
    open_anew(page, car)  # now the steps are those of its machine
    assert {"spark", "points_closed", "charging", "compression"} <= set(page.evaluate(STEPS))
    assert not {"is_volts", "bled", "stop_proven", "injection_pressure"} & set(page.evaluate(STEPS))
    log_steps(page, steps_of(page, ("R1", "R2", "R3", "R4", "R5", "R5b", "R6")))
    waits_empty(page)
    open_anew(page, car)
    expect(page.locator("[data-permission='0'] .state")).to_have_text("✓ May crank")
    at_the_site = count(kaldmere, car, "waking_result")

    # the signal goes; a leak stops the work, is made good, and is passed
    cable.cut()
    page.reload()
    page.wait_for_selector("#worksheet[data-ready]")
    rest = steps_of(page, WITHOUT_SIGNAL)
    leak = page.locator("#step-static_leak")
    leak.evaluate("s => { s.closest('.stage').open = true; s.querySelector('.acts > details').open = true }")
    leak.get_by_label("Any: stop").check()
    expect(leak.get_by_text("This is a stop.")).to_be_visible()
    picture = tmp_path / "union.jpg"
    Image.new("RGB", (320, 240), "brown").save(picture)
    leak.locator("input[type=file]").set_input_files(picture)
    leak.get_by_role("button", name="Log the result").click()
    expect(page.locator("#stopped")).to_be_visible()
    expect(page.locator("#queue")).to_contain_text("1 file")
    log_steps(page, rest)
    expect(page.locator("#queue")).to_contain_text(f"{len(rest) + 1} entries kept on this phone")
    expect(road(page)).to_have_text("✕ May use the road: no, a stop on this phone")
    assert count(kaldmere, car, "waking_result") == at_the_site

    # the signal is back: all of it goes up once, and the site gives the road when the last is through
    cable.mend()
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("#queue")).to_have_attribute("data-waiting", "0", timeout=60_000)
    assert count(kaldmere, car, "waking_result") == at_the_site + len(rest) + 1
    open_anew(page, car)
    expect(page.locator("#stopped")).to_be_hidden()
    expect(page.locator("#step-static_leak .state").first).to_have_text("✓ passed")
    expect(page.locator("[data-permission='2'] .state")).to_have_text("✓ May move")
    log_steps(page, steps_of(page, ("R15",)))
    waits_empty(page)
    page.goto(f"/cars/{car}/recommission/end/")
    page.get_by_label("Kept running").check()
    page.locator("main form button[type=submit]").click()
    page.wait_for_url(f"**/cars/{car}/")
    page.goto(f"/cars/{car}/log/run_up/")
    page.get_by_label("Run for, min").fill("25")
    page.get_by_label("Driven, not only stationary").check()
    page.get_by_label("Reached full temperature").check()
    page.get_by_role("button", name="Log the run-up").click()
    expect(page.locator(".notice.good").first).to_contain_text("logged")
    assert kaldmere.value("SELECT regime FROM collection_vehicle WHERE id = ?", car) == "exercised"
    attached = """SELECT count(*) FROM collection_attachment a JOIN collection_entry e ON a.entry_id = e.id
        WHERE e.vehicle_id = ?"""
    assert kaldmere.value(attached, car) == 1
    assert page.faults == []
