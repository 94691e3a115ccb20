"""The routine of the barn: how often each car is cared for, with all its slips.

A habit is a way of being looked after; the rounds walk through the two years and write what the
keepers would have written. What happened once only stands in ``stories``.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from collection.care.draft import Measured
from collection.demo import measuring
from collection.demo.cars import log_begins
from collection.demo.diary import Diary
from collection.models import Battery, CareKind, Quantity, Vehicle

DAYS_A_MONTH = 30.44


@dataclass(frozen=True)
class Habit:
    """Days between cares (0: never), and how far a round slips."""

    charge: float = 0  # in units of the usual interval of the battery's chemistry
    run_up: int = 0
    pressures: int = 0
    inspection: int = 0
    autumn_fuel: float = 0  # share of autumns in which the old fuel is changed
    brake_fluid_measured: bool = False
    slips: float = 0.2  # share of the interval by which a round comes late


HABITS = {
    "eager": Habit(0.8, 26, 40, 14, 1, True, 0.1),
    "kept": Habit(0.95, 38, 75, 21, 1, True, 0.25),
    "tended": Habit(0, 33, 60, 21, 1, True, 0.15),  # lives on a maintainer
    "lax": Habit(1.6, 95, 170, 33, 0.5, False, 0.6),
    "neglected": Habit(1.6, 110, 190, 33, 0, False, 0.6),
    "dealer": Habit(1.2, 40, 60, 30, 0, False, 0.3),
    "preserved": Habit(1.1, 0, 120, 28, 0, False, 0.15),
    "dormant": Habit(),
    "unknown": Habit(),
}
# how often the barn means to charge each chemistry, days
CHARGE_DAYS = {
    "flooded_antimony": 28,
    "low_antimony": 50,
    "hybrid": 75,
    "calcium": 120,
    "agm": 100,
    "gel": 100,
    "lifepo4": 150,
}
FOUND = (
    "dust on the cover",
    "a drip under the gearbox",
    "mouse droppings in the boot",
    "cobwebs in the grille",
    "surface rust on the discs",
    "stiff handbrake",
    "a perished wiper blade",
)
YARD_DAYS = 9  # the yard is walked weekly, more or less
DOSED = 0.8  # share of fresh fillings that get their stabiliser
LATE_SHEETS = (0, 0, 0, 0, 0, 0, 1, 1, 2, 6)  # days until the paper sheet was typed up


@dataclass(frozen=True)
class Round:
    """One car on its way through the two years."""

    car: Vehicle
    battery: Battery
    placard_kpa: float
    habit: Habit
    diary: Diary

    @property
    def rng(self) -> random.Random:
        """The diary's own chance."""
        return self.diary.rng

    def days(self, interval: float) -> Iterator[tuple[date, int]]:
        """The days of a care that comes round, each with the days since the last one."""
        day = log_begins(self.car, self.diary.today)
        if interval <= 0:
            return
        first = True
        while True:
            # the first round meets a car at any point of its interval, so that the barn is not in step
            step = self.rng.uniform(0.1, 1) if first else 1 + self.rng.uniform(-0.1, self.habit.slips)
            since = max(1, round(interval * step))
            day, first = self.diary.working_day(day + timedelta(days=since)), False
            if day >= self.diary.today - timedelta(days=1):
                return
            yield day, since

    def write(self, kind: CareKind, day: date, details: dict[str, Any], readings: list[Measured]) -> None:
        """An entry, typed up at once or some days later."""
        late = self.rng.choice(LATE_SHEETS)
        self.diary.write(self.car, kind, day, details=details, readings=readings, typed_up_after_days=late)

    def air_c(self, day: date) -> float:
        """The thermometer where the car stands now."""
        assert self.car.bay is not None  # noqa: S101 - every car of the demo has a bay
        return measuring.air_c(self.rng, self.car.bay.building, day)


def walk(car: Round) -> None:
    """Write everything that comes round for one car."""
    for write in (_charges, _run_ups, _pressures, _inspections, _autumns, _springs):
        write(car)


def _charges(at: Round) -> None:
    interval = at.habit.charge * CHARGE_DAYS.get(at.battery.chemistry, 60)
    for day, since in at.days(interval):
        left = measuring.state_of_charge(at.rng, at.battery, since)
        temperature = at.air_c(day)
        readings = [measuring.rested_volts(at.rng, at.battery, left, temperature)]
        if at.battery.chemistry == "flooded_antimony" and at.rng.random() < 0.3:
            readings += measuring.hydrometer(at.rng, at.battery, left, temperature)
        hours = round(min(24, 2 + (1 - left) * 30), 0)
        details = {"completed": at.rng.random() > 0.04, "hours": hours, "amps": at.rng.choice((4, 5, 6))}
        at.write(CareKind.CHARGE, day, details, readings)


def _run_ups(at: Round) -> None:
    if at.car.fuel_system == "" or not at.habit.run_up:
        return
    for day, _ in at.days(at.habit.run_up):
        summer = 4 <= day.month <= 10
        driven = at.rng.random() < (0.9 if summer else 0.55)
        minutes = at.rng.randint(25, 70) if driven else at.rng.randint(6, 15)
        details: dict[str, Any] = {"minutes": minutes, "reached_temperature": driven, "driven": driven}
        if driven:
            details["distance_km"] = round(minutes * at.rng.uniform(0.55, 0.85))
        volts = (at.battery.volts or 12) / 12 * at.rng.uniform(13.7, 14.3)
        readings = [
            Measured(Quantity.OIL_PRESSURE, float(at.rng.randint(23, 40) * 10)),
            Measured(Quantity.CHARGING_VOLTS, round(volts, 1)),
        ]
        at.write(CareKind.RUN_UP, day, details, readings if at.rng.random() < 0.8 else readings[:1])


def _pressures(at: Round) -> None:
    for day, since in at.days(at.habit.pressures):
        readings = measuring.tyre_pressures(at.rng, at.placard_kpa, since / DAYS_A_MONTH, at.air_c(day))
        at.write(CareKind.TYRE_PRESSURES, day, {"topped_up": True}, readings)


def _inspections(at: Round) -> None:
    in_the_open = at.car.bay is not None and at.car.bay.row == "Y"
    for day, _ in at.days(min(at.habit.inspection, YARD_DAYS) if in_the_open else at.habit.inspection):
        details = {"found": at.rng.sample(FOUND, 1)} if at.rng.random() < 0.12 else {}
        humidity = Measured(Quantity.SURFACE_RH, float(at.rng.randint(44, 52)))
        dry = at.car.bay is not None and at.car.bay.row == "W"
        at.write(CareKind.INSPECTED, day, {"ok": not details} | details, [humidity] if dry else [])


def _autumns(at: Round) -> None:
    """Old fuel out, fresh fuel and stabiliser in, before the doors close for the winter."""
    if at.car.tank_litres is None:
        return
    for day in _each_year(at, month=10):
        if at.rng.random() >= at.habit.autumn_fuel:
            continue
        litres = round(at.car.tank_litres * at.rng.uniform(0.55, 0.85))
        at.write(CareKind.FUEL_DRAINED, day, {"emptied": True}, [])
        fuel = {"litres": litres, "grade": at.car.fuel.grade, "bio_pct": at.car.fuel.bio_pct}
        filled = at.diary.working_day(day + timedelta(days=1))
        at.write(CareKind.FUEL_ADDED, filled, {key: it for key, it in fuel.items() if it is not None}, [])
        if at.rng.random() < DOSED:
            dosed = at.diary.working_day(filled + timedelta(days=1))
            at.write(CareKind.STABILISER, dosed, {"litres": litres, "dose_ml": round(litres * 2.5)}, [])


def _springs(at: Round) -> None:
    """What the record of fluids says was changed since the car came, as entries; and brake fluid measured."""
    begins = log_begins(at.car, at.diary.today)
    for fluid in at.car.fluids.all():
        if fluid.changed_on and fluid.changed_on > begins:
            facts = {"fluid": fluid.kind, "type": fluid.type, "glycol_pct": fluid.glycol_pct}
            details = {key: value for key, value in facts.items() if value}
            at.write(CareKind.FLUID_CHANGED, at.diary.working_day(fluid.changed_on), details, [])
    if at.habit.brake_fluid_measured:
        _measure_brake_fluid(at)


def _measure_brake_fluid(at: Round) -> None:
    fluid = at.car.fluids.filter(kind="brake_fluid").first()
    if fluid is None:
        return
    for day in _each_year(at, month=4):
        months = (day - fluid.changed_on).days / DAYS_A_MONTH if fluid.changed_on else 30
        if months >= 0:
            water = round(0.4 + 0.07 * months + at.rng.uniform(0, 0.3), 1)
            at.write(CareKind.FLUID_READING, day, {}, [Measured(Quantity.BRAKE_WATER, water)])


def _each_year(at: Round, month: int) -> Iterator[date]:
    begins, today = log_begins(at.car, at.diary.today), at.diary.today
    for year in range(begins.year, today.year + 1):
        day = at.diary.working_day(date(year, month, at.rng.randint(3, 26)))
        if begins < day < today - timedelta(days=3):
            yield day
