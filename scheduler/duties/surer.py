"""How much surer dates would be, had one measured or looked up one thing today.

Each is supposed done, with a usual result, and all windows are worked out again: what it is worth is by how
many days they become narrower. Days that are past already count twice, since harm may be going on unseen. A
window of which nothing on record bears a date counts as ``OUTLOOK_DAYS`` wide, as does a wider one.
"""

from dataclasses import replace

import numpy as np

from scheduler.duties.battery.charge.pack import nominal_volts
from scheduler.duties.conditions import FUEL_EVENTS, READING_KINDS, Fleet, Floats, FuelEvents, Readings
from scheduler.duties.known import unknown
from scheduler.duties.policy import Policy
from scheduler.duties.table import forecast
from scheduler.physics.battery.charge_state import NOMINAL_V
from scheduler.vocabulary.first_measures import MEASURES, Measure
from scheduler.vocabulary.quantities import QUANTITY
from scheduler.vocabulary.units import DAYS_PER_YEAR

OUTLOOK_DAYS = 3 * DAYS_PER_YEAR  # policy: beyond that no date says anything
RESTED_HOURS, MILD_C = 12.0, 15.0  # policy: as a careful person measures


def days_narrower(fleet: Fleet, today: float, policy: Policy) -> dict[str, Floats]:
    """By measure (its code): days (n,) by which all windows of each car together would become narrower.

    ``today`` is an ordinal. Never negative: what widens a window is worth nothing there.
    """
    before = _widths(fleet, today, policy)
    after = {m.code: _widths(_supposed(fleet, m, today), today, policy) for m in MEASURES}
    return {code: np.maximum(before - widths, 0.0).sum(axis=0) for code, widths in after.items()}


def _widths(fleet: Fleet, today: float, policy: Policy) -> Floats:
    """Days that the window of each duty of each car counts (duties, n); 0 where it never falls due."""
    windows = forecast(fleet, today, policy)
    nothing_known = unknown(fleet, windows)
    widths = []
    for code, window in windows.items():
        days = window.late - window.early + np.maximum(today - window.early, 0.0)
        open_ended = nothing_known[code] | np.isnan(days)
        days = np.where(open_ended, OUTLOOK_DAYS, np.clip(days, 0.0, OUTLOOK_DAYS))
        widths.append(np.where(np.isnan(window.due), 0.0, days))
    return np.array(widths)


def _supposed(fleet: Fleet, measure: Measure, today: float) -> Fleet:
    """The fleet as it would be known."""
    if measure.quantity:
        return replace(fleet, readings=_with_readings(fleet, measure, today))
    day = today - measure.usual * DAYS_PER_YEAR
    if measure.part == "fuel":
        return replace(fleet, fuel_events=_with_filling(fleet, day))
    return replace(fleet, fluid_changed=np.where(np.isnan(fleet.fluid_changed), day, fleet.fluid_changed))


def _with_readings(fleet: Fleet, measure: Measure, today: float) -> Readings:
    places = len(QUANTITY[measure.quantity].everywhere) or 1
    row = np.repeat(np.arange(len(fleet)), places)
    usual = np.full(len(fleet), measure.usual)
    if measure.quantity == "rested_volts":
        usual = usual * nominal_volts(fleet) / NOMINAL_V
    added = Readings(
        row=row,
        day=np.full(row.size, today),
        kind=np.full(row.size, READING_KINDS.index(measure.quantity)),
        value=usual[row],
        temperature_c=np.full(row.size, MILD_C),
        rest_hours=np.full(row.size, RESTED_HOURS),
        position=np.tile(np.arange(places) if places > 1 else [-1], len(fleet)),
    )
    known = vars(fleet.readings)
    return Readings(**{name: np.concatenate([known[name], vars(added)[name]]) for name in known})


def _with_filling(fleet: Fleet, day: float) -> FuelEvents:
    """A filling of unknown size for each tank of which nothing is on record."""
    row = np.setdiff1d(np.arange(len(fleet)), fleet.fuel_events.row)
    blank = np.full(row.size, np.nan)
    kind = np.full(row.size, FUEL_EVENTS.index("filled"))
    days = np.full(row.size, day)
    added = FuelEvents(row=row, day=days, kind=kind, litres=blank, bio_share=blank, cfpp_c=blank)
    known = vars(fleet.fuel_events)
    return FuelEvents(**{name: np.concatenate([known[name], vars(added)[name]]) for name in known})
