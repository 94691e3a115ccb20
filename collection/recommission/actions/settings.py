"""What is set for a recommissioning: how the car was put away, its handbook, prices; and how it ends."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from django.core.exceptions import ValidationError
from django.db import transaction

from collection.care import core as choices
from collection.care.actions.care import record
from collection.care.actions.record import Edit, recorded
from collection.care.draft import Draft, Measured
from collection.care.queries.care import zone_of
from collection.life.refresh import refresh_vehicles
from collection.models import (
    Basis,
    CareKind,
    Entry,
    FluidKind,
    HandbookValue,
    Person,
    Quantity,
    RecommissionCase,
    Regime,
    Vehicle,
)
from collection.recommission.core.plan import build_answered, build_recommissioning, undone
from collection.recommission.queries import recommissioning_entries, recommissioning_record
from collection.web.faults import check, check_rows

# Results of the plan that are the first readings of the car's own record.
BASELINE = {
    "battery_rest": (CareKind.BATTERY_READING, Quantity.RESTED_VOLTS),
    "brake_water": (CareKind.FLUID_READING, Quantity.BRAKE_WATER),
}
NEW_FLUIDS = {
    ("new_oil", "done"): FluidKind.ENGINE_OIL,
    ("second_oil", "done"): FluidKind.ENGINE_OIL,
    ("new_brake_fluid", "new"): FluidKind.BRAKE_FLUID,
}
PUT_BACK = "recommissioning given up: put back to rest, see the intake report for what it needs"


def save_case(*, case: RecommissionCase, edit: Edit) -> None:
    """Save how the car was put away, as an entry of its record."""
    known = {name for name, _ in choices.conditions()}
    strange = [name for name in case.conditions if name not in known]
    check(case, {"conditions": f"There is no condition {strange[0]!r}."} if strange else {})
    with recorded(case.vehicle, edit):
        case.save()


@transaction.atomic
def save_handbook(*, vehicle: Vehicle, values: Sequence[HandbookValue], edit: Edit) -> None:
    """Keep exactly these own values of the car, as an entry of its record; faults are ``check-field``."""
    check_rows((value.check_key, value, _value_faults(value)) for value in values)
    with recorded(vehicle, edit):
        vehicle.handbook_values.exclude(check_key__in=[value.check_key for value in values]).delete()
        for value in values:
            value.save()


def _value_faults(value: HandbookValue) -> dict[str, str]:
    if value.check_key not in choices.measured_checks():
        return {"low": "No measured step has that name."}
    if value.low > value.high:
        return {"high": "This is below the lowest: give the higher value here."}
    return {}


@dataclass(frozen=True)
class Ending:
    """How a recommissioning ends: the regime that follows, and in words why."""

    regime: str
    note: str


@transaction.atomic
def end_recommissioning(*, vehicle: Vehicle, ending: Ending, by: Person, key: str, now: datetime) -> None:
    """Set up the car's regime, its baseline readings and its duties, so that it never stands unrecorded.

    Exercised asks for every step of the plan but this one, and for no temporary result; preserved may
    be chosen at any time and hangs the tag that forbids cranking. ValidationError says what is missing.
    """
    car = Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    if car.regime != Regime.DORMANT:
        raise ValidationError("This recommissioning has ended before: the car is in care.")
    if ending.regime not in (Regime.EXERCISED, Regime.PRESERVED):
        raise ValidationError({"regime": "Choose kept running or laid up."})
    today = now.astimezone(zone_of(car)).date()
    _may_end(car, ending, today)
    results = [entry for entry in recommissioning_entries(car) if entry.kind == CareKind.WAKING_RESULT]
    for number, draft in enumerate([*_baseline(car, results), *_closing(car, ending)]):
        record(draft, by=by, idempotency_key=_key(key, number), now=now)
    with recorded(car, Edit(by, now, basis=Basis.CARE_LOG)):
        car.regime = ending.regime
        built = build_answered(car, results)
        for part, code in built.items():
            setattr(car, part, code)
        car.save(update_fields=["regime", *built])
    refresh_vehicles([car.pk], today=today)


def _may_end(car: Vehicle, ending: Ending, today: date) -> None:
    if ending.regime == Regime.PRESERVED:
        return
    missing = undone(build_recommissioning(recommissioning_record(car), today=today), but=choices.CARE_SET_UP)
    if missing:
        text = "; ".join(missing[:5]) + (f"; and {len(missing) - 5} more" if len(missing) > 5 else "")
        raise ValidationError({"regime": f"The plan is not through: {text}."})


def _key(key: str, number: int) -> str:
    return str(uuid5(NAMESPACE_URL, f"{key}/{number}"))


def _baseline(car: Vehicle, results: Sequence[Entry]) -> list[Draft]:
    """Measured values and new fluids of the recommissioning as ordinary entries, on the day they were had."""
    latest = {entry.details["check"]: entry for entry in results}
    return [draft for entry in latest.values() if (draft := _first_reading(car, entry))]


def _first_reading(car: Vehicle, entry: Entry) -> Draft | None:
    details: dict[str, Any] = entry.details
    note = "From the recommissioning."
    fluid = NEW_FLUIDS.get((details["check"], details.get("answer", "")))
    if fluid:
        return Draft(car, CareKind.FLUID_CHANGED, entry.done_at, {"fluid": fluid.value}, (), note)
    kind, quantity = BASELINE.get(details["check"], ("", ""))
    if not kind or details.get("value") is None:
        return None
    value = choices.own_value(details)
    return Draft(car, kind, entry.done_at, {}, (Measured(quantity, value),), note)


def _closing(car: Vehicle, ending: Ending) -> list[Draft]:
    done = {"check": choices.CARE_SET_UP, "answer": "done"}
    drafts = [Draft(car, CareKind.WAKING_RESULT, None, done, (), ending.note)]
    if ending.regime == Regime.PRESERVED:
        tag = {"tag": "engine_preserved", "where": PUT_BACK}
        drafts.append(Draft(car, CareKind.TAG_OPENED, None, tag))
    return drafts
