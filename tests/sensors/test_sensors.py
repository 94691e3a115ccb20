"""Sensors: the door by which they speak, what is kept of what they say, what it means for a car."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.care.draft import Measured
from collection.models import Entry, LoggerFile, MeasuredClimate, SensorReading
from collection.models.care import effective
from collection.sensors.actions.meaning import RAW, make_sense
from collection.sensors.actions.tokens import MOST_A_MINUTE, end_sensor, make_sensor

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
A_MONTH_AGO = NOW - timedelta(days=30)
TEN_MINUTES = timedelta(minutes=10)


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)


@pytest.fixture
def building(barn):
    return barn.sites.get().buildings.first()


@pytest.fixture
def make(barn, manager):
    def made(place, name="Hall north"):
        return make_sensor(organisation=barn, place=place, name=name, by=manager, now=A_MONTH_AGO)

    return made


def send(secret, readings, **more):
    return Client().post(
        reverse("sensor_readings"),
        json.dumps({"readings": readings}),
        content_type="application/json",
        headers={"Authorization": f"Bearer {secret}"},
        **more,
    )


def reading(quantity, value, at=NOW, **more):
    return {"quantity": quantity, "value": value, "at": at.isoformat()} | more


def keep(sensor, quantity, rows):
    SensorReading.objects.bulk_create(
        SensorReading(sensor=sensor, quantity=quantity, at=at, value=value) for at, value in rows
    )


# the door


def test_a_batch_is_taken_once_however_often_it_is_sent(make, building):
    sensor, secret = make(building)
    batch = [reading("temperature", 8.25), reading("humidity", 71)]
    assert send(secret, batch).json() == {"stored": 2, "known": 0, "refused": []}
    assert send(secret, batch).json() == {"stored": 0, "known": 2, "refused": []}
    assert sensor.readings.count() == 2
    sensor.refresh_from_db()
    assert (sensor.heard_at, sensor.measured_at) == (NOW, NOW)
    assert sensor.last == {"temperature": 8.25, "humidity": 71}


def test_what_cannot_be_is_refused_by_itself_and_the_rest_is_taken(make, car):
    sensor, secret = make(car)
    batch = [
        reading("volts", 12.61),
        reading("volts", 47),
        reading("humidity", 60),
        reading("tyre_pressure", 210, position="front_left"),
        reading("tyre_pressure", 210),
        reading("volts", 12.6, position="front_left"),
        reading("volts", 12.6, NOW + timedelta(hours=2)),
        reading("volts", 12.6, NOW - timedelta(days=400)),
        reading("wind", 3),
    ]
    answer = send(secret, batch).json()
    assert answer["stored"] == 2
    why = {row["reading"]: row["detail"] for row in answer["refused"]}
    assert why[1] == "value: 47 cannot be: give 0 to 36 V."
    assert why[2] == "quantity: a sensor on a car sends no humidity."
    assert why[4].startswith("position: send one of front_left")
    assert why[5] == "position: volts has none."
    assert why[6] == "at: lies in the future: set the sensor's clock."
    assert why[7].startswith("at: lies more than 90 days back")
    assert why[8].startswith("quantity: 'wind' is none")
    sensor.refresh_from_db()
    assert sensor.clock_off_s == 7200
    send(secret, [reading("volts", 12.6, NOW - TEN_MINUTES)])
    sensor.refresh_from_db()
    assert sensor.clock_off_s == 0


def test_without_a_moment_a_reading_is_of_its_arrival(make, building):
    sensor, secret = make(building)
    assert send(secret, [{"quantity": "temperature", "value": -3}]).json()["stored"] == 1
    assert sensor.readings.get().at == NOW


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ("no json", ""),
        ('{"readings": []}', "readings"),
        ('{"readings": [{"quantity": "volts"}]}', "readings.0.value"),
        ('{"readings": [{"quantity": "volts", "value": "NaN"}]}', "readings.0.value"),
        ('{"readings": [{"quantity": "volts", "value": 1, "at": "2026-11-25T10:00"}]}', "readings.0.at"),
        ('{"readings": [{"quantity": "volts", "value": 1, "note": "x"}]}', "readings.0.note"),
    ],
)
def test_what_is_no_batch_is_refused_whole_naming_the_field(make, car, body, field):
    sensor, secret = make(car)
    answer = Client().post(
        reverse("sensor_readings"), body, "application/json", headers={"Authorization": f"Bearer {secret}"}
    )
    assert answer.status_code == 422
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["errors"][0]["field"] == field
    assert not sensor.readings.exists()


def test_no_token_a_wrong_one_and_an_ended_one_are_turned_away_and_a_cookie_opens_nothing(
    make, car, client_as, manager
):
    sensor, secret = make(car)
    assert client_as(manager).post(reverse("sensor_readings")).status_code == 401
    assert send(f"{secret}x", [reading("volts", 12)]).status_code == 401
    end_sensor(sensor=sensor, now=NOW)
    assert send(secret, [reading("volts", 12)]).status_code == 401
    assert not sensor.readings.exists()


def test_a_sensor_of_a_car_that_has_left_is_turned_away(make, car):
    _, secret = make(car)
    car.left_on = NOW.date()
    car.save()
    assert send(secret, [reading("volts", 12)]).status_code == 401


def test_who_sends_too_often_is_told_how_long_to_wait(make, car):
    _, secret = make(car)
    answers = [send(secret, [reading("volts", 12)]) for _ in range(MOST_A_MINUTE + 1)]
    assert [answer.status_code for answer in answers] == [200] * MOST_A_MINUTE + [429]
    assert 0 < int(answers[-1]["Retry-After"]) <= 61


def test_a_batch_that_is_too_large_is_not_read(make, car):
    _, secret = make(car)
    assert send(secret, [reading("volts", 12, note="x" * 600_000)]).status_code == 413


# what it means


def standing(days, volts, end=NOW):
    """Volts every ten minutes up to now, by the days since the beginning."""
    begin = end - timedelta(days=days)
    return [(begin + TEN_MINUTES * n, volts(n * TEN_MINUTES / timedelta(days=1))) for n in range(144 * days)]


def test_rested_volts_and_a_charge_are_logged_once_in_the_name_of_who_answers_for_them(make, car, manager):
    sensor, _ = make(car)
    keep(
        sensor,
        "volts",
        standing(6, lambda day: 14.4 if 3 <= day < 3.4 else 12.45 - 0.01 * day + 0.25 * (day >= 3.4)),
    )
    made = make_sense(sensor, now=NOW)
    entries = effective(Entry.objects.filter(vehicle=car)).order_by("done_at")
    assert made == entries.count()
    kinds = [entry.kind for entry in entries]
    assert kinds.count("charge") == 1
    assert kinds[0] == "battery_reading"
    charge = next(entry for entry in entries if entry.kind == "charge")
    assert charge.done_at == pytest.approx(NOW - timedelta(days=2.6), abs=timedelta(hours=1))
    assert charge.by == manager
    assert charge.details["logger"] == "Hall north"
    after = [e for e in entries if e.kind == "battery_reading" and e.done_at > charge.done_at]
    assert after, "what stands in it after the charge is told"
    assert make_sense(sensor, now=NOW + timedelta(hours=1)) == 0


def test_a_maintainer_that_stays_on_is_connected_once_and_its_end_is_told(make, car):
    sensor, _ = make(car)
    keep(sensor, "volts", standing(20, lambda day: 13.5 if 1 <= day < 18 else 12.6))
    for day in range(8, 21):
        now = NOW - timedelta(days=20 - day)
        seen = sensor.readings.filter(at__gt=now)
        later = [(row.at, row.value) for row in seen]
        seen.delete()
        make_sense(sensor, now=now)
        keep(sensor, "volts", later)
    entries = Entry.objects.filter(vehicle=car, kind="maintainer").order_by("done_at")
    assert [entry.details["state"] for entry in entries] == ["on", "off"]
    assert entries[1].done_at - entries[0].done_at == pytest.approx(
        timedelta(days=17), abs=timedelta(hours=1)
    )


def test_a_reading_that_tells_nothing_new_is_not_logged(make, car, keeper):
    sensor, _ = make(car)
    log_entry(
        vehicle=car,
        kind="battery_reading",
        done_at=NOW - timedelta(days=7),
        by=keeper,
        idempotency_key="by hand",
        now=NOW - timedelta(days=7),
        readings=(Measured("rested_volts", 12.5, temperature_c=10.0, rest_hours=24.0),),
    )
    keep(sensor, "volts", standing(5, lambda _day: 12.47))
    assert make_sense(sensor, now=NOW) == 0
    keep(sensor, "volts", standing(2, lambda _day: 12.3, end=NOW + timedelta(days=2)))
    assert make_sense(sensor, now=NOW + timedelta(days=2)) >= 1


def test_what_a_person_withdraws_is_not_logged_again(make, car, manager):
    sensor, _ = make(car)
    keep(sensor, "volts", standing(3, lambda _day: 12.4))
    assert make_sense(sensor, now=NOW) == 1
    old = Entry.objects.get(vehicle=car)
    log_entry(
        vehicle=car,
        kind="withdrawn",
        done_at=None,
        by=manager,
        idempotency_key="no",
        now=NOW,
        corrects=old,
        note="The clip had come off.",
    )
    make_sense(sensor, now=NOW)
    assert not effective(Entry.objects.filter(vehicle=car, kind="battery_reading")).exists()


def test_tyres_are_written_down_monthly_and_at_once_where_one_has_lost_air(make, car):
    sensor, secret = make(car)
    send(secret, [reading("tyre_pressure", 220, position="front_left")])
    assert make_sense(sensor, now=NOW) == 1
    later = NOW + timedelta(days=3)
    SensorReading.objects.create(
        sensor=sensor, quantity="tyre_pressure", position="front_left", at=later, value=212
    )
    assert make_sense(sensor, now=later) == 0
    lost = later + timedelta(hours=2)
    SensorReading.objects.create(
        sensor=sensor, quantity="tyre_pressure", position="front_left", at=lost, value=200
    )
    assert make_sense(sensor, now=lost) == 1
    newest = Entry.objects.filter(vehicle=car, kind="tyre_pressures").latest("done_at")
    assert newest.readings.get().value == 200


def test_old_air_becomes_hours_and_the_climate_of_the_building_follows(make, building):
    sensor, _ = make(building)
    days = 20
    rows = standing(days, lambda day: 5 + day / 10)
    keep(sensor, "temperature", rows)
    keep(sensor, "humidity", [(at, 70) for at, _ in rows])
    make_sense(sensor, now=NOW)
    kept = LoggerFile.objects.get()
    assert (kept.sensor, kept.building, kept.state) == (sensor, building, "accepted")
    assert sensor.readings.count() == pytest.approx(2 * 144 * (RAW.days + 10 / 24), abs=4)
    hours = [day.hours for day in kept.days.order_by("day")]
    assert len(hours[1]["hour"]) == 24
    assert hours[1]["mean"][1] == [70] * 24
    measured = MeasuredClimate.objects.get(building=building)
    assert measured.facts["hours"] == sum(len(day["hour"]) for day in hours)
    make_sense(sensor, now=NOW + timedelta(days=1))
    measured.refresh_from_db()
    assert measured.facts["hours"] == sum(len(day["hour"]) for day in hours), "it follows once a week"


def test_a_reading_that_comes_late_joins_its_month_and_doubles_nothing(make, building):
    sensor, _ = make(building)
    rows = standing(20, lambda _day: 6.0)
    keep(sensor, "temperature", rows[: 144 * 5])
    make_sense(sensor, now=NOW)
    before = sum(len(day.hours["hour"]) for day in LoggerFile.objects.get().days.all())
    keep(sensor, "temperature", [(at, 6.0) for at, _ in rows[144 * 4 : 144 * 7]])
    make_sense(sensor, now=NOW)
    after = sum(len(day.hours["hour"]) for day in LoggerFile.objects.get().days.all())
    assert after - before == 48


# the pages


def test_a_token_is_shown_once_and_a_silent_sensor_is_named(client_as, manager, keeper, building, make):
    page = client_as(manager).post(
        reverse("sensor_new"), {"name": "Loft", "place": f"building-{building.pk}"}
    )
    secret = page.context["secret"]
    assert secret in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert send(secret, [reading("temperature", 4)]).status_code == 200
    make(building, "North door")
    listed = client_as(keeper).get(reverse("sensors")).content.decode()
    assert secret not in listed
    assert "4 °C" in listed
    assert "Silent since" in listed
    assert client_as(keeper).post(reverse("sensor_new"), {}).status_code == 403
