"""How each system of each car stands on the day."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.command import answers as a
from scheduler.command.days import as_date, spread_of, whole
from scheduler.command.record import Record
from scheduler.duties.battery.charge.now import BatteryNow, battery_now
from scheduler.duties.battery.charge.signs import signs_of
from scheduler.duties.battery.charge.verdict import VERDICTS, verdicts
from scheduler.duties.battery.charge.volts import rested_volts
from scheduler.duties.conditions import FLUIDS, UNKNOWN, Fleet
from scheduler.duties.dampness import damp_shares
from scheduler.duties.fluids import kinds
from scheduler.duties.fuel.outlook import FuelOutlook, fuel_outlook
from scheduler.duties.fuel.state import advance
from scheduler.duties.not_fitted import lacks
from scheduler.duties.policy import Policy
from scheduler.duties.tyres import tyre_pressure
from scheduler.duties.windows import NOT_HELD, DutyWindow, Floats, Ints
from scheduler.physics.fluids.fluids import FLUID_KINDS
from scheduler.physics.tyres.age import AGE_BANDS, age_band, age_years
from scheduler.vocabulary.duties import DUTIES

Windows = Mapping[str, DutyWindow]
MA_PER_A = 1000.0


@dataclass(frozen=True)
class Looked:
    """A fleet with all that was worked out of it on one day."""

    records: Sequence[Record]
    fleet: Fleet
    windows: Windows
    on: date
    policy: Policy

    @property
    def today(self) -> float:
        """The day as the core counts it."""
        return float(self.on.toordinal())

    def is_due(self, duty: str, row: int) -> bool:
        """Whether a duty's likely day has come; on hold or not."""
        return bool(whole(self.windows[duty].due[row]) <= self.today)


def systems_of(looked: Looked) -> Iterator[a.Systems]:
    """The systems of every car, in order."""
    fleet, today, policy = looked.fleet, looked.today, looked.policy
    battery = battery_now(fleet, today, policy)
    volts = rested_volts(fleet, battery, today)
    verdict = verdicts(signs_of(fleet, battery, today, policy))
    outlook = fuel_outlook(fleet, today, policy)
    used = advance(outlook.now.state, outlook.now.tanks, outlook.now.air, np.full(len(fleet), today)).used
    damp = damp_shares(fleet, today, policy)
    for row in range(len(fleet)):
        yield a.Systems(
            battery=_battery(battery, volts, verdict, row),
            fuel=_fuel(looked, outlook, used, row),
            running=_running(looked, row),
            fluids=_fluids(looked, row),
            tyres=_tyres(looked, row),
            body=_body(looked, damp, row),
            papers=a.PapersSaid(verdict="unknown"),
        )


def _battery(now: BatteryNow, volts: Floats, verdict: Ints, row: int) -> a.BatterySaid:
    return a.BatterySaid(
        verdict=VERDICTS[int(verdict[row])],
        charge_pct=spread_of(now.soc[:, row], 100),
        capacity_pct=spread_of(now.health[:, row], 100),
        sulphated_pct=spread_of(now.lasting[:, row], 100),
        recoverable_pct=spread_of(now.comes_back[:, row], 100),
        rested_volts=spread_of(volts[:, row], digits=2),
        drain_ma=spread_of(now.drain_a[:, row], MA_PER_A),
        self_discharge_pct_month=spread_of(now.self_month[:, row], 100, 2),
    )


def _fuel(looked: Looked, outlook: FuelOutlook, used: Floats, row: int) -> a.FuelSaid:
    change, state = looked.windows["fuel_change"], outlook.now.state
    litres = float(state.litres[row])
    if not litres > 0.0:
        return a.FuelSaid(verdict="none", litres=0.0, ageing_pct=None, limit=None, limit_on=None)
    verdict = "fine"
    if looked.is_due("stabiliser", row) and looked.windows["stabiliser"].hold[row] == NOT_HELD:
        verdict = "stabilise"
    if looked.is_due("fuel_change", row):
        verdict = "change"
    if looked.records[row].is_silent:
        verdict = "unknown"
    when = as_date(change.due[row])
    return a.FuelSaid(
        verdict=verdict,
        litres=round(litres, 1),
        ageing_pct=spread_of(used[:, row], 100),
        limit=change.limits[change.limit[row]] if when else None,
        limit_on=when,
    )


def _running(looked: Looked, row: int) -> a.RunningSaid:
    held = looked.windows["run_up"].hold[row] != NOT_HELD
    verdict = "on_hold" if held else "run_up" if looked.is_due("run_up", row) else "fine"
    warm = as_date(looked.fleet.last_full_warm[row])
    return a.RunningSaid(verdict="unknown" if looked.records[row].is_silent else verdict, last_warm_on=warm)


def _fluids(looked: Looked, row: int) -> a.FluidsSaid:
    each = {duty.fluid: _fluid(looked, duty.code, duty.fluid, row) for duty in DUTIES if duty.fluid}
    verdicts = {fluid.verdict for fluid in each.values()}
    verdict = "change" if "change" in verdicts else "unknown" if "unknown" in verdicts else "fine"
    return a.FluidsSaid(verdict=verdict, each=each)


def _fluid(looked: Looked, duty: str, fluid: str, row: int) -> a.FluidSaid:
    one = looked.fleet.take([row])
    changed = as_date(looked.fleet.fluid_changed[row, FLUIDS.index(fluid)])
    verdict = "change" if looked.is_due(duty, row) else "fine"
    if changed is None:
        verdict = "unknown"
    if lacks(one, fluid)[0]:
        verdict = "none"
    code = looked.fleet.fluid_type[row, FLUIDS.index(fluid)]
    kind = FLUID_KINDS[int(kinds(one, fluid)[0] if code == UNKNOWN else code)]
    return a.FluidSaid(verdict=verdict, type=kind.name, changed_on=changed)


def _tyres(looked: Looked, row: int) -> a.TyresSaid:
    fleet, today = looked.fleet, looked.today
    band = tyre_pressure.band(fleet.take([row]), np.array([today]), looked.policy)
    years = float(age_years(fleet.tyre_made[row], today))
    verdict = "fine"
    if looked.is_due("tyre_move", row):
        verdict = "move"
    if looked.is_due("tyre_pressure", row):
        verdict = "inflate"
    if int(age_band(years)) == len(AGE_BANDS) - 1:
        verdict = "replace"
    unread = looked.windows["tyre_pressure"].assumed[row] and np.isnan(years)
    return a.TyresSaid(
        verdict="unknown" if unread else verdict,
        pressure_kpa=spread_of(np.array([band.low[0], band.likely[0], band.high[0]])),
        age_years=None if np.isnan(years) else round(years, 1),
    )


def _body(looked: Looked, damp: Floats, row: int) -> a.BodySaid:
    seen = as_date(looked.fleet.last_inspected[row])
    verdict = "unknown" if seen is None else "inspect" if looked.is_due("inspection", row) else "fine"
    return a.BodySaid(
        verdict=verdict, last_inspected_on=seen, damp_days_pct=round(float(damp[row]) * 100.0, 1)
    )
