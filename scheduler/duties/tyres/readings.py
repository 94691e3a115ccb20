"""The usable pressures of the whole fleet, each brought to 20 °C: as found, and as set.

So a cold morning is not taken for a leak. "Topped up" without a figure means the placard.
"""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.conditions import READING_KINDS, UNKNOWN, Bools, Fleet, Floats, Ints
from scheduler.duties.windows import Day, each_row
from scheduler.physics.temperatures import kelvin
from scheduler.physics.tyres.pressure import gauge_at_kpa
from scheduler.physics.tyres.tyres import AIR_SD_K, GAUGE_NOISE_SHARE, LEAK_REFERENCE_C, SET_SHARE
from scheduler.vocabulary.units import STANDARD_ATMOSPHERE_KPA

LEAST_KPA, MOST_KPA = 20.0, 1000.0  # gauge; outside it a car tyre's reading is a typing error
_READ, _SET = (READING_KINDS.index(quantity) for quantity in ("tyre_pressure", "tyre_pressure_set"))


@dataclass(frozen=True)
class Pressures:
    """Usable readings in order of tyre and day, shape (m,), and what was refused or assumed."""

    places: int  # how many places on a car
    tyre: Ints  # car x places + place on the car
    row: Ints
    day: Floats
    kpa: Floats  # gauge, at 20 °C
    noise: Floats  # standard deviation, a share of kpa
    was_set: Bools  # what the tyre was pumped or let down to, not what it was found at
    temperature_assumed: int
    refused: int

    def keep(self, which: Bools) -> "Pressures":
        """Only some of the readings, by a mask (m,)."""
        columns = ("tyre", "row", "day", "kpa", "noise", "was_set")
        return replace(self, **{name: getattr(self, name)[which] for name in columns})


def pressures(fleet: Fleet, today: Day) -> Pressures:
    """The usable tyre readings up to today; of one day, what was found comes before what was set."""
    table, places = fleet.readings, 1 + int(fleet.readings.position.max(initial=UNKNOWN)) - UNKNOWN
    timely = np.isin(table.kind, (_READ, _SET)) & (table.day <= each_row(today, len(fleet))[table.row])
    no_value = (table.kind == _SET) & np.isnan(table.value)
    value = np.where(no_value, fleet.placard_kpa[table.row], table.value)
    picked = np.flatnonzero(timely & (value >= LEAST_KPA) & (value <= MOST_KPA))
    tyre = table.row[picked] * places + table.position[picked] - UNKNOWN
    order = np.lexsort((table.kind[picked] == _SET, table.day[picked], tyre))
    picked, tyre = picked[order], tyre[order]
    row, day, at_c = table.row[picked], table.day[picked], table.temperature_c[picked]
    cold = np.isnan(at_c) & ~no_value[picked]
    air_c = np.where(np.isnan(at_c), _air_c(fleet, row, day), at_c)
    reference_c = LEAK_REFERENCE_C.value
    # "to the placard" is meant at any temperature; a reading of a cold tyre at its own
    kpa = gauge_at_kpa(value[picked], np.where(no_value[picked], reference_c, air_c), reference_c)
    by_air = AIR_SD_K.value / kelvin(air_c) * (kpa + STANDARD_ATMOSPHERE_KPA) / kpa
    noise = np.hypot(GAUGE_NOISE_SHARE.value, np.where(cold, by_air, 0.0))
    noise = np.where(no_value[picked], SET_SHARE.value, noise)
    refused = int((timely & ~np.isnan(value)).sum()) - len(picked)
    was_set = table.kind[picked] == _SET
    return Pressures(places, tyre, row, day, kpa, noise, was_set, int(cold.sum()), refused)


def _air_c(fleet: Fleet, row: Ints, day: Floats) -> Floats:
    """The place's mean air on the day of each reading, for those without a temperature."""
    air_c, where = np.empty(row.size), fleet.place[row]
    for position in np.unique(where):
        place, here = fleet.places[position], where == position
        index = np.clip(np.floor(day[here]) - place.first_day, 0, place.days - 1).astype(np.int64)
        air_c[here] = place.mean_c[index]
    return air_c
