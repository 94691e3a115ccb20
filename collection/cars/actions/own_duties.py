"""Duties that keepers add to a car: saved as part of its record, and asked for like every other."""

from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit, recorded
from collection.life.refresh import refresh_vehicles
from collection.models import OwnDuty, Vehicle
from collection.web.faults import Faults, check
from scheduler.vocabulary.own_duties import OWN_KIND

LONGEST = timedelta(days=30 * 366)
MOST_CARS = 200  # that one may be added to at once: a page waits for them
COPIED = ("kind", "title", "due_on", "interval", "remind_days", "minutes", "note")
MOST_OF_A_CAR = 40  # policy: more than anybody keeps in mind


@transaction.atomic
def save_own_duty(*, duty: OwnDuty, edit: Edit, today: date) -> None:
    """Save a new or changed one and its date; ValidationError names what is wrong."""
    stored = OwnDuty.objects.filter(pk=duty.pk).first() if duty.pk else None
    if stored is None:
        duty.by = edit.by
    if duty.due_on is not None and (stored is None or stored.due_on != duty.due_on):
        duty.dated_at = edit.now
    with recorded(duty.vehicle, edit):
        _put(duty, stored, today)
    refresh_vehicles([duty.vehicle_id], today=today)


@transaction.atomic
def save_own_duty_alike(*, duty: OwnDuty, edit: Edit, today: date) -> int:
    """Save a new one at its car and at every other of the same make and model; returns how many cars.

    Each has its own from then on. ValidationError names what is wrong; then none has it.
    """
    car = duty.vehicle
    alike = Vehicle.objects.filter(organisation=car.organisation_id, left_on=None).exclude(pk=car.pk)
    others = list(alike.filter(marque__iexact=car.marque, model__iexact=car.model)[: MOST_CARS + 1])
    if len(others) > MOST_CARS:
        raise ValidationError({"alike": f"There are more than {MOST_CARS} such cars: add it to single ones."})
    save_own_duty(duty=duty, edit=edit, today=today)
    for other in others:
        own = {name: getattr(duty, name) for name in COPIED}
        save_own_duty(duty=OwnDuty(vehicle=other, **own), edit=edit, today=today)
    return len(others) + 1


def put_own_duty(*, duty: OwnDuty, today: date) -> None:
    """A new one without an entry, and without working out the car's dates: for a car that is new."""
    _put(duty, None, today)


def _put(duty: OwnDuty, stored: OwnDuty | None, today: date) -> None:
    if stored is None:
        duty.begun = today
    if duty.kind in OWN_KIND and not duty.title.strip():
        duty.title = OWN_KIND[duty.kind].title
    check(duty, _faults(duty, stored, today))
    duty.save()


@transaction.atomic
def end_own_duty(*, duty: OwnDuty, edit: Edit, today: date) -> None:
    """It is asked for no longer; what was done for it stays."""
    duty.ended_on = today
    with recorded(duty.vehicle, edit):
        duty.save(update_fields=["ended_on"])
    refresh_vehicles([duty.vehicle_id], today=today)


def _faults(duty: OwnDuty, stored: OwnDuty | None, today: date) -> Faults:
    faults = {}
    if duty.due_on is None and not duty.interval:
        faults["due_on"] = "Give the day on which it is due, or an interval."
    if duty.due_on and not today - LONGEST <= duty.due_on <= today + LONGEST:
        faults["due_on"] = "Give a day within thirty years of today."
    if stored and stored.kind != duty.kind and OWN_KIND[stored.kind].paper != OWN_KIND[duty.kind].paper:
        faults["kind"] = "A paper stays a paper, and work stays work: end this one and add another."
    if stored is None and duty.vehicle.own_duties.filter(ended_on=None).count() >= MOST_OF_A_CAR:
        faults["title"] = f"A car has at most {MOST_OF_A_CAR} own duties: end one first."
    return faults
