"""The care log through its addresses: what a person at the car sees, types and gets back."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.template.loader import render_to_string
from django.test import RequestFactory
from django.urls import reverse

from collection.care.actions.care import Measured, log_entry
from collection.care.cautions import DEFER, cautions_for
from collection.care.forms.recommissioning import WAKING_FORMS
from collection.care.forms.registry import KIND_FORMS
from collection.care.queries.care import log_of
from collection.models import CareKind, Entry, Site
from collection.permissions import access_of
from tests.logbook import as_shown

NOW = datetime(2026, 11, 20, 10, 0, tzinfo=UTC)
KEY = "0123456789"


@pytest.fixture
def at_car(client_as, keeper, car):
    """Post one form as the keeper; gives the response."""
    client = client_as(keeper)

    def post(kind, query="", **typed):
        return client.post(reverse("log_kind", args=[car.pk, kind]) + query, {"key": KEY} | typed)

    post.client = client
    return post


def entry_of(car, keeper, kind="charge", **fields):
    fields = {
        "details": {"completed": True},
        "done_at": NOW,
        "idempotency_key": f"{kind}-{len(fields)}",
    } | fields
    return log_entry(vehicle=car, kind=kind, by=keeper, now=NOW, **fields).entry


def shown(response):
    return re.sub(r"\s+", " ", response.content.decode())


def test_the_log_page_offers_every_kind_that_a_person_may_log(at_car, car):
    page = shown(at_car.client.get(reverse("log", args=[car.pk])))
    assert reverse("log_kind", args=[car.pk, "own_duty"]) not in page, "it has no duty of its keepers' own"
    car.own_duties.create(kind="insurance", title="Insurance", begun=NOW.date())
    page = shown(at_car.client.get(reverse("log", args=[car.pk])))
    for kind in set(CareKind.values) - {"withdrawn"} - set(WAKING_FORMS):
        assert reverse("log_kind", args=[car.pk, kind]) in page


def test_a_car_that_left_is_offered_notes_only(at_car, car):
    car.left_on = NOW.date()
    car.save()
    page = shown(at_car.client.get(reverse("log", args=[car.pk])))
    assert reverse("log_kind", args=[car.pk, "note"]) in page
    assert reverse("log_kind", args=[car.pk, "charge"]) not in page


@pytest.mark.parametrize("kind", KIND_FORMS)
def test_each_form_shows_its_cautions_its_time_and_a_fresh_key(at_car, car, kind):
    address = reverse("log_kind", args=[car.pk, kind])
    first, second = (shown(at_car.client.get(address)) for _ in range(2))
    for caution in cautions_for(kind):
        assert caution.title in first
    assert (DEFER.replace("'", "&#x27;") in first) == bool(cautions_for(kind))
    assert 'type="datetime-local"' in first
    keys = [re.search(r'name="key" value="([0-9a-f-]{36})"', page)[1] for page in (first, second)]
    assert keys[0] != keys[1]


@pytest.mark.parametrize(
    "kind", ["charge", "battery_reading", "run_up", "stabiliser", "fuel_added", "fuel_drained", "moved"]
)
def test_work_that_can_hurt_somebody_has_a_caution(kind):
    assert cautions_for(kind)


def test_what_is_typed_is_stored_in_si_whatever_the_persons_units(at_car, keeper, car):
    keeper.units = "american"
    keeper.save()
    at_car("tyre_pressures", tyre_pressure_front_left="32", temperature_c="50")
    reading = Entry.objects.get().readings.get()
    assert reading.value == pytest.approx(32 * 6.894757)
    assert reading.temperature_c == pytest.approx(10)


def test_the_last_value_stands_beside_the_field_in_the_persons_units(at_car, keeper, car):
    entry_of(
        car, keeper, "tyre_pressures", details={}, readings=[Measured("tyre_pressure", 220, "front_left")]
    )
    keeper.units = "british"
    keeper.save()
    page = shown(at_car.client.get(reverse("log_kind", args=[car.pk, "tyre_pressures"])))
    assert "Last: 31.91 psi on Fri 20 Nov 2026" in page


def test_when_is_filled_with_now_in_the_zone_of_the_cars_site(at_car, car, time_machine_at):
    Site.objects.update(time_zone="Asia/Tokyo")
    page = shown(at_car.client.get(reverse("log_kind", args=[car.pk, "charge"])))
    assert 'value="2026-11-20T19:00"' in page


@pytest.fixture
def time_machine_at(time_machine):
    time_machine.move_to(NOW, tick=False)


def test_a_typed_time_is_read_in_the_zone_of_the_cars_site(at_car, car):
    Site.objects.update(time_zone="Asia/Tokyo")
    at_car("charge", completed="on", done_at="2026-11-19T09:00")
    assert Entry.objects.get().done_at == datetime(2026, 11, 19, 0, 0, tzinfo=UTC)


def test_a_double_submit_stores_once_and_says_so(at_car):
    assert [at_car("charge", completed="on").status_code for _ in range(2)] == [302, 302]
    assert Entry.objects.count() == 1


def test_a_fault_is_shown_at_its_field_and_nothing_typed_is_lost(at_car, keeper, car):
    keeper.units = "american"
    keeper.save()
    response = at_car("fuel_added", litres="20", note="from the farm pump")
    page = shown(response)
    assert response.status_code == 200
    assert "20 is out of range: give 0 to 11.89 US gal." in page
    assert "from the farm pump" in page
    assert f'value="{KEY}"' in page
    assert not Entry.objects.exists()


def test_what_the_log_refuses_is_shown_at_the_field(at_car, car, neighbour_car, bays):
    car.refresh_from_db()
    neighbour_car.bay = None
    neighbour_car.save()
    page = at_car("run_up", minutes="5", distance_km="3")
    assert "A car that was not driven covers no distance" in shown(page)
    assert page.context["form"].errors["distance_km"]


def test_only_free_bays_are_offered_for_a_move(at_car, car, neighbour_car, bays):
    page = shown(at_car.client.get(reverse("log_kind", args=[car.pk, "moved"])))
    assert f'<option value="{bays[2].pk}">' in page
    assert f'<option value="{bays[1].pk}">' not in page
    at_car("moved", place=str(bays[2].pk))
    car.refresh_from_db()
    assert car.bay == bays[2]


def test_after_logging_the_person_is_back_where_they_came_from_but_only_on_our_site(at_car, car):
    here = reverse("week") + "?from=2026-11-23#car-1"
    assert at_car("charge", completed="on", next=here).url == here
    elsewhere = at_car("note", note="x", key=KEY + "b", next="https://evil.example/")
    assert elsewhere.url == reverse("car", args=[car.pk])


def test_a_correction_starts_from_the_old_entry_and_leaves_it_struck_through(at_car, keeper, car):
    old = entry_of(car, keeper, readings=[Measured("rested_volts", 11.2)])
    address = reverse("correct", args=[car.pk, old.pk])
    assert 'value="11.2"' in shown(at_car.client.get(address))
    at_car.client.post(address, {"key": KEY, "completed": "on", "rested_volts": "12.2"})
    assert Entry.objects.get(corrects=old).readings.get().value == 12.2
    page = listed(car, keeper)
    assert re.search(rf'id="entry-{old.pk}" class="corrected"', page)
    assert "<del>" in page
    assert "Corrected by Keeper" in as_shown(page)


@pytest.mark.parametrize("kind", ["moved", "inspected", "not_done", "tyre_pressures", "run_up"])
def test_a_correction_form_repeats_the_entry_so_that_sending_it_unchanged_changes_nothing(
    at_car, keeper, car, bays, kind
):
    details, readings = {
        "moved": ({"wheels_only": False, "to_bay": bays[2].pk}, []),
        "inspected": ({"ok": False, "found": ["Damp or mould", "wasp nest"]}, []),
        "not_done": ({"duty": "charge", "reason": "Weather: deep snow"}, []),
        "tyre_pressures": ({"topped_up": True}, [Measured("tyre_pressure", 220, "spare", 5.0)]),
        "run_up": ({"minutes": 40, "driven": True, "reached_temperature": True}, []),
    }[kind]
    old = entry_of(car, keeper, kind, details=details, readings=readings)
    address = reverse("correct", args=[car.pk, old.pk])
    form = at_car.client.get(address).context["form"]
    typed = {name: form[name].value() for name in form.fields}
    typed = {name: value for name, value in typed.items() if value not in (None, "", False)}
    typed["done_at"] = "2026-11-20T10:00"
    assert at_car.client.post(address, typed).status_code == 302
    new = Entry.objects.get(corrects=old)
    assert (new.details, new.done_at) == (Entry.objects.get(pk=old.pk).details, old.done_at)


def test_an_entry_that_never_happened_is_withdrawn(at_car, keeper, car):
    old = entry_of(car, keeper)
    at_car.client.post(
        reverse("correct", args=[car.pk, old.pk]), {"key": KEY, "withdraw": "yes", "note": "wrong car"}
    )
    assert Entry.objects.get(corrects=old).kind == "withdrawn"
    assert "never happened" in listed(car, keeper)


def test_who_comes_second_to_a_correction_is_told_who_was_first(at_car, keeper, manager, car):
    old = entry_of(car, keeper)
    entry_of(car, manager, corrects=old, idempotency_key="m")
    page = shown(at_car.client.get(reverse("correct", args=[car.pk, old.pk])))
    assert "Manager has already corrected this entry" in page
    late = at_car.client.post(reverse("correct", args=[car.pk, old.pk]), {"key": KEY, "completed": "on"})
    assert late.status_code == 200
    assert Entry.objects.filter(corrects=old).count() == 1


@pytest.mark.parametrize(("who", "status"), [("owner", 403), ("outsider", 404), ("stranger", 403)])
def test_the_log_is_closed_to_others(client_as, keeper, car, who, status, request):
    entry = entry_of(car, keeper)
    client = client_as(request.getfixturevalue(who))
    addresses = [
        reverse("log", args=[car.pk]),
        reverse("log_kind", args=[car.pk, "charge"]),
        reverse("correct", args=[car.pk, entry.pk]),
    ]
    for address in addresses:
        assert client.get(address).status_code == status
    assert client.post(addresses[1], {"key": KEY, "completed": "on"}).status_code == status
    assert Entry.objects.count() == 1


def test_an_entry_is_not_corrected_through_another_car(at_car, keeper, car, neighbour_car):
    entry = entry_of(car, keeper)
    assert at_car.client.get(reverse("correct", args=[neighbour_car.pk, entry.pk])).status_code == 404


@pytest.mark.parametrize("kind", ["withdrawn", "polish"])
def test_a_kind_without_a_form_is_no_address(at_car, car, kind):
    assert at_car.client.get(reverse("log_kind", args=[car.pk, kind])).status_code == 404


def listed(car, person):
    request = RequestFactory().get("/")
    request.user, request.access = person, access_of(person)
    return render_to_string("care/_log.html", {"entries": log_of(car), "request": request})


@pytest.mark.parametrize("many", [2, 20])
def test_the_list_of_entries_takes_as_many_queries_for_twenty_as_for_two(
    car, keeper, many, django_assert_num_queries
):
    for number in range(many):
        done = NOW - timedelta(days=number)
        entry_of(
            car, keeper, idempotency_key=str(number), done_at=done, readings=[Measured("rested_volts", 12)]
        )
    request = RequestFactory().get("/")
    request.user, request.access = keeper, access_of(keeper)
    with django_assert_num_queries(3):
        page = render_to_string("care/_log.html", {"entries": log_of(car), "request": request})
    assert page.count("<li ") == many


@pytest.mark.parametrize("many", [2, 20])
def test_the_log_page_takes_as_many_queries_for_twenty_entries_as_for_two(
    at_car, keeper, car, many, django_assert_num_queries
):
    for number in range(many):
        entry_of(car, keeper, idempotency_key=str(number), done_at=NOW - timedelta(days=number))
    with django_assert_num_queries(10):
        at_car.client.get(reverse("log", args=[car.pk]))
