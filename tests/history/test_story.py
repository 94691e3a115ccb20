"""What a storage history tells: care against due, limits, grades, open faults, outlook, comparison, paper."""

import re
from datetime import date, timedelta
from io import BytesIO

import pypdf
import pytest
import time_machine
from django.urls import reverse

from collection.care.actions.attachments import attach
from collection.care.actions.chain import chain_missing
from collection.care.actions.record import Edit
from collection.care.attachments import JPEG, Attached
from collection.chain.verify import verify
from collection.due.actions.prices import save_rates
from collection.history import EVERYTHING, Scope, tell
from collection.history.core.exceeded import battery_below, fuel_past
from collection.history.grades import DOCUMENT, GRADES, INFERENCE, RECORD, STATEMENT
from collection.life.refresh import refresh_vehicles
from collection.models import Rate
from collection.proof.actions import sign_statement
from tests.logbook import NOON, TODAY, ago, spoil, write

WARM = {"minutes": 45, "reached_temperature": True, "driven": True, "distance_km": 30}
IDLE = {"minutes": 5, "reached_temperature": False, "driven": False}
FULL = {"completed": True}
VOLTS = [{"quantity": "rested_volts", "value": 12.6, "temperature_c": 12, "rest_hours": 24}]


@pytest.fixture(autouse=True)
def _today(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    with time_machine.travel(NOON, tick=False):
        yield


def story(car, scope=EVERYTHING):
    refresh_vehicles([car.pk], today=TODAY)
    return tell(car, today=TODAY, units="metric", scope=scope)


def by_key(told):
    return {limit.key: limit for limit in told.limits}


def kept_of(told, duty):
    return next(line for line in told.kept if line.duty == duty)


@pytest.fixture
def old_car(car):
    car.stored_since = ago(400)
    car.save()
    car.batteries.create(chemistry="flooded_antimony", capacity_ah=60, volts=12)
    return car


# how long limits were exceeded


def test_days_below_the_recharge_level_are_those_on_which_the_curve_is_below_it(old_car, keeper):
    write(old_car, keeper, "charge", 390, details=FULL)
    write(old_car, keeper, "charge", 100, details=FULL)
    whole = battery_below(old_car, first=ago(400), last=TODAY)[0]
    first, second = (
        battery_below(old_car, first=a, last=b)[0] for a, b in ((ago(400), ago(101)), (ago(100), TODAY))
    )
    assert whole.level == "recharge"
    assert whole.likely_days == first.likely_days + second.likely_days
    assert whole.since == ago(390)
    assert 0 < whole.likely_days < whole.known_days == 391
    assert whole.least_days <= whole.likely_days <= whole.most_days


def test_more_charging_never_means_more_days_below(old_car, keeper):
    write(old_car, keeper, "charge", 390, details=FULL)
    rare = battery_below(old_car, first=ago(390), last=TODAY)[0].likely_days
    for days in range(20, 380, 30):
        write(old_car, keeper, "charge", days, details=FULL)
    assert battery_below(old_car, first=ago(390), last=TODAY)[0].likely_days < rare


def test_a_battery_of_which_nothing_is_known_is_told_as_assumed(old_car, keeper):
    silent = by_key(story(old_car))["recharge"]
    assert silent.said.endswith("if it came full")
    assert "assumed: no charge and no reading" in silent.sure
    write(old_car, keeper, "battery_reading", 30, readings=VOLTS)
    assert "assumed" not in by_key(story(old_car))["recharge"].sure


def test_days_of_stale_fuel_begin_when_it_is_stale_and_end_when_it_is_drained(old_car, keeper):
    old_car.fuel, _ = type(old_car).fuel.related.related_model.objects.get_or_create(
        vehicle=old_car, grade="petrol_e10", bio_pct=10, litres=30, filled_on=ago(400)
    )
    stale = next(line for line in fuel_past(old_car, first=ago(400), last=TODAY) if line.level == "stale")
    assert stale.likely_days > 30
    write(old_car, keeper, "fuel_drained", 200, details={"emptied": True})
    drained = next(line for line in fuel_past(old_car, first=ago(400), last=TODAY) if line.level == "stale")
    assert drained.likely_days < stale.likely_days
    assert drained.known_days < stale.known_days


def test_months_on_one_spot_are_between_two_rolls(old_car, keeper):
    """Rolled 300 and 60 days ago: the longest stand is the 240 days between."""
    write(old_car, keeper, "moved", 300, details={"wheels_only": True})
    write(old_car, keeper, "run_up", 60, details=WARM)
    limit = by_key(story(old_car))["spot"]
    assert limit.said == f"{240 / 30.44:.1f} months"
    assert "beyond what its tyres may stand" in limit.sure


def test_an_engine_run_on_the_spot_does_not_roll_the_car(old_car, keeper):
    write(old_car, keeper, "run_up", 200, details=IDLE)
    assert by_key(story(old_car))["spot"].said == f"{400 / 30.44:.1f} months"


def test_since_when_a_car_is_on_stands_is_not_on_record_so_its_spots_are_not_known(old_car):
    old_car.on_stands = True
    old_car.save()
    assert by_key(story(old_car))["spot"].said == "not known: on stands now"


def test_full_warm_runs_are_counted_apart_from_short_starts(old_car, keeper):
    for days, details in ((90, WARM), (60, WARM), (50, IDLE), (40, WARM | {"driven": False})):
        write(old_car, keeper, "run_up", days, details=details)
    assert by_key(story(old_car))["runs"].said == "2 full-warm, 2 short or idling"


# care done against care due


def test_late_care_is_counted_with_its_days(old_car, keeper):
    for days in (390, 140, 110):
        write(old_car, keeper, "charge", days, details=FULL)
    told = story(old_car)
    line = kept_of(told, "charge")
    gap = next(gap for gap in told.missed if "charge came" in gap.what)
    assert (line.done, line.late) == (3, 2)  # the second wait is still open
    assert line.total_days - line.still_days == (gap.until - gap.since).days == line.longest_days
    assert f"{line.total_days} days beyond its window in all" in line.words


def test_a_walk_round_is_late_for_as_long_as_nobody_came(old_car, keeper):
    for days in (395, 200, 10):
        write(old_car, keeper, "inspected", days, details={"ok": True})
    line = kept_of(story(old_car), "inspection")
    assert line.late == 2
    assert line.longest_days < 195 < line.total_days + 60


def test_what_came_before_it_was_asked_for_is_said_so_and_days_before_the_log_are_not_known(old_car, keeper):
    write(old_car, keeper, "charge", 10, details=FULL)
    write(old_car, keeper, "charge", 5, details=FULL)
    old_car.stored_since = ago(12)
    old_car.save()
    assert kept_of(story(old_car), "charge").words == "done before it was asked for; not known for 3 days"


def test_a_period_counts_what_was_done_in_it(old_car, keeper):
    for days in (300, 200, 100):
        write(old_car, keeper, "charge", days, details=FULL)
    told = story(old_car, Scope(first=ago(250), last=ago(150)))
    assert kept_of(told, "charge").done == 1
    assert (told.first, told.last) == (ago(250), ago(150))
    assert [doing.day for doing in told.doings] == [ago(200)]


# grades


def test_a_reading_of_the_time_is_graded_above_words_and_words_above_inference(old_car, keeper):
    old_car.last_uses.create(event="road_use", on=ago(405), basis="document")
    old_car.last_uses.create(event="moved", on=ago(404), basis="owner")
    old_car.last_uses.create(event="attended", on=ago(403), basis="inferred")
    write(old_car, keeper, "charge", 50, details=FULL, readings=VOLTS)
    write(old_car, keeper, "charge", 40, details=FULL, readings=VOLTS, recorded_after_days=5)
    write(old_car, keeper, "charge", 30, details=FULL)
    told = story(old_car)
    assert [doing.grade for doing in told.doings] == [RECORD, STATEMENT, STATEMENT]
    assert [last.grade for last in told.last_times] == [INFERENCE, STATEMENT, DOCUMENT]
    assert {limit.grade for limit in told.limits if limit.key != "runs"} == {INFERENCE}
    assert list(GRADES) == [1, 2, 3, 4]


def test_a_photograph_of_the_time_is_evidence_like_a_reading_and_stands_with_its_entry(
    client_as, keeper, old_car
):
    entry = write(old_car, keeper, "inspected", 20, details={"ok": True})
    attach(entry, [Attached("tyre.jpg", JPEG, b"a picture")])
    assert story(old_car).doings[0].grade == RECORD
    html = client_as(keeper).get(f"/cars/{old_car.pk}/history/").content.decode()
    assert reverse("attachment", args=[old_car.pk, entry.pk, entry.attachments.get().pk]) in html
    text = "".join(page.extract_text() for page in pdf(client_as(keeper), old_car).pages)
    assert "tyre.jpg" in text


def test_every_line_of_the_page_that_states_something_bears_its_grade(client_as, keeper, old_car):
    write(old_car, keeper, "charge", 50, details=FULL, readings=VOLTS)
    html = client_as(keeper).get(f"/cars/{old_car.pk}/history/").content.decode()
    rows = re.findall(r"<tr.*?</tr>", html.split("Limits exceeded")[1].split("Condition outlook")[0], re.S)
    told = [row for row in rows if "<thead" not in row and 'scope="col"' not in row]
    assert told
    assert all(re.search(r'data-label="Grade">[1-4]<', row) for row in told)


# open faults


def test_what_was_found_is_open_until_a_walk_round_finds_nothing(old_car, keeper):
    write(old_car, keeper, "inspected", 30, details={"ok": False, "found": ["old fault"]})
    write(old_car, keeper, "inspected", 20, details={"ok": True})
    write(old_car, keeper, "inspected", 10, details={"ok": False, "found": ["drip under the gearbox"]})
    told = story(old_car)
    assert [fault.words for fault in told.open_faults] == ["drip under the gearbox"]
    engine = next(line for line in told.condition.lines if line.title == "Engine")
    seals = next(part for part in engine.parts if part.label == "Oil seals")
    assert seals.words == "almost certain"
    assert "found at the car: drip under the gearbox" in seals.reasons


# outlook and costs


def test_each_system_tells_what_is_likely_why_and_what_it_costs(old_car, keeper):
    write(old_car, keeper, "charge", 390, details=FULL)
    told = story(old_car).condition
    battery = told.lines[0]
    assert battery.title == "Battery"
    assert battery.parts[0].words == "almost certain"
    assert "it has stood 13 months" in battery.parts[0].reasons
    assert "maintainer charge" in battery.next
    assert re.fullmatch(r"[\d,]+ \([\d,]+ to [\d,]+\)", battery.cost)
    assert len(told.lines) == 8


def test_costs_follow_the_organisations_own_rates(old_car, keeper):
    old_car.regime = "dormant"  # one in care carries no bill
    old_car.save()
    write(old_car, keeper, "charge", 390, details=FULL)
    before = story(old_car).condition.money
    save_rates(organisation=old_car.organisation, own={"battery": 1120.0}, money="£", edit=Edit(None, NOON))
    after = story(old_car).condition
    assert after.money[0] == pytest.approx(before[0] + 1000.0)
    assert after.total.startswith("£ ")


def test_the_page_offers_no_mark_for_the_whole(client_as, keeper, old_car):
    html = client_as(keeper).get(f"/cars/{old_car.pk}/history/").content.decode()
    assert "All of these together" in html
    assert not re.search(r"\d+ ?(/|out of) ?(10|100)\b|\bscore\b|\brating\b|\bstars?\b", html)


def test_a_record_that_cannot_be_read_tells_what_it_can(old_car, keeper):
    write(old_car, keeper, "not_done", 9, details={"duty": "run_up", "reason": "blocked in"})
    refresh_vehicles([old_car.pk], today=TODAY)
    spoil(old_car)
    told = tell(old_car, today=TODAY, units="metric", scope=EVERYTHING)
    assert told.fault
    assert [gap.what for gap in told.missed if "blocked" in gap.what] == ["Run-up not done: blocked in"]
    assert told.condition is None


# the drawing


def test_the_years_show_lapses_gaps_and_care_over_the_whole_period(old_car, keeper):
    for days in (390, 200, 10):
        write(old_car, keeper, "inspected", days, details={"ok": True})
    wrong = write(old_car, keeper, "charge", 50, details=FULL)
    write(old_car, keeper, "withdrawn", 49, corrects=wrong)
    told = story(old_car)
    (care,) = [strip for strip in told.years if strip.key == "care"]
    assert sum("Inspected" in mark.text for mark in care.done) == 3
    assert not any("Battery charge" in mark.text for mark in care.done), "withdrawn: not drawn as done"
    assert care.unknown, "a time without any entry is hatched"
    assert any(strip.bars for strip in told.years), "what came late is drawn"


# side by side


def test_cars_stand_side_by_side_line_by_line(client_as, keeper, old_car, neighbour_car):
    write(old_car, keeper, "charge", 390, details=FULL)
    address = f"/cars/compare/?car={old_car.pk}&car={neighbour_car.pk}"
    answer = client_as(keeper).get(address)
    titles = [section.title for section in answer.context["sections"]]
    assert titles[:2] == ["What a buyer asks", "How it stood"]
    assert "Estimated cost of what it needs next" in titles
    assert all(len(row.cells) == 2 for section in answer.context["sections"] for row in section.rows)
    assert "no winner" in answer.content.decode()


def test_a_car_out_of_reach_cannot_be_compared(client_as, owner, car, neighbour_car, foreign_car):
    for other in (neighbour_car, foreign_car):
        answer = client_as(owner).get(f"/cars/compare/?car={car.pk}&car={other.pk}")
        assert "stories" not in answer.context
        assert "not among yours" in answer.content.decode()


def test_no_more_than_six_are_compared(client_as, keeper, barn, car, bays):
    cars = [
        type(car).objects.create(organisation=barn, owner=car.owner, marque="Many", model=str(n))
        for n in range(7)
    ]
    answer = client_as(keeper).get("/cars/compare/?" + "&".join(f"car={each.pk}" for each in cars))
    assert "stories" not in answer.context
    assert "6 cars at most" in answer.content.decode()


@pytest.mark.parametrize("query", ["car=x", "car=", "car=999999", "other=1", ""])
def test_a_choice_that_is_none_is_no_fault_of_the_page(client_as, keeper, query):
    assert client_as(keeper).get(f"/cars/compare/?{query}").status_code == 200


# paper


def pdf(client, car):
    answer = client.get(f"/cars/{car.pk}/history/pdf/")
    assert answer["Content-Type"] == "application/pdf"
    return pypdf.PdfReader(BytesIO(answer.content))


def test_the_pdf_is_archival_tagged_and_carries_its_own_proof(client_as, keeper, old_car):
    write(
        old_car, keeper, "charge", 50, details=FULL, readings=VOLTS, note="#eval(1) \\ $x$ *not bold* “é” Ω"
    )
    chain_missing()
    sign_statement(organisation=old_car.organisation, now=NOON)
    read = pdf(client_as(keeper), old_car)
    root = read.trailer["/Root"]
    xmp = root["/Metadata"].get_object().get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in xmp
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in xmp
    assert "<pdfuaid:part>1</pdfuaid:part>" in xmp
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert "/OutputIntents" in root
    assert root["/Lang"] == "en-GB"
    assert verify(read.attachments["history.json"][0]).faults == []
    text = "\n".join(page.extract_text() for page in read.pages)
    assert "#eval(1) \\ $x$ *not bold*" in text, "what people wrote is set as it stands"
    for heading in (
        "Where it stood",
        "Limits exceeded",
        "Condition outlook",
        "What was missed",
    ):
        assert heading in text


def test_every_font_of_the_pdf_is_inside_it(client_as, keeper, old_car):
    fonts = [
        font.get_object()
        for page in pdf(client_as(keeper), old_car).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        described = inner["/FontDescriptor"].get_object()
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & described.keys()


def test_the_paper_says_what_the_page_says(client_as, keeper, old_car):
    for days in (390, 140, 110):
        write(old_car, keeper, "charge", days, details=FULL)
    chain_missing()
    words = " ".join("".join(page.extract_text() for page in pdf(client_as(keeper), old_car).pages).split())
    told = story(old_car)
    for line in (*told.limits, *(gap for gap in told.missed)):
        said = getattr(line, "said", None) or line.what
        assert " ".join(said.split())[1:] in words
    assert told.seal.head in words.replace(" ", "")


def test_a_bare_car_has_a_pdf_too(client_as, owner, car):
    car.stored_since = None
    car.save()
    assert "no entry" in " ".join(page.extract_text() for page in pdf(client_as(owner), car).pages)


# rates


def test_rates_are_typed_by_a_manager_and_emptied_back_to_the_default(client_as, manager, barn):
    client = client_as(manager)
    assert client.post("/prices/", {"money": "£", "hour": "55", "tyre": "200"}).status_code == 302
    assert dict(Rate.objects.values_list("name", "value")) == {"hour": 55.0, "tyre": 200.0}
    barn.refresh_from_db()
    assert barn.money == "£"
    assert 'value="55' in client.get("/prices/").content.decode()
    client.post("/prices/", {"money": "£", "hour": ""})
    assert not Rate.objects.exists()


@pytest.mark.parametrize(
    ("field", "typed"), [("hour", "-1"), ("hour", "dear"), ("tyre", "1e9"), ("money", "x" * 9)]
)
def test_a_rate_out_of_bounds_is_refused_and_nothing_is_stored(client_as, manager, field, typed):
    answer = client_as(manager).post("/prices/", {"hour": "50", field: typed})
    assert field in answer.context["form"].errors
    assert not Rate.objects.exists()


def test_a_long_period_is_still_told_in_time(old_car, keeper):
    """Thirty years: the curves are looked at every few days, and the counts stay days."""
    first = TODAY - timedelta(days=11_000)
    old_car.stored_since = first
    old_car.save()
    write(old_car, keeper, "charge", 10_000, details=FULL)
    found = battery_below(old_car, first=first, last=TODAY)[0]
    assert 9_900 < found.known_days < 10_100
    assert found.likely_days > 9_000
    assert date(1996, 1, 1) < first
