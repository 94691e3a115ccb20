"""A reading is answered where it is typed, by limits that travel with the page."""

import html
import json
import re

import pytest

from collection.care.core.meter import answer, meter_of
from scheduler.vocabulary.care import CARE
from scheduler.vocabulary.positions import WHEELS
from tests.barn import TODAY


@pytest.fixture
def known(car):
    car.system_volts = 12
    car.save()
    car.batteries.create(chemistry="flooded_antimony", capacity_ah=60, volts=12)
    for position in [each.code for each in WHEELS]:
        car.tyres.create(position=position, placard_kpa=200)
    return car


def limits(page, name):
    field = re.search(rf'<input[^>]*name="{name}"[^>]*>', page)[0]
    return json.loads(html.unescape(re.search(r'data-bands="([^"]*)"', field)[1]))


def as_the_phone_answers(bands, value):
    """As ``meter.js`` does."""
    return next(text for least, text, *_ in bands if least is None or value >= least)


@pytest.mark.parametrize("units", ["metric", "british", "american"])
def test_the_limits_on_the_page_answer_as_the_site_does(client_as, keeper, known, units):
    keeper.units = units
    keeper.save()
    page = client_as(keeper).get(f"/cars/{known.pk}/log/battery_reading/").content.decode()
    sent, own = limits(page, "rested_volts"), meter_of(known, TODAY)["rested_volts"]
    for tenth in range(160):
        assert as_the_phone_answers(sent, tenth / 10) == answer(own, tenth / 10).text


@pytest.mark.parametrize(
    ("volts", "words"),
    [
        ("12.8", "Full"),
        ("12.1", "charge it today"),
        ("10.2", "do not charge it"),
        ("4.0", "do not charge it"),
    ],
)
def test_volts_are_answered_after_they_are_logged(client_as, keeper, known, volts, words):
    client = client_as(keeper)
    sent = {"key": "meter-answers-1", "rested_volts": volts, "rest_hours": "12"}
    answer = client.post(f"/cars/{known.pk}/log/battery_reading/", sent, follow=True)
    assert any(words in str(message) for message in answer.context["messages"]), list(
        answer.context["messages"]
    )


@pytest.mark.parametrize(("kpa", "words"), [("200", "As it should be"), ("30", "Do not move it")])
def test_a_flat_tyre_is_not_moved(client_as, keeper, known, kpa, words):
    keeper.units = "metric"
    keeper.save()
    client = client_as(keeper)
    page = client.get(f"/cars/{known.pk}/log/tyre_pressures/").content.decode()
    bar = float(kpa) / 100
    assert as_the_phone_answers(limits(page, f"tyre_pressure_{WHEELS[0].code}"), bar).startswith(words)


def test_a_reading_that_asks_for_work_names_it_on_the_page(client_as, keeper, known):
    page = client_as(keeper).get(f"/cars/{known.pk}/log/battery_reading/").content.decode()
    after = {text: (duty, title) for _, text, _, duty, title in limits(page, "rested_volts")}
    charge = [words for words, work in after.items() if work == ("charge", "Maintainer charge")]
    assert any("charge it today" in words for words in charge)
    assert after["Full."] == ("", "")


@pytest.mark.parametrize("kind", [care.code for care in CARE])
def test_no_form_ticks_anything_by_itself(client_as, keeper, known, kind):
    page = client_as(keeper).get(f"/cars/{known.pk}/log/{kind}/")
    if page.status_code == 200:
        assert not re.search(r'<input type="checkbox"[^>]*\bchecked\b', page.content.decode())
