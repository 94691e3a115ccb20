"""What the command says of a car: the shapes of its answer. Days are ISO dates, units stand in the names."""

from datetime import date
from typing import Annotated

from pydantic import BaseModel, ConfigDict

from scheduler.command.shapes import OneOf
from scheduler.duties.battery.charge.verdict import VERDICTS
from scheduler.vocabulary.duties import DUTIES

STATES = ACT_NOW, THIS_WEEK, THIS_MONTH, LATER, UNKNOWN = (
    "act_now",
    "this_week",
    "this_month",
    "later",
    "unknown",
)
DutyCode = Annotated[str, OneOf(row.code for row in DUTIES)]
State = Annotated[str, OneOf(STATES)]


class Answer(BaseModel):
    """A part of what is said."""

    model_config = ConfigDict(frozen=True)


class Range(Answer):
    """A value as low, likely and high."""

    low: float
    likely: float
    high: float


class BatterySaid(Answer):
    """The battery: percent of what it can hold, of its rating, of what it holds in a month.

    Standing low has cost ``sulphated_pct`` of what age has left for good, ``recoverable_pct`` more until a
    full charge.
    """

    verdict: Annotated[str, OneOf(VERDICTS)]
    charge_pct: Range | None
    capacity_pct: Range | None
    sulphated_pct: Range | None
    recoverable_pct: Range | None
    rested_volts: Range | None
    drain_ma: Range | None
    self_discharge_pct_month: Range | None


class FuelSaid(Answer):
    """The fuel: percent of its life used, and the limit that comes first, with its day."""

    verdict: Annotated[str, OneOf(("fine", "stabilise", "change", "none", "unknown"))]
    litres: float | None
    ageing_pct: Range | None
    limit: str | None
    limit_on: date | None


class RunningSaid(Answer):
    """The engine as a thing that is run."""

    verdict: Annotated[str, OneOf(("fine", "run_up", "on_hold", "unknown"))]
    last_warm_on: date | None


class FluidSaid(Answer):
    """One fluid."""

    verdict: Annotated[str, OneOf(("fine", "change", "none", "unknown"))]
    type: str
    changed_on: date | None


class FluidsSaid(Answer):
    """All fluids: the gravest verdict, and each."""

    verdict: Annotated[str, OneOf(("fine", "change", "unknown"))]
    each: dict[str, FluidSaid]


class TyresSaid(Answer):
    """The tyres: gauge pressure at 20 °C of the one that is down first, and their age."""

    verdict: Annotated[str, OneOf(("fine", "inflate", "move", "replace", "unknown"))]
    pressure_kpa: Range | None
    age_years: float | None


class BodySaid(Answer):
    """The car as a whole: when somebody last walked round it, and how damp its year was."""

    verdict: Annotated[str, OneOf(("fine", "inspect", "unknown"))]
    last_inspected_on: date | None
    damp_days_pct: float


class PapersSaid(Answer):
    """Registration, test and insurance: no fact of them is read yet."""

    verdict: Annotated[str, OneOf(("unknown",))]


class Systems(Answer):
    """How each system stands on the day."""

    battery: BatterySaid
    fuel: FuelSaid
    running: RunningSaid
    fluids: FluidsSaid
    tyres: TyresSaid
    body: BodySaid
    papers: PapersSaid


class DutySaid(Answer):
    """One duty. ``early``, ``by``, ``late``: a pessimist's day, the likely one, that of harm; null: never.

    ``on_hold``: why it must not be done now. ``cure``: kinds of facts that end it. ``assumed``: what was
    taken because no fact says it.
    """

    duty: DutyCode
    state: State
    early: date | None
    by: date | None
    late: date | None
    on_hold: str | None
    because: str
    cure: list[str]
    harm: str
    assumed: list[str]


class Ended(Answer):
    """What ended a wait: a kind of fact, ``on_hold``, or ``passed`` where the need went by itself."""

    on: date
    kind: str


class PastSaid(Answer):
    """How one duty was kept from ``since`` on: times asked for, and days."""

    duty: DutyCode
    since: date | None
    asked: int
    in_time: int
    late: int
    days_beyond: int
    days_on_hold: int
    days_unknown: int
    ended_by: list[Ended]


class CarSaid(Answer):
    """One car on one day. ``assumed``: what was taken of the whole car because no fact says it."""

    id: str
    on: date
    assumed: list[str]
    systems: Systems
    duties: list[DutySaid]
    past: list[PastSaid]
