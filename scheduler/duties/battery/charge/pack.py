"""What each battery is: chemistry, volts, capacity as it has aged, leak and drain, each low to high."""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.physics.battery.ageing import health, leaks_faster, wear_rate
from scheduler.physics.battery.batteries import BATTERIES
from scheduler.physics.battery.drains import DRAINS
from scheduler.physics.climate import Place, totals
from scheduler.physics.materials import at
from scheduler.vocabulary.constants import Constant, Standing
from scheduler.vocabulary.units import DAYS_PER_YEAR

USUAL_VOLTS = Constant(12.0, "V", "the usual system where none is recorded", Standing.COMMON_PRACTICE)
# Ampere-hours of a usual starter battery by its volts, where none is recorded.
USUAL_AH = {
    6.0: Constant(84.0, "Ah", "a usual 6 V starter battery", Standing.COMMON_PRACTICE, 60.0, 110.0),
    12.0: Constant(60.0, "Ah", "a usual 12 V starter battery", Standing.COMMON_PRACTICE, 44.0, 80.0),
    24.0: Constant(60.0, "Ah", "two usual 12 V batteries in series", Standing.COMMON_PRACTICE, 44.0, 110.0),
}
MEASURED_DRAIN_SHARE = Constant(
    0.25, "1", "a clamp or bench meter, once; circuits that wake now and then", Standing.POLICY
)
_A_YEAR = round(DAYS_PER_YEAR)


@dataclass(frozen=True)
class Pack:
    """Batteries of a fleet, (n,); cases along the leading axis, (3, n): slow, likely, fast running down.

    ``self_30d``: share of capacity lost in 30 days at 25 °C, more with age; ``drain_a``: key-off current;
    ``capacity_ah``: rated capacity times ``health``, what age has left, and ``unhardened``, what standing low
    has; ``assumed``: by name, where the record is silent.
    """

    chemistry: Ints
    nominal_v: Floats
    lead: Bools
    capacity_ah: Floats
    health: Floats
    unhardened: Floats
    self_30d: Floats
    drain_a: Floats
    assumed: dict[str, Bools]

    def hardened(self, missing: Floats) -> "Pack":
        """The same with a share of its capacity ``missing`` (3, n), least first, by sulphate."""
        left = 1.0 - missing
        return replace(self, capacity_ah=self.capacity_ah / self.unhardened * left, unhardened=left)


def describe(fleet: Fleet, on: Floats) -> Pack:
    """The batteries of a fleet as they are ``on`` those days (n,)."""
    chemistry = np.where(fleet.chemistry < 0, len(BATTERIES) - 1, fleet.chemistry)
    nominal_v = nominal_volts(fleet)
    years, no_age = _years(fleet, chemistry, on)
    worn = _health(fleet, chemistry, years)
    faster = leaks_faster(years, np.array([row.leaks_faster for row in BATTERIES])[chemistry])
    no_volts = np.isnan(fleet.battery_volts) & (np.isnan(fleet.system_volts) | fleet.system_volts_assumed)
    rated, no_rating = _rated_ah(fleet, nominal_v, no_volts)
    drain, no_drain = _drain(fleet)
    return Pack(
        chemistry,
        nominal_v,
        at(BATTERIES, chemistry, "lead").astype(bool),
        rated * worn,
        worn,
        np.ones_like(worn),
        at(BATTERIES, chemistry, "self_discharge") * faster,
        drain,
        {
            "kind": at_unknown(fleet.chemistry),
            "age": no_age,
            "capacity": no_rating,
            "drain": no_drain,
            "volts": no_volts,
        },
    )


def at_unknown(chemistry: Ints) -> Bools:
    """Where the kind of battery is not known (n,)."""
    return np.asarray((chemistry < 0) | (chemistry == len(BATTERIES) - 1))


def nominal_volts(fleet: Fleet) -> Floats:
    """The battery's nominal volts (n,): its own, else the car's, else the usual."""
    recorded = np.where(np.isnan(fleet.battery_volts), fleet.system_volts, fleet.battery_volts)
    return np.where(np.isnan(recorded), USUAL_VOLTS.value, recorded)


def _rated_ah(fleet: Fleet, nominal_v: Floats, no_volts: Bools) -> tuple[Floats, Bools]:
    """Rated ampere-hours (3, n), greatest first as it runs down slowest, and where assumed.

    Where nobody knows the volts it may be any usual size; the likely one is that of the likely volts.
    """
    sizes = np.array(list(USUAL_AH))
    usual = np.array([size.range[::-1] for size in USUAL_AH.values()]).T
    nearest = np.abs(nominal_v[:, None] - sizes).argmin(axis=1)
    sizes_of = usual[:, nearest]
    sizes_of[0] = np.where(no_volts, usual[0].max(), sizes_of[0])
    sizes_of[2] = np.where(no_volts, usual[2].min(), sizes_of[2])
    silent = np.isnan(fleet.capacity_ah)
    return np.where(silent, sizes_of, fleet.capacity_ah), silent


def _years(fleet: Fleet, chemistry: Ints, on: Floats) -> tuple[Floats, Bools]:
    """Age in years (n,), and where it is assumed: of unknown age, halfway through its life."""
    made = np.where(np.isnan(fleet.battery_made), fleet.battery_installed, fleet.battery_made)
    silent = np.isnan(made)
    years = np.maximum(on - made, 0.0) / DAYS_PER_YEAR
    return np.where(silent, at(BATTERIES, chemistry, "life")[1] / 2.0, years), silent


def _health(fleet: Fleet, chemistry: Ints, years: Floats) -> Floats:
    """Share of rated capacity left (3, n), greatest first."""
    wear = np.array([_yearly_wear(place) for place in fleet.places])[fleet.place]
    return health(years * wear, at(BATTERIES, chemistry, "life")[::-1])


def _yearly_wear(place: Place) -> float:
    """Mean wear at a place, in days at 25 °C for each day, over the last whole year it covers."""
    begins = max(place.first_day, place.end_day - _A_YEAR)
    year = totals([place], wear_rate, begins, place.end_day)
    return float(year[0, -1] / (place.end_day - begins))


def _drain(fleet: Fleet) -> tuple[Floats, Bools]:
    """Key-off amperes (3, n): measured, else by the car's age; none where an isolator is open."""
    years = np.array([row.first_year for row in DRAINS[:-1]])
    era = np.searchsorted(years, np.nan_to_num(fleet.model_year, nan=-1.0), side="right") - 1
    by_age = at(DRAINS, era, "current")
    spread = np.array([1.0 - MEASURED_DRAIN_SHARE.value, 1.0, 1.0 + MEASURED_DRAIN_SHARE.value])
    silent = np.isnan(fleet.drain_a)
    drain = np.where(silent, by_age, np.multiply.outer(spread, fleet.drain_a))
    return np.where(fleet.isolated, 0.0, drain), silent & ~fleet.isolated
