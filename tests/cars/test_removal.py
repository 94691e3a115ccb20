"""A car that was written down by mistake can be removed as long as nothing else tells of it."""

from datetime import timedelta

from django.urls import reverse

from collection.life.refresh import refresh_vehicles
from collection.models import ShareLink, Vehicle
from tests.barn import TODAY
from tests.logbook import NOON, write


def remove(client, car):
    return client.post(reverse("car_remove", args=[car.pk]))


def test_it_goes_with_its_record(client_as, manager, car):
    car.tyres.create(position="front_left", date_code="2319")
    refresh_vehicles([car.pk], today=TODAY)
    assert remove(client_as(manager), car).url == reverse("cars")
    assert not Vehicle.objects.filter(pk=car.pk).exists()


def test_with_an_entry_in_the_log_it_stays(client_as, manager, car):
    write(car, manager, "inspected", 1, details={"ok": True})
    assert "the log only grows" in remove(client_as(manager), car).content.decode()
    assert Vehicle.objects.filter(pk=car.pk).exists()


def test_once_shown_to_somebody_outside_it_stays(client_as, manager, car):
    ShareLink.objects.create(
        vehicle=car,
        made_at=NOON,
        token_digest="0" * 64,
        reader="A buyer",
        expires_at=NOON + timedelta(days=1),
    )
    assert "shown to somebody outside" in remove(client_as(manager), car).content.decode()
    assert Vehicle.objects.filter(pk=car.pk).exists()
