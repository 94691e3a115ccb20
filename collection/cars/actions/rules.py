"""Deciding of one duty in place of our models: at one car, or at every car of a kind."""

from collections.abc import Iterable
from datetime import date

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care.actions.record import Edit, recorded
from collection.cars.queries import cars_of_kind, kinds_of
from collection.life.refresh import refresh_vehicles
from collection.models import CarRule, KindRule, Vehicle
from collection.models.rules import DutyRule
from collection.web.faults import Faults, check
from scheduler.vocabulary.intervals import NEVER

MOST_CARS = 500  # that one kind may be written on at once: a page waits for them
COPIED = ("interval", "not_before", "reason", "put_off_until", "put_off_reason", "by", "since")


@transaction.atomic
def save_car_rule(*, rule: CarRule, edit: Edit, today: date) -> None:
    """Save what was decided of one duty of a car, or go back where nothing is: to its kind's rule, or ours.

    ValidationError names what is wrong.
    """
    rule.kind, rule.by, rule.since = None, edit.by, today
    if not rule.is_empty:
        check(rule, _faults(rule, today))
    with recorded(rule.vehicle, edit):
        if rule.is_empty:
            CarRule.objects.filter(vehicle=rule.vehicle, duty=rule.duty).delete()
            follow_kinds(rule.vehicle)
        else:
            rule.save()
    refresh_vehicles([rule.vehicle_id], today=today)


@transaction.atomic
def save_kind_rule(*, rule: KindRule, edit: Edit, today: date) -> int:
    """Save what was decided for a kind of car, and write it on each such car; returns how many there are."""
    rule.by, rule.since = edit.by, today
    faults = _faults(rule, today)
    if rule.is_empty:
        faults["interval"] = "Say what is decided: an own interval, a day, or that it is not for these cars."
    check(rule, faults)
    before = _cars_with(rule)
    rule.save()
    return _write_on(before | set(cars_of_kind(rule).values_list("pk", flat=True)), edit, today)


@transaction.atomic
def end_kind_rule(*, rule: KindRule, edit: Edit, today: date) -> int:
    """Take a rule of a kind off every car that has it from there; returns how many had it."""
    changed = _write_on(_cars_with(rule), edit, today, leaving=rule)
    rule.delete()
    return changed


def _cars_with(rule: KindRule) -> set[int]:
    return set(rule.cars.values_list("vehicle", flat=True)) if rule.pk else set()


def follow_kinds(vehicle: Vehicle, *, leaving: KindRule | None = None) -> None:
    """Give a car the rules of its kinds but ``leaving``, inside ``recorded``; what was decided for it stays.

    Of several kinds that decide of one duty the narrowest counts, then the latest.
    """
    decided = set(vehicle.rules.filter(kind=None).values_list("duty", flat=True))
    vehicle.rules.filter(kind__isnull=False).delete()
    for kind in kinds_of(vehicle):
        if kind != leaving and kind.duty not in decided:
            decided.add(kind.duty)
            copied = {name: getattr(kind, name) for name in COPIED}
            CarRule.objects.create(vehicle=vehicle, kind=kind, duty=kind.duty, **copied)


def _write_on(cars: Iterable[int], edit: Edit, today: date, *, leaving: KindRule | None = None) -> int:
    """Let each of the cars follow its kinds, as an entry of its record; all of them, or none."""
    vehicles = list(Vehicle.objects.filter(pk__in=cars, left_on__isnull=True).order_by("pk"))
    if len(vehicles) > MOST_CARS:
        text = f"There are {len(vehicles)} cars of this kind, and at most {MOST_CARS} take a rule at once."
        raise ValidationError({"model": f"{text} Narrow it by model or by how they are kept."})
    for vehicle in vehicles:
        with recorded(vehicle, edit):
            follow_kinds(vehicle, leaving=leaving)
    refresh_vehicles([vehicle.pk for vehicle in vehicles], today=today)
    return len(vehicles)


def _faults(rule: DutyRule, today: date) -> Faults:
    faults = {}
    if (rule.interval or rule.not_before) and not rule.reason.strip():
        faults["reason"] = "Say why, such as “handbook: 24 months”: it stands in the car's history."
    if rule.interval == NEVER and (rule.not_before or rule.put_off_until):
        faults["interval"] = "Not for this car: then leave out the days, or choose another interval."
    if rule.put_off_until and rule.put_off_until <= today:
        faults["put_off_until"] = "Give a day to come, on which it is asked for again."
    if rule.put_off_until and not rule.put_off_reason.strip():
        faults["put_off_reason"] = "Say why it is put off: it stands in the car's history."
    return faults
