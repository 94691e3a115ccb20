"""Facts of a car, each with its day: the shapes of what the command reads.

Kinds of care are those of the care log; the others are what only a record holds. Where a quantity or a
detail has limits in the vocabulary, they hold here too.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, Field, model_validator

from scheduler.command.shapes import Celsius, Day, Litres, Name, OneOf, Percent, Shape
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.fuel.fuels import FUELS
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.details import REST, Number
from scheduler.vocabulary.fluids import FLUIDS
from scheduler.vocabulary.positions import TYRES, WHEELS
from scheduler.vocabulary.quantities import QUANTITY
from scheduler.vocabulary.tags import TAGS

A_PER_MA = 0.001
LARGEST_AH = 1000.0  # of a starter battery: a slip of the pen beyond


def _measured(code: str, scale: float = 1.0) -> Any:
    """The limits of a quantity of the vocabulary, in a unit so many times smaller."""
    row = QUANTITY[code]
    return Field(ge=row.low * scale, le=row.high * scale)


@dataclass(frozen=True)
class Of:
    """Which quantity of the vocabulary a field of a fact gives."""

    quantity: str


def measured(fact: BaseModel) -> dict[str, float]:
    """What a fact gives of each quantity that its fields name."""
    return {
        mark.quantity: getattr(fact, name)
        for name, field in type(fact).model_fields.items()
        for mark in field.metadata
        if isinstance(mark, Of) and getattr(fact, name) is not None
    }


def _counted(care: str, key: str) -> Any:
    """The limits of a number that a kind of care asks for."""
    ask = next(ask for ask in KIND[care].asks if isinstance(ask, Number) and ask.key == key)
    return Field(ge=ask.low, le=ask.high)


Volts = Annotated[float, _measured("rested_volts")]
Gravity = Annotated[float, _measured("specific_gravity")]
Pressure = Annotated[float, _measured("tyre_pressure")]
Chemistry = Annotated[str, OneOf(row.name for row in BATTERIES)]
Grade = Annotated[str, OneOf(row.name for row in FUELS)]
FluidCode = Annotated[str, OneOf(row.code for row in FLUIDS)]
FluidByLooks = Annotated[str, OneOf(row.code for row in FLUIDS if row.by_looks)]
FluidType = Annotated[str, OneOf(kind.name for kind in FLUID_KINDS)]
TagCode = Annotated[str, OneOf(row.code for row in TAGS)]
Tyre = Annotated[str, OneOf(row.code for row in TYRES)]
Axle = Annotated[str, OneOf(dict.fromkeys(row.code.split("_")[0] for row in WHEELS))]
CellGravities = Annotated[list[Gravity], Field(min_length=3, max_length=12)]
OnePressureOrMore = Annotated[dict[Tyre, Pressure], Field(min_length=1)]


class Fact(Shape):
    """Something that was so or was done on a day."""

    on: Day

    def given(self, *names: str) -> list[str]:
        """Which of some keys were given."""
        return [name for name in names if getattr(self, name) is not None]


def _one_of_these(fact: Fact, names: Iterable[str]) -> None:
    names = tuple(names)
    if not fact.given(*names):
        raise ValueError(f"says nothing: give one or more of {', '.join(names)}")


# what only a record holds


class Stored(Fact):
    """The car was laid up, or came into keeping."""

    kind: Literal["stored"]


class Left(Fact):
    """The car left for good: nothing is asked of it from then on."""

    kind: Literal["left"]


class Away(Fact):
    """The car is elsewhere, and is to come back."""

    kind: Literal["away"]


class Back(Fact):
    """The car came back, to the place where it stood unless another is named."""

    kind: Literal["back"]
    place: Name | None = None


class BatteryFitted(Fact):
    """A battery was put in. ``isolator``: one is fitted, and open while the car stands."""

    kind: Literal["battery_fitted"]
    chemistry: Chemistry = "unknown"
    capacity_ah: Annotated[float, Field(gt=0, le=LARGEST_AH)] | None = None
    volts: Literal[6, 12, 24] | None = None
    made_on: Day | None = None
    isolator: bool = False
    full_gravity: Annotated[float, Field(ge=1.2, le=1.35)] | None = None


class DrainMeasured(Fact):
    """The current that flows with the key off."""

    kind: Literal["drain_measured"]
    milliamps: Annotated[float, _measured("key_off_drain", 1 / A_PER_MA)]


class TyresFitted(Fact):
    """Tyres were put on. ``date_code``: the last digits on the sidewall, week and year."""

    kind: Literal["tyres_fitted"]
    date_code: Name | None = None
    placard_kpa: Annotated[dict[Axle, Pressure], Field(min_length=1)] | None = None


# care


class Charge(Fact):
    """The battery was charged: in full, or so many ampere-hours."""

    kind: Literal["charge"]
    completed: bool | None = None
    ampere_hours: Annotated[float, Field(gt=0, le=LARGEST_AH)] | None = None
    hours: Annotated[float, _counted("charge", "hours")] | None = None
    amps: Annotated[float, _counted("charge", "amps")] | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        _one_of_these(self, ("completed", "ampere_hours", "hours"))
        return self


class Maintainer(Fact):
    """A maintainer was put on or taken off (``fitted``), was seen to work, or was found failed."""

    kind: Literal["maintainer"]
    fitted: bool | None = None
    seen_working: Literal[True] | None = None
    seen_failed: Literal[True] | None = None

    @model_validator(mode="after")
    def _one(self) -> Self:
        if len(self.given("fitted", "seen_working", "seen_failed")) != 1:
            raise ValueError("give exactly one of fitted, seen_working, seen_failed")
        return self


class BatteryReading(Fact):
    """Rested volts, the gravity of each cell, volts under load, or cranking amps as a share of the label."""

    kind: Literal["battery_reading"]
    rested_volts: Volts | None = None
    rested_hours: Annotated[float, Field(ge=REST.low, le=REST.high)] | None = None
    temperature_c: Celsius | None = None
    cell_gravities: CellGravities | None = None
    load_volts: Annotated[float | None, _measured("load_volts"), Of("load_volts")] = None
    cranking_pct: Annotated[float | None, _measured("cranking_share"), Of("cranking_share")] = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        _one_of_these(self, ("rested_volts", "cell_gravities", "load_volts", "cranking_pct"))
        return self


class RunUp(Fact):
    """The engine was run. ``km``: and the car driven so far."""

    kind: Literal["run_up"]
    minutes: Annotated[float, _counted("run_up", "minutes")]
    km: Annotated[float, _counted("run_up", "distance_km")] = 0.0
    reached_temperature: bool = False


class Stabiliser(Fact):
    """Stabiliser was put into what is in the tank."""

    kind: Literal["stabiliser"]


class DieselAdditive(Fact):
    """A winter additive was put into the diesel."""

    kind: Literal["diesel_additive"]


class FuelAdded(Fact):
    """Fuel went in. ``tank_after_litres``: what the tank then held. ``cold_class``, ``cfpp_c``: of diesel."""

    kind: Literal["fuel_added"]
    grade: Grade = "unknown"
    litres: Annotated[Litres, Field(gt=0)]
    tank_after_litres: Litres | None = None
    stabilised: bool = False
    bio_pct: Percent | None = None
    cold_class: Literal["summer", "winter", "unknown"] | None = None
    cfpp_c: Celsius | None = None


class FuelDrained(Fact):
    """Fuel came out: so many litres, or all of it."""

    kind: Literal["fuel_drained"]
    litres: Annotated[Litres, Field(gt=0)] | None = None


class FluidChanged(Fact):
    """A fluid was renewed."""

    kind: Literal["fluid_changed"]
    fluid: FluidCode
    type: FluidType | None = None
    glycol_pct: Percent | None = None


class FluidReading(Fact):
    """A fluid was tested."""

    kind: Literal["fluid_reading"]
    brake_water_pct: Annotated[float | None, _measured("brake_water"), Of("brake_water")] = None
    brake_boils_c: Annotated[float | None, _measured("brake_boiling_point"), Of("brake_boiling_point")] = None
    coolant_freezes_c: Annotated[
        float | None, _measured("coolant_freeze_point"), Of("coolant_freeze_point")
    ] = None
    coolant_ph: Annotated[float | None, _measured("coolant_ph"), Of("coolant_ph")] = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        _one_of_these(self, ("brake_water_pct", "brake_boils_c", "coolant_freezes_c", "coolant_ph"))
        return self


class FluidChecked(Fact):
    """Somebody looked at an oil: good is clear and at its level."""

    kind: Literal["fluid_checked"]
    fluid: FluidByLooks
    good: bool


class TyrePressures(Fact):
    """Gauge pressures as they were found, and as they were left."""

    kind: Literal["tyre_pressures"]
    found_kpa: OnePressureOrMore | None = None
    left_kpa: OnePressureOrMore | None = None
    temperature_c: Celsius | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        _one_of_these(self, ("found_kpa", "left_kpa"))
        return self


class Moved(Fact):
    """The car was moved: to a place, or out and back where none is named."""

    kind: Literal["moved"]
    place: Name | None = None
    on_stands: bool | None = None


class Inspected(Fact):
    """Somebody walked round the car."""

    kind: Literal["inspected"]
    found: list[Name] = Field(default_factory=list)


class TagOpened(Fact):
    """A warning tag was put on."""

    kind: Literal["tag_opened"]
    tag: TagCode


class TagClosed(Fact):
    """A warning tag was taken off."""

    kind: Literal["tag_closed"]
    tag: TagCode


class Note(Fact):
    """Words, of which nothing is computed."""

    kind: Literal["note"]
    text: Annotated[str, Field(max_length=2000)] = ""


AnyFact = Annotated[
    Stored
    | Left
    | Away
    | Back
    | BatteryFitted
    | DrainMeasured
    | TyresFitted
    | Charge
    | Maintainer
    | BatteryReading
    | RunUp
    | Stabiliser
    | DieselAdditive
    | FuelAdded
    | FuelDrained
    | FluidChanged
    | FluidReading
    | FluidChecked
    | TyrePressures
    | Moved
    | Inspected
    | TagOpened
    | TagClosed
    | Note,
    Field(discriminator="kind"),
]
