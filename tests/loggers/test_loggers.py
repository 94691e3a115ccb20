"""Loggers' files: sent at a place or a car, understood, accepted, withdrawn."""

import json
import os
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collection.care.actions.record import Edit
from collection.life.core.gather import gather
from collection.loggers.actions.entries import PARTS
from collection.loggers.actions.files import forget_old_files, read_file, take_file, throw_away
from collection.models import Climate, Entry, LoggerDay, LoggerFile, LoggerState, MeasuredClimate
from collection.models.care import effective
from tests.logbook import as_shown
from tests.loggers.logger_files import BEGIN, air, air_csv, volts_csv

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def own_media(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture(autouse=True)
def clock(time_machine):
    time_machine.move_to(NOW, tick=False)


def text_of(response):
    return response.content.decode()


def send(client, name, pk, data, filename="logger.csv"):
    return client.post(reverse(name, args=[pk]), {"file": SimpleUploadedFile(filename, data)})


def act(client, file, **sent):
    return client.post(reverse("logger_file", args=[file.pk]), sent, follow=True)


def only():
    return LoggerFile.objects.get()


@pytest.fixture
def site(barn):
    return barn.sites.get()


@pytest.fixture
def shed(site):
    return site.buildings.get()


# air


def test_staff_send_a_file_and_see_what_was_understood(client_as, keeper, site):
    client = client_as(keeper)
    answer = send(client, "logger_site", site.pk, air_csv(days=40))
    page = text_of(client.get(answer.url))
    for words in ("960", "Temp (°C)", "by the heading", "1 h", "None.", "A manager accepts it"):
        assert words in page
    assert only().state == LoggerState.READ


def test_only_a_manager_accepts_it_for_a_place(
    client_as, keeper, manager, site, django_capture_on_commit_callbacks
):
    send(client_as(keeper), "logger_site", site.pk, air_csv(days=40))
    raw = only().raw
    assert default_storage.exists(raw)
    assert act(client_as(keeper), only(), act="accept").status_code == 403
    with django_capture_on_commit_callbacks(execute=True):
        page = text_of(act(client_as(manager), only(), act="accept"))
    assert "1 of 12 months measured" in page
    assert not default_storage.exists(raw)
    assert only().raw == ""


def test_a_year_outdoors_becomes_the_climate_of_the_site(client_as, manager, car, site):
    client = client_as(manager)
    former = site.climate
    send(client, "logger_site", site.pk, air_csv(warmer_c=10.0))
    before = car.duties.count()
    act(client, only(), act="accept")
    site.refresh_from_db()
    assert site.climate.name == "Measured at Hollin"
    assert "12 of 12 months measured" in site.climate.basis
    july = site.climate.months.get(month=7)
    assert 25 < july.mean_c < 28
    assert car.duties.count() > before  # the dates of the cars there follow at once
    act(client, only(), act="withdraw")
    site.refresh_from_db()
    assert site.climate == former
    assert not MeasuredClimate.objects.exists()
    assert not LoggerDay.objects.exists()


def test_months_that_were_not_measured_are_those_of_before_shifted(client_as, manager, site):
    client = client_as(manager)
    base = {m.month: m.mean_c for m in site.climate.months.all()}
    send(client, "logger_site", site.pk, air_csv(days=59, warmer_c=6.0))
    act(client, only(), act="accept")
    measured = MeasuredClimate.objects.get()
    months = {m.month: m.mean_c for m in measured.climate.months.all()}
    assert [y > 0 for y in measured.facts["years"]] == [True, True] + [False] * 10
    shift = measured.facts["shift_c"]
    assert shift == pytest.approx(sum(months[m] - base[m] for m in (1, 2)) / 2, abs=0.01)
    assert months[7] == pytest.approx(base[7] + shift, abs=0.01)
    assert "the others from Hollin valley" in measured.climate.basis


def test_the_past_is_reckoned_with_the_hours_themselves(client_as, manager, car, site, shed):
    client = client_as(manager)
    begin = datetime(2026, 8, 1, tzinfo=UTC)
    send(client, "logger_building", shed.pk, air_csv(begin=begin, days=62, warmer_c=20.0))
    act(client, only(), act="accept")
    place = gather([car.pk], today=TODAY).fleet.places[0]
    day = date(2026, 9, 1).toordinal() - place.first_day
    hours = datetime(2026, 9, 1, tzinfo=UTC).timestamp() / 3600 + 0.5
    expected = 20.0 + air(hours + np.arange(24))[0].mean()
    assert place.mean_c[day] == pytest.approx(expected, abs=0.3)
    assert day in place.seen


def test_air_measured_inside_is_not_damped_a_second_time(client_as, manager, car, site, shed):
    client = client_as(manager)
    send(client, "logger_building", shed.pk, air_csv())
    act(client, only(), act="accept")
    shed.refresh_from_db()
    months = {m.month: m for m in shed.measured.climate.months.all()}
    place = gather([car.pk], today=TODAY).fleet.places[0]
    april = date(2027, 4, 15).toordinal() - place.first_day  # not measured: by the normals
    swing = place.max_c[april] - place.min_c[april]
    assert swing == pytest.approx(months[4].max_c - months[4].min_c, abs=0.5)
    assert swing > 7  # an enclosed shed would have left a third of it
    assert "Measured in Long shed" in place.name


def test_a_climate_measured_inside_is_offered_to_no_site(client_as, manager, site, shed):
    client = client_as(manager)
    send(client, "logger_building", shed.pk, air_csv(days=40))
    act(client, only(), act="accept")
    page = text_of(client.get(reverse("site_edit", args=[site.pk])))
    assert "Measured in" not in page


def test_the_same_file_twice_is_one(client_as, manager, site):
    client = client_as(manager)
    first = send(client, "logger_site", site.pk, air_csv(days=40))
    again = send(client, "logger_site", site.pk, air_csv(days=40), "other-name.csv")
    assert first.url == again.url
    assert LoggerFile.objects.count() == 1
    assert len(list(default_storage.listdir("loggers")[1])) == 1


def test_files_that_overlap_double_nothing(client_as, manager, site):
    client = client_as(manager)
    send(client, "logger_site", site.pk, air_csv(days=59))
    act(client, only(), act="accept")
    once = [m.mean_c for m in MeasuredClimate.objects.get().climate.months.all()]
    send(client, "logger_site", site.pk, air_csv(begin=BEGIN + timedelta(days=10), days=49))
    act(client, LoggerFile.objects.first(), act="accept")
    measured = MeasuredClimate.objects.get()
    assert measured.facts["hours"] == 59 * 24
    assert [m.mean_c for m in measured.climate.months.all()] == once


def test_a_site_measured_outdoors_carries_its_hours_through_the_walls(client_as, manager, car, site):
    client = client_as(manager)
    begin = datetime(2026, 8, 1, tzinfo=UTC)
    send(client, "logger_site", site.pk, air_csv(begin=begin, days=62))
    act(client, only(), act="accept")
    place = gather([car.pk], today=TODAY).fleet.places[0]
    day = date(2026, 9, 1).toordinal() - place.first_day
    assert day in place.seen
    assert place.max_c[day] - place.min_c[day] < 5  # 8 K outdoors


def test_dates_that_read_either_way_are_asked_for(client_as, manager, site):
    rows = "".join(f"0{d}/0{d + 1}/2026 12:00,{d}.5\n" for d in range(1, 8))
    client = client_as(manager)
    send(client, "logger_site", site.pk, ("When,Temp °C\n" + rows).encode())
    page = text_of(client.get(reverse("logger_file", args=[only().pk])))
    assert "Day or month first?" in page
    assert "Say first whether" in text_of(act(client, only(), act="accept"))
    chosen = {
        name: only().layout[name]
        for name in ("zone", "temperature", "unit", "humidity", "dew_point", "decimal", "duplicates")
    }
    act(client, only(), act="read", order="mdy", **chosen)
    assert only().layout["order"] == "mdy"
    assert only().understood["first"].startswith("2026-01-02")
    assert not only().layout["undecided"]


def test_what_is_chosen_is_read_again(client_as, manager, site):
    client = client_as(manager)
    send(
        client,
        "logger_site",
        site.pk,
        b"".join(
            [
                b"Time,A,B\n",
                *(b"2026-03-%02d 12:00,%d,%d\n" % (d, d * d % 9, 50 + d * d % 7) for d in range(1, 20)),
            ]
        ),
    )
    layout = only().layout
    assert layout["temperature"] == 1
    sent = {name: layout[name] for name in ("order", "decimal", "duplicates", "humidity", "dew_point")}
    act(client, only(), act="read", zone="+02:00", temperature=2, unit="f", **sent)
    assert only().understood["first"] == "2026-03-01T10:00:00+00:00"
    assert LoggerDay.objects.first().hours["mean"][0] == [round((51 - 32) / 1.8, 3)]


def test_gaps_are_shown_in_the_table_and_left_empty_in_the_chart(client_as, manager, site):
    data = air_csv(days=30).split(b"\n")
    client = client_as(manager)
    send(client, "logger_site", site.pk, b"\n".join(data[:100] + data[200:]))
    page = text_of(client.get(reverse("logger_file", args=[only().pk])))
    assert "1 gap, 4 d 5 h together" in page
    figure = client.get(reverse("logger_file", args=[only().pk])).context["charts"][0].figure
    assert None in figure["data"][2]["y"]
    assert figure["layout"]["shapes"]


def test_a_large_file_is_left_to_the_worker_and_the_page_looks_again(
    client_as, manager, site, monkeypatch, django_capture_on_commit_callbacks
):
    queued = []
    monkeypatch.setattr("collection.loggers.actions.files.AT_ONCE_BYTES", 100)
    monkeypatch.setattr("collection.life.queries.worker_is_alive", lambda _now: True)
    monkeypatch.setattr("collection.loggers.actions.files.leave", lambda *args: queued.append(args))
    client = client_as(manager)
    with django_capture_on_commit_callbacks(execute=True):
        send(client, "logger_site", site.pk, air_csv(days=40))
    assert queued == [("collection.tasks.read_logger_file", only().pk)]
    assert 'http-equiv="refresh"' in text_of(client.get(reverse("logger_file", args=[only().pk])))
    from collection.tasks import read_logger_file

    read_logger_file(only().pk)
    assert only().state == LoggerState.READ
    read_logger_file(only().pk)  # safe to run twice
    assert only().days.count() == 40


def test_without_a_worker_it_is_read_at_once(client_as, manager, site, monkeypatch):
    monkeypatch.setattr("collection.loggers.actions.files.AT_ONCE_BYTES", 100)
    send(client_as(manager), "logger_site", site.pk, air_csv(days=40))
    assert only().state == LoggerState.READ


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"PK\x03\x04rest", "spreadsheet"),
        (b"\0\0\0\1" * 50, "null characters"),
        (b"hello\nworld\n", "No line holds a date"),
        (b"Time,Note\n" + b"".join(b"2026-01-01 00:0%d,fine %d\n" % (m, m) for m in range(9)), "No column"),
        (b"Time,Temp\n" + b"".join(b"2090-01-0%d 00:00,5\n" % d for d in range(1, 8)), "in line 2"),
    ],
)
def test_a_file_that_cannot_be_read_says_why_and_what_to_do(client_as, manager, site, data, words):
    client = client_as(manager)
    answer = send(client, "logger_site", site.pk, data)
    page = text_of(client.get(answer.url)) if answer.status_code == 302 else text_of(answer)
    assert words in page
    assert not LoggerDay.objects.exists()


def test_an_upload_that_is_too_large_is_refused(client_as, manager, site, monkeypatch):
    monkeypatch.setattr("collection.loggers.forms.MOST_BYTES", 1_000_000)
    answer = send(client_as(manager), "logger_site", site.pk, b"x" * 2_000_000)
    assert "send it in parts" in text_of(answer)
    assert not LoggerFile.objects.exists()


def test_files_nobody_accepts_go_after_a_week_with_their_bytes(site, manager):
    file = take_file(place=site, name="a.csv", data=air_csv(days=40), by=manager, now=NOW).file
    assert forget_old_files(now=NOW + timedelta(days=6)) == 0
    assert forget_old_files(now=NOW + timedelta(days=8)) == 1
    assert not LoggerFile.objects.exists()
    assert not default_storage.exists(file.raw)


def test_other_organisations_see_nothing_of_it(client_as, outsider, owner, viewer, manager, site, shed):
    send(client_as(manager), "logger_site", site.pk, air_csv(days=40))
    client = client_as(outsider)
    for name, pk in (("logger_file", only().pk), ("logger_site", site.pk), ("logger_building", shed.pk)):
        assert client.get(reverse(name, args=[pk])).status_code == 404
    assert "Long shed" in as_shown(text_of(client.get(reverse("loggers"))))  # their own
    assert client.get(reverse("loggers")).context["sites"][0].organisation != site.organisation
    for person in (owner, viewer):
        assert client_as(person).get(reverse("logger_file", args=[only().pk])).status_code == 403


def test_no_address_serves_the_file(client_as, manager, site):
    send(client_as(manager), "logger_site", site.pk, air_csv(days=40))
    assert client_as(manager).get(f"/media/{only().raw}").status_code == 404


def test_a_place_with_measured_air_is_not_removed(client_as, manager, barn, site):
    from collection.models import Building
    from collection.places.actions.places import remove_place

    empty = Building.objects.create(site=site, name="Annex", shelter="enclosed")
    take_file(place=empty, name="a.csv", data=air_csv(days=40), by=manager, now=NOW)
    with pytest.raises(Exception, match="still in use"):
        remove_place(place=empty, edit=Edit(None, NOW))


def test_whoever_sent_it_is_in_their_file_and_can_be_forgotten(client_as, keeper, site):
    from collection.people.actions.forgetting import forget_person

    send(client_as(keeper), "logger_site", site.pk, air_csv(days=40))
    facts = json.loads(client_as(keeper).get(reverse("my_data")).content)
    assert facts["logger files"][0]["name"] == "logger.csv"
    forget_person(person=keeper, today=TODAY)
    assert only().by is None


def test_bytes_that_belong_to_no_file_are_swept_away(site, manager):
    file = take_file(place=site, name="a.csv", data=air_csv(days=40), by=manager, now=NOW).file
    default_storage.save("loggers/stray", ContentFile(b"x"))
    old = (NOW - timedelta(days=2)).timestamp()
    os.utime(default_storage.path("loggers/stray"), (old, old))
    assert forget_old_files(now=NOW) == 1
    assert default_storage.listdir("loggers")[1] == [file.raw.removeprefix("loggers/")]


def test_a_file_thrown_away_while_it_is_read_does_not_come_back(site, manager, monkeypatch):
    file = take_file(place=site, name="a.csv", data=air_csv(days=40), by=manager, now=NOW).file
    copy = LoggerFile.objects.get(pk=file.pk)
    throw_away(file=file)
    read_file(copy, now=NOW)
    assert not LoggerFile.objects.exists()
    assert not LoggerDay.objects.exists()


def test_an_accepted_file_is_not_read_otherwise(client_as, manager, site):
    client = client_as(manager)
    send(client, "logger_site", site.pk, air_csv(days=40))
    act(client, only(), act="accept")
    days = list(LoggerDay.objects.values_list("pk", flat=True))
    sent = {
        name: only().layout[name]
        for name in ("order", "zone", "temperature", "humidity", "dew_point", "decimal", "duplicates")
    }
    act(client, only(), act="read", unit="f", **sent)
    act(client, only(), act="again")
    act(client, only(), act="away")
    act(client, only(), act="nonsense")
    assert list(LoggerDay.objects.values_list("pk", flat=True)) == days


@given(st.binary(max_size=300) | st.text(alphabet="0123456789-:/, ;TZ\n.tempC", max_size=400).map(str.encode))
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_is_sent_the_pages_stand_and_nothing_is_half_written(client_as, manager, site, data):
    client = client_as(manager)
    answer = send(client, "logger_site", site.pk, data)
    if answer.status_code == 302:
        assert client.get(answer.url).status_code == 200
        file = only()
        assert file.state in (LoggerState.READ, LoggerState.FAILED)
        assert file.days.exists() == (file.state == LoggerState.READ)
        act(client, file, act="away")
    assert not LoggerFile.objects.exists()
    assert not LoggerDay.objects.exists()


# volts


@pytest.fixture
def stream(client_as, keeper, car):
    send(
        client_as(keeper),
        "car_loggers",
        car.pk,
        volts_csv(charges=[(60, 10), (90, 100)], falls=[(40, 0.3)]),
        "volts.csv",
    )
    return only()


def test_the_volts_are_proposed_first_and_logged_in_one_step(client_as, keeper, car, stream):
    client = client_as(keeper)
    page = text_of(client.get(reverse("logger_file", args=[stream.pk])))
    assert "charge, to full" in as_shown(page)
    assert "something drew on it" in page
    assert not Entry.objects.exists()
    act(client, stream, act="accept", parts=PARTS)
    entries = Entry.objects.order_by("done_at")
    kinds = [entry.kind for entry in entries]
    assert kinds.count("charge") == 1
    assert kinds.count("maintainer") == 2
    assert kinds.count("note") == 1
    assert 4 <= kinds.count("battery_reading") <= 12
    for entry in entries:
        assert entry.by == keeper
        assert entry.details["file_sha256"] == stream.digest
        assert entry.details["logger"] == "volts.csv"
    reading = entries.filter(kind="battery_reading").first().readings.get()
    assert reading.quantity == "rested_volts"
    assert reading.rest_hours >= 12


def test_a_buyer_sees_that_a_logger_told_it(client_as, keeper, manager, car, stream):
    act(client_as(keeper), stream, act="accept", parts=["readings"])
    page = text_of(client_as(manager).get(reverse("history", args=[car.pk])))
    assert "Taken from the logger" in page
    assert stream.digest in page


def test_all_of_it_is_withdrawn_in_one_step_by_new_entries(client_as, keeper, manager, car, stream):
    act(client_as(keeper), stream, act="accept", parts=PARTS)
    made = Entry.objects.count()
    act(client_as(manager), stream, act="withdraw")
    assert Entry.objects.count() == 2 * made
    assert not effective(Entry.objects.all()).exists()
    assert set(Entry.objects.filter(kind="withdrawn").values_list("by", flat=True)) == {manager.pk}
    assert not LoggerFile.objects.exists()


def test_a_file_withdrawn_may_be_sent_and_accepted_again(client_as, keeper, car, stream):
    client = client_as(keeper)
    act(client, stream, act="accept", parts=["readings"])
    act(client, stream, act="withdraw")
    send(client, "car_loggers", car.pk, volts_csv(charges=[(60, 10)]))
    act(client, only(), act="accept", parts=["readings"])
    assert effective(Entry.objects.all()).count() >= 3


def test_accepted_twice_it_is_logged_once(client_as, keeper, car, stream):
    act(client_as(keeper), stream, act="accept", parts=PARTS)
    made = Entry.objects.count()
    act(client_as(keeper), stream, act="accept", parts=PARTS)
    assert Entry.objects.count() == made


def test_a_longer_file_of_the_same_logger_adds_only_what_is_new(client_as, keeper, car, stream):
    client = client_as(keeper)
    act(client, stream, act="accept", parts=PARTS)
    before = set(effective(Entry.objects.all()).values_list("pk", flat=True))
    send(client, "car_loggers", car.pk, volts_csv(days=200, charges=[(60, 10), (90, 100)], falls=[(40, 0.3)]))
    newer = LoggerFile.objects.first()
    act(client, newer, act="accept", parts=PARTS)
    new = effective(Entry.objects.all()).exclude(pk__in=before)
    assert new.exists()
    assert min(new.values_list("done_at", flat=True)) > BEGIN + timedelta(days=119)


def test_a_charge_that_somebody_logged_is_not_logged_again(client_as, keeper, car, stream):
    from collection.care.actions.care import log_entry

    log_entry(
        vehicle=car,
        kind="charge",
        done_at=BEGIN + timedelta(days=60, hours=12),
        by=keeper,
        idempotency_key="c",
        now=NOW,
        details={"completed": True},
    )
    act(client_as(keeper), stream, act="accept", parts=["charges"])
    assert Entry.objects.filter(kind="charge").count() == 1
    assert Entry.objects.filter(kind="maintainer").count() == 2


def test_a_logger_is_nobody_at_the_car(client_as, keeper, car, stream):
    act(client_as(keeper), stream, act="accept", parts=["readings"])
    fleet = gather([car.pk], today=TODAY).fleet
    assert fleet.last_attended[0] != fleet.last_attended[0]  # not known still


def test_the_history_still_verifies_with_them(client_as, keeper, car, stream):
    from collection.chain.verify import verify
    from collection.proof.actions import export_history

    act(client_as(keeper), stream, act="accept", parts=PARTS)
    assert verify(export_history(car, now=NOW)).faults == []


def test_nothing_ticked_is_nothing_logged(client_as, keeper, stream):
    assert "Tick something" in text_of(act(client_as(keeper), stream, act="accept"))
    assert not Entry.objects.exists()


def test_an_owner_does_not_send_volts(client_as, owner, car):
    assert client_as(owner).get(reverse("car_loggers", args=[car.pk])).status_code == 403


def test_a_new_climate_row_is_the_organisations_own(client_as, manager, barn, site):
    client = client_as(manager)
    send(client, "logger_site", site.pk, air_csv(days=40))
    act(client, only(), act="accept")
    climate = Climate.objects.get(name="Measured at Hollin")
    assert climate.organisation == barn
    assert client.get(reverse("climate_edit", args=[climate.pk])).status_code == 404


def test_the_page_tells_differences_in_the_readers_own_degrees(client_as, manager, site):
    client = client_as(manager)
    send(client, "logger_site", site.pk, air_csv(days=59, warmer_c=6.0))
    act(client, only(), act="accept")
    shift = MeasuredClimate.objects.get().facts["shift_c"]
    assert f"by {shift:.1f} °C on the average" in as_shown(text_of(client.get(reverse("loggers"))))
    manager.units = "american"
    manager.save()
    assert f"by {shift * 1.8:.1f} °F on the average" in as_shown(text_of(client.get(reverse("loggers"))))


@pytest.mark.parametrize("files", [1, 8])
def test_the_list_of_loggers_asks_the_database_a_fixed_number_of_times(
    client_as, manager, site, shed, files, django_assert_max_num_queries
):
    for day in range(files):
        take_file(place=shed, name="a.csv", data=air_csv(days=31 + day), by=manager, now=NOW)
        take_file(place=site, name="b.csv", data=air_csv(days=41 + day), by=manager, now=NOW)
    client = client_as(manager)
    with django_assert_max_num_queries(16):
        assert client.get(reverse("loggers")).status_code == 200


def test_a_fleet_at_measured_places_is_gathered_with_a_fixed_number_of_queries(
    client_as, manager, barn, car, neighbour_car, site, shed
):
    client = client_as(manager)
    send(client, "logger_site", site.pk, air_csv(days=40))
    act(client, only(), act="accept")
    send(client, "logger_building", shed.pk, air_csv(days=41))
    act(client, LoggerFile.objects.first(), act="accept")
    gather([car.pk, neighbour_car.pk], today=TODAY)  # the hours are kept in memory from here on
    counted = []
    for pks in ([car.pk], [car.pk, neighbour_car.pk]):
        with CaptureQueriesContext(connection) as queries:
            gather(pks, today=TODAY)
        counted.append(len(queries))
    assert counted[0] == counted[1]
