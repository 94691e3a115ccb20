"""The search for a fault on the phone: the next test of the site, photographs, signal or not."""

import random
from pathlib import Path

import pytest
from django.conf import settings
from PIL import Image
from playwright.sync_api import expect

from scheduler.faults.diagnosis import ANOTHER, Progress, diagnose
from scheduler.faults.portable import portable, rules
from scheduler.faults.table import TREES
from scheduler.recommission.stages.acts import Act
from tests.browser.conftest import PHONE, assert_no_fault
from tests.browser.test_offline import SLEEPER, count, sign_in, take_the_round, waits_empty

SCRIPT = Path(settings.BASE_DIR) / "collection/static/collection/worksheet/fault_search.js"
STAND = """([tree, rules, cases]) => cases.map(([results, acts]) => {
    const at = window.FaultSearch.stand(tree, rules, results, acts);
    const keys = places => places.map(p => tree.tests[p].key);
    return { state: at.state, proposals: keys(at.proposals), barred: keys(at.barred),
             contradicts: keys(at.contradicts), settles: at.settles.map(p => tree.tests[p].do),
             suspects: at.suspects.map(c => [tree.causes[c].key, at.chances[c],
                                             window.FaultSearch.words(rules, at.chances[c])]) };
})"""


def walk(tree, seed):
    """Results of one search as a person brings them: noise, other tests than the next, some not done."""
    draw, readings = random.Random(seed), []  # noqa: S311 - an invented person
    allowed = [act for act in Act if act is Act.LOOK or draw.random() < 0.8]
    cause = draw.randrange(len(tree.causes))
    for _ in range(14):
        at = diagnose(tree, readings, frozenset(allowed))
        yield list(readings), allowed, at
        if not at.proposals:
            return
        next_test = at.proposals[0] if draw.random() < 0.8 else draw.choice(at.proposals)
        probe = tree.probe(next_test.test)
        shown = tree.table[tree.place[probe.key], : len(probe.outcomes)]
        column = cause if draw.random() < 0.8 else draw.randrange(len(tree.causes))
        came = draw.choices([one.key for one in probe.outcomes], shown[:, column])[0]
        readings.append((probe.key, None if draw.random() < 0.08 else came))


@pytest.fixture
def blank(chromium):
    page = chromium.new_page()
    page.add_script_tag(path=SCRIPT)
    yield page
    page.close()


@pytest.mark.parametrize("symptom", TREES)
def test_the_phone_proposes_what_the_site_proposes_whatever_was_read(blank, symptom):
    tree = TREES[symptom]
    steps = [step for seed in range(3) for step in walk(tree, f"{symptom} {seed}")]
    cases = [[results, [act.value for act in allowed]] for results, allowed, _ in steps]
    told = blank.evaluate(STAND, [portable(tree), rules(), cases])
    for (_, _, at), phone_at in zip(steps, told, strict=True):
        assert phone_at["state"] == at.progress.name.lower()
        assert phone_at["proposals"] == [one.test for one in at.proposals]
        assert phone_at["barred"] == [one.test for one in at.barred]
        assert phone_at["contradicts"] == list(at.contradicts)
        assert (phone_at["settles"] or [ANOTHER]) == list(at.settles or [ANOTHER])
        assert [(key, words) for key, _, words in phone_at["suspects"]] == [
            (one.cause, one.words) for one in at.suspects
        ]
        assert [chance for _, chance, _ in phone_at["suspects"]] == pytest.approx(
            [one.chance for one in at.suspects], abs=1e-9
        )


def open_faults(page, car):
    page.goto(f"/worksheet/cars/{car}/faults/")
    page.wait_for_selector("#worksheet[data-ready]")


def log_test(page, outcome, picture=None):
    page.locator("#next-test").get_by_role("radio", name=outcome, exact=True).check()
    if picture:
        page.locator("#next-test input[type=file]").set_input_files(picture)
    page.get_by_role("button", name="Log the test").click()


def test_a_search_goes_on_without_a_signal_and_goes_up_with_its_photographs_once(
    kaldmere,
    cable,
    phone,
    tmp_path,
):
    car, tree, page = kaldmere.value(SLEEPER), TREES["dragging-brake"], phone()
    before = count(kaldmere, car, "fault_test")
    picture = tmp_path / "hub.jpg"
    Image.new("RGB", (320, 240), "brown").save(picture)
    sign_in(page)
    take_the_round(page)
    cable.cut()
    open_faults(page, car)  # from what the phone keeps
    page.get_by_role("link", name=tree.label).click()
    readings = []
    for number in range(30):
        at = diagnose(tree, readings)
        if at.progress is not Progress.SEARCHING:
            break
        probe = tree.probe(at.proposals[0].test)
        expect(page.locator("#do")).to_contain_text(probe.do)
        if probe.caution:
            expect(page.locator("#caution")).to_contain_text(probe.caution)
        likely = tree.table[tree.place[probe.key], :, [c.key for c in tree.causes].index("hose")].argmax()
        outcome = probe.outcomes[int(likely)]
        readings.append((probe.key, outcome.key))
        log_test(page, outcome.words[:1].upper() + outcome.words[1:], picture if number == 0 else None)
    assert at.progress is Progress.FOUND
    expect(page.locator("#lead")).to_contain_text("Found, and confirmed by its own test")
    expect(page.locator("#queue")).to_contain_text(f"{len(readings)} entries kept on this phone")
    expect(page.locator("#queue")).to_contain_text("1 file")
    assert_no_fault(page, PHONE)
    assert count(kaldmere, car, "fault_test") == before
    page.context.close()

    page = phone()
    open_faults(page, car)
    page.get_by_role("link", name=tree.label).click()
    expect(page.locator("#lead")).to_contain_text("Found")
    cable.mend()
    page.evaluate("window.dispatchEvent(new Event('online'))")
    waits_empty(page)
    assert count(kaldmere, car, "fault_test") == before + len(readings)
    attached = """SELECT count(*) FROM collection_attachment a JOIN collection_entry e ON a.entry_id = e.id
        WHERE e.vehicle_id = ? AND e.kind = 'fault_test'"""
    assert kaldmere.value(attached, car) == 1
    page.reload()
    page.get_by_role("link", name=tree.label).click()
    expect(page.locator("#tried li")).to_have_count(len(readings))  # the site's own, counted once
    assert page.faults == []


def test_a_stop_on_the_phone_leaves_only_tests_with_nothing_switched_on(kaldmere, cable, phone):
    car, page = kaldmere.value(SLEEPER), phone()
    sign_in(page)
    take_the_round(page)
    cable.cut()
    page.goto(f"/worksheet/cars/{car}/recommission/")
    page.wait_for_selector("#worksheet[data-ready]")
    turned = page.locator("#step-hand_turn")
    turned.evaluate(
        "s => { s.closest('.stage').open = true; s.querySelector('.acts > details').open = true }"
    )
    turned.get_by_label("Hard stop: stop").check()
    turned.get_by_role("button", name="Log the result").click()
    open_faults(page, car)
    page.get_by_role("link", name=TREES["overheats"].label).click()
    expect(page.locator("#stopped")).to_be_visible()
    expect(page.locator("#acts")).to_contain_text("Look and measure, battery off")
    page.locator("#barred summary").click()
    assert "what stops on this phone" in page.locator("#barred").inner_text()
    cable.mend()
    page.evaluate("window.dispatchEvent(new Event('online'))")
    waits_empty(page)
    assert page.faults == []
