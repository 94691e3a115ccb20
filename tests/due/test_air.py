"""The air of each building through the last year, against damp and frost."""

from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from collection.drawing.strips import Days
from collection.due.air_strips import building_air
from collection.due.core.air_of_buildings import YearOfAir
from collection.models import Building, ClimateMonth
from collection.web.units import edge
from tests.barn import TODAY
from tests.logbook import NOON


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def air(client_as, keeper):
    client = client_as(keeper)

    def get():
        response = client.get(reverse("air"))
        assert response.status_code == 200
        return response

    return get


def year(*, rh=60.0, low=5.0, high=10.0, days=14, measured=()):
    first = TODAY.toordinal() - days + 1
    return YearOfAir(
        days=[float(first + at) for at in range(days)],
        mean_c=[(low + high) / 2] * days,
        low_c=[low] * days,
        high_c=[high] * days,
        rh_pct=[rh] * days,
        measured=[at in measured for at in range(days)],
    )


def test_weeks_above_the_limit_are_damp_and_days_below_freezing_frost():
    assert (year(rh=80).damp_weeks, year(rh=70).damp_weeks) == (2, 0)
    assert (year(low=-0.1).frost_days, year(low=0.0).frost_days) == (14, 0)


def test_days_measured_one_after_another_are_one_stretch():
    first = TODAY - timedelta(days=13)
    assert year(measured=(0, 1, 2, 9)).stretches == [
        (first, first + timedelta(days=2)),
        (first + timedelta(days=9), first + timedelta(days=9)),
    ]


def test_a_year_without_frost_says_so_and_one_day_is_one_day(barn):
    shed, days = Building.objects.get(), Days(TODAY - timedelta(days=13), TODAY)

    def sentence(**values):
        return building_air(shed, year(**values), days, edge("metric")).strips[1].sentence

    assert sentence().startswith("No frost; from 5 °C")
    one = year()
    one.low_c[3] = -4.0
    assert (
        building_air(shed, one, days, edge("american"))
        .strips[1]
        .sentence.startswith("Frost on 1 day; from 25 °F")
    )


def test_every_building_has_its_humidity_and_its_temperature_as_drawings(air, barn):
    yard = Building.objects.create(site=barn.sites.get(), name="Yard", shelter="open", walk_order=2)
    response = air()
    houses = response.context["houses"]
    assert [house.building.name for house in houses] == ["Long shed", yard.name]
    assert all(strip.line and strip.levels for house in houses for strip in house.strips)
    assert "no logger wrote in this year" in houses[0].sentence
    shed, open_ = (house.strips[1].sentence for house in houses)
    assert shed != open_  # walls keep some of the frost off
    assert response.content.decode().count("<svg") == 4


def test_a_climate_without_all_its_months_is_named_and_the_page_stands(air, barn):
    ClimateMonth.objects.filter(climate=barn.sites.get().climate, month=3).delete()
    assert "type all twelve months" in air().content.decode()


def test_an_empty_barn_leads_on(air, barn):
    Building.objects.get().bays.all().delete()
    Building.objects.get().delete()
    assert "Write down the first car" in air().content.decode()


def test_ten_buildings_cost_the_queries_of_two(air, barn, django_assert_max_num_queries):
    counts = []
    for upto in (2, 10):
        for at in range(Building.objects.count(), upto):
            Building.objects.create(site=barn.sites.get(), name=f"Shed {at}", shelter="enclosed")
        with django_assert_max_num_queries(30) as counted:
            air()
        counts.append(len(counted))
    assert counts[0] == counts[1]


def test_the_year_ends_today(air, car):
    assert air().context["ends"] == (date(2025, 11, 25), TODAY)
