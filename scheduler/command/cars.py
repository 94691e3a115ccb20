"""A car with its places and its facts, as the command reads it; and what shapes alone cannot refuse."""

from collections.abc import Iterator
from datetime import date
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from scheduler.command.facts import (
    AnyFact,
    BatteryFitted,
    FluidChanged,
    FuelAdded,
    Grade,
    TagClosed,
    TagOpened,
    TyresFitted,
)
from scheduler.command.shapes import Celsius, Day, Name, OneOf, Percent, Shape
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.tyres.age import weeks_made
from scheduler.vocabulary import regimes
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.intervals import LONGEST_YEARS
from scheduler.vocabulary.units import DAYS_PER_YEAR

Regime = Annotated[str, OneOf(row.code for row in regimes.REGIMES)]
FuelSystem = Annotated[str, OneOf(row.code for row in regimes.FUEL_SYSTEMS)]
TankMaterial = Annotated[str, OneOf(row.code for row in regimes.TANK_MATERIALS)]
TankVenting = Annotated[str, OneOf(row.code for row in regimes.VENTINGS)]
Shelter = Annotated[str, OneOf(row.code for row in regimes.SHELTERS)]
DutyCode = Annotated[str, OneOf(row.code for row in DUTIES)]
LONGEST_DAYS = LONGEST_YEARS * DAYS_PER_YEAR
MOST_RULES = 500  # each duty decided anew some forty times
MOST_FACTS = 5000  # a fact every day for thirteen years
MonthsC = Annotated[list[Celsius], Field(min_length=12, max_length=12)]
MonthsPct = Annotated[list[Percent], Field(min_length=12, max_length=12)]


class Climate(Shape):
    """Twelve usual months outside, January first: mean, mean daily low and high, humidity."""

    mean_c: MonthsC
    low_c: MonthsC
    high_c: MonthsC
    rh_pct: MonthsPct

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        months = zip(self.low_c, self.mean_c, self.high_c, strict=True)
        wrong = [str(month) for month, (low, mean, high) in enumerate(months, 1) if not low <= mean <= high]
        if wrong:
            raise ValueError(f"mean_c lies outside low_c to high_c in month {', '.join(wrong)}")
        return self


class StandingPlace(Shape):
    """Where a car stands. ``power``: a socket is there; ``extraction``: exhaust can be led out."""

    shelter: Shelter
    power: bool | None = None
    extraction: bool = False
    climate: Climate | None = None
    heated_to_c: Annotated[float, Field(ge=0, le=40)] | None = None
    rh_ceiling_pct: Annotated[float, Field(ge=10, le=100)] | None = None


class OwnRule(Shape):
    """What is decided of one duty of a car, in place of the models; of several of one duty the latest counts.

    ``since``: the day it was decided, the first for ever where it is left out. ``interval_days``: it falls
    due so long after it was last done. ``not_before``: no date of it is earlier. ``put_off_until``: it is on
    hold until then. ``not_for_this_car``: it is never asked for.
    """

    duty: DutyCode
    since: Day | None = None
    interval_days: Annotated[float, Field(ge=1, le=LONGEST_DAYS)] | None = None
    not_before: Day | None = None
    put_off_until: Day | None = None
    not_for_this_car: bool = False


class Car(Shape):
    """One car."""

    id: Name
    built_on: Day | None = None
    system_volts: Literal[6, 12, 24] | None = None
    regime: Regime | None = None
    fuel_system: FuelSystem | None = None
    fuel: Grade | None = None
    tank_litres: Annotated[float, Field(gt=0, le=1000)] | None = None
    tank_material: TankMaterial | None = None
    tank_venting: TankVenting | None = None
    places: dict[Name, StandingPlace] = Field(default_factory=dict)
    rules: Annotated[list[OwnRule], Field(max_length=MOST_RULES)] = Field(default_factory=list)
    facts: Annotated[list[AnyFact], Field(max_length=MOST_FACTS)] = Field(default_factory=list)

    @cached_property
    def in_order(self) -> list[AnyFact]:
        """The facts by day; those of one day in the order of the list."""
        return sorted(self.facts, key=lambda fact: fact.on)


def contradictions(car: Car, on: date) -> Iterator[tuple[int, str, str]]:
    """What no car can be: number of the fact in the list, its field, and what is wrong with it."""
    for number, fact in enumerate(car.facts):
        if car.built_on and fact.on < car.built_on:
            yield number, "on", f"is before the car was built, on {car.built_on}"
        if (place := getattr(fact, "place", None)) and place not in car.places:
            yield number, "place", f"{place!r} is not among the car's places"
        for field, problem in _impossible(car, fact, on):
            yield number, field, problem
    yield from _tags_not_open(car)


def _impossible(car: Car, fact: AnyFact, on: date) -> Iterator[tuple[str, str]]:
    match fact:
        case BatteryFitted(made_on=made) if made and made > fact.on:
            yield "made_on", "is after the battery was put in"
        case TyresFitted(date_code=code) if code:
            try:
                weeks_made(code, min(fact.on, on))
            except BadInput as fault:
                yield "date_code", str(fault).removeprefix("date_code: ")
        case FluidChanged(type=name) if name:
            fluid = next(kind.fluid for kind in FLUID_KINDS if kind.name == name)
            if fluid != fact.fluid:
                yield "type", f"{name} is a type of {fluid}"
        case FuelAdded():
            yield from _overfull(car, fact)


def _overfull(car: Car, fact: FuelAdded) -> Iterator[tuple[str, str]]:
    after, tank = fact.tank_after_litres, car.tank_litres
    if tank and fact.litres > tank:
        yield "litres", f"is more than the tank holds, {tank:g}"
    if after is not None and after < fact.litres:
        yield "tank_after_litres", "is less than went in"
    if after is not None and tank and after > tank:
        yield "tank_after_litres", f"is more than the tank holds, {tank:g}"


def _tags_not_open(car: Car) -> Iterator[tuple[int, str, str]]:
    number = {id(fact): place for place, fact in enumerate(car.facts)}
    on: list[str] = []
    for fact in car.in_order:
        if isinstance(fact, TagOpened):
            on.append(fact.tag)
        elif isinstance(fact, TagClosed):
            if fact.tag in on:
                on.remove(fact.tag)
            else:
                yield number[id(fact)], "tag", f"{fact.tag} is taken off and was not on"
