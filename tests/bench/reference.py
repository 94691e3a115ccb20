"""The duties ``charge`` and ``fuel_change`` worked out plainly: one car, one day at a time.

The same equations and constants as the core, in the simplest Python that gives the same answers:
no arrays over cars, no totals kept from one car to the next, no halving. Slow on purpose; it is
what the core is measured against and checked with. Covers cars whose last charge completed (or of
which none is known), without readings and off the maintainer.
"""

import math
from dataclasses import dataclass

from scheduler.duties.battery.charge.decline import HORIZON_DAYS
from scheduler.duties.battery.charge.evidence import CHARGED_SOC, FULL_SD
from scheduler.duties.battery.charge.pack import MEASURED_DRAIN_SHARE, USUAL_AH, USUAL_VOLTS
from scheduler.duties.battery.charge.state import (
    ASSUMED_SD,
    ASSUMED_SOC,
    LEAST_PRIOR_SD,
    LEAST_RANGE_SD,
    NOTHING_KNOWN_SD,
    SHORT_SD,
)
from scheduler.duties.battery.charge.window import HOT_C
from scheduler.duties.conditions import Fleet
from scheduler.duties.learning import NINETY_PERCENT_SD
from scheduler.duties.policy import Policy
from scheduler.physics.battery.ageing import AGES, COLDEST_C, HALVING_K, LEAST_HEALTH, WORN_OUT
from scheduler.physics.battery.batteries import BATTERIES, QUARTERS
from scheduler.physics.battery.discharge import ACTIVATION_ENERGY, HOURS_PER_DAY, RATE_DAYS, REFERENCE_C
from scheduler.physics.battery.drains import DRAINS
from scheduler.physics.battery.freezing import FREEZES_C
from scheduler.physics.climate import Place
from scheduler.vocabulary.units import DAYS_PER_YEAR, GAS_CONSTANT_J_PER_MOL_K

KELVIN = 273.15
POINTS = 8  # of half a day's course, as in the core
ONE_PEAK = 0.25
NEVER = math.inf


def day_course(place: Place, day: int) -> list[float]:
    """Temperatures over one day at a place, °C."""
    i = day - place.first_day
    mean, least, most = float(place.mean_c[i]), float(place.min_c[i]), float(place.max_c[i])
    half = (most - least) / 2
    skew = min(max((most + least) / 2 - mean, -ONE_PEAK * half), ONE_PEAK * half)
    angles = [math.pi * (k + 0.5) / POINTS for k in range(POINTS)]
    return [mean + half * math.cos(a) + skew * math.cos(2 * a) for a in angles]


def mean_of(rate, place: Place, day: int) -> float:
    """A rate averaged over one day's course."""
    return sum(rate(t) for t in day_course(place, day)) / POINTS


WALLS_H = {"covered": 2.0, "enclosed": 8.0, "heated": 12.0, "humidity_controlled": 12.0}


def coldest(place: Place, day: int, spell_k: float) -> float:
    """The coldest that one day may bring, °C."""
    felt = 1.0 if place.shelter == "open" else 1.0 - math.exp(-24.0 / WALLS_H[place.shelter])
    cold = float(place.min_c[day - place.first_day]) - spell_k * felt
    return cold if math.isnan(place.floor_c) else max(cold, place.floor_c)


def faster(temp_c: float) -> float:
    """Self-discharge at a temperature, in days' worth of the 30-day rate."""
    inverse = 1 / (temp_c + KELVIN) - 1 / (REFERENCE_C.value + KELVIN)
    return math.exp(-ACTIVATION_ENERGY.value / GAS_CONSTANT_J_PER_MOL_K * inverse) / RATE_DAYS


def wear(temp_c: float) -> float:
    """Days of wear at 25 °C in a day."""
    return 2 ** ((max(temp_c, COLDEST_C.value) - REFERENCE_C.value) / HALVING_K.value)


def hot(temp_c: float) -> float:
    """Whether it is hot enough to shorten the interval."""
    return float(temp_c > HOT_C)


def between(x: float, xs, ys) -> float:
    """Straight lines through points with rising ``xs``, level beyond the ends."""
    if x <= xs[0]:
        return ys[0]
    for k in range(1, len(xs)):
        if x <= xs[k]:
            return ys[k - 1] + (ys[k] - ys[k - 1]) * (x - xs[k - 1]) / (xs[k] - xs[k - 1])
    return ys[-1]


def safe_soc(temp_c: float) -> float:
    """The least charge that stays liquid."""
    if temp_c >= FREEZES_C[0]:
        return 0.0
    if temp_c < FREEZES_C[-1]:
        return NEVER
    return between(temp_c, FREEZES_C[::-1], QUARTERS[::-1])


@dataclass
class Cell:
    """One battery: low, likely, high running down."""

    place: Place
    row: object
    start: int
    soc: tuple[float, float, float]
    self_30d: tuple[float, float, float]
    drain: list[float]


def known(value: float, other: float) -> float:
    """The first that is not missing."""
    return other if math.isnan(value) else value


def later(*days: float) -> float:
    """The latest of the days that are known, NaN for none."""
    return max((d for d in days if not math.isnan(d)), default=math.nan)


def cell_of(fleet: Fleet, car: int, today: int, policy: Policy) -> Cell:
    """One car's battery as numbers."""
    place = fleet.places[int(fleet.place[car])]
    row = BATTERIES[int(fleet.chemistry[car])]
    mine = [k for k in range(len(fleet.charges.row)) if fleet.charges.row[k] == car]
    charges = [float(fleet.charges.until[k]) for k in mine if fleet.charges.until[k] <= today]
    entered = later(fleet.battery_installed[car], fleet.stored_since[car], fleet.last_road_use[car])
    entered = min(entered, today) if not math.isnan(entered) else entered
    last = max(charges, default=math.nan)
    if charges:
        start, soc, sd = last, CHARGED_SOC, math.hypot(FULL_SD, SHORT_SD)
    elif not math.isnan(entered):
        start, soc, sd = entered, ASSUMED_SOC, ASSUMED_SD
    else:
        start, soc, sd = float(today), policy.recharge_soc, NOTHING_KNOWN_SD
    half = NINETY_PERCENT_SD * sd
    cases = tuple(min(max(x, 0.0), 1.0) for x in (soc + half, soc, soc - half))
    on = known(later(last, entered), today)
    amp_hours = capacity(fleet, car, row, place, on)
    drains = drain(fleet, car)
    per_day = [HOURS_PER_DAY * a / c for a, c in zip(drains, amp_hours, strict=True)]
    faster_by = between(age_years(fleet, car, row, on), AGES, row.leaks_faster)
    lost = [x * faster_by for x in row.self_discharge.range]
    wider = widening(place, today, lost, per_day)
    spread = [[b * (x / b) ** wider if b else 0.0 for x in (a, b, c)] for a, b, c in (lost, per_day)]
    return Cell(place, row, int(start), cases, spread[0], spread[1])


def widening(place: Place, today: int, lost, per_day) -> float:
    """How much further than its table a battery's rate may be off, in logarithm."""
    year = range(today, min(today + 365, place.end_day))
    factor = sum(mean_of(faster, place, day) for day in year) / len(year)
    slow, likely, fast = (a * factor + b for a, b in zip(lost, per_day, strict=True))
    table = (fast - slow) / (2 * NINETY_PERCENT_SD * likely)
    return max(table, LEAST_PRIOR_SD) / max(table, LEAST_RANGE_SD)


def age_years(fleet: Fleet, car: int, row, on: float) -> float:
    """Its age, half its life where unknown."""
    made = known(float(fleet.battery_made[car]), float(fleet.battery_installed[car]))
    return row.life.value / 2 if math.isnan(made) else max(on - made, 0.0) / DAYS_PER_YEAR


def capacity(fleet: Fleet, car: int, row, place: Place, on: float) -> list[float]:
    """Ampere-hours left, greatest first."""
    volts = known(known(float(fleet.battery_volts[car]), float(fleet.system_volts[car])), USUAL_VOLTS.value)
    rated = float(fleet.capacity_ah[car])
    usual = USUAL_AH[min(USUAL_AH, key=lambda size: abs(size - volts))].range[::-1]
    labels = usual if math.isnan(rated) else (rated,) * 3
    lives, years = row.life.range[::-1], age_years(fleet, car, row, on)
    days = range(place.end_day - 365, place.end_day)
    warmth = sum(mean_of(wear, place, day) for day in days) / len(days)
    left = [max(1 - (1 - WORN_OUT.value) * years * warmth / life, LEAST_HEALTH.value) for life in lives]
    return [a * b for a, b in zip(labels, left, strict=True)]


def drain(fleet: Fleet, car: int) -> tuple[float, ...]:
    """Key-off amperes, low to high."""
    if fleet.isolated[car]:
        return (0.0, 0.0, 0.0)
    measured = float(fleet.drain_a[car])
    if not math.isnan(measured):
        off = MEASURED_DRAIN_SHARE.value
        return (measured * (1 - off), measured, measured * (1 + off))
    year, found = float(fleet.model_year[car]), DRAINS[-1]
    for era in DRAINS[:-1]:
        if year >= era.first_year:
            found = era
    return found.current.range


def crossed(day: int, before: float, after: float, amount: float) -> float:
    """When within a day a total that runs straight reaches an amount."""
    return day + (amount - before) / (after - before)


def charge_dates(fleet: Fleet, car: int, today: int, policy: Policy) -> tuple[float, float, float]:
    """Early, due and late (inf: never) of one car, a day at a time."""
    cell = cell_of(fleet, car, today, policy)
    end = min(cell.place.end_day, today + HORIZON_DAYS) - 1
    high, likely, low = (s - policy.recharge_soc for s in cell.soc)
    down = [high, low, likely, likely, likely, cell.soc[1] - policy.sulphation_soc]
    by = [1, 1, 0, 1, 2, 1]  # the case of its rate
    found = [float(cell.start) if amount <= 0 else NEVER for amount in down]
    gone = [0.0, 0.0, 0.0]
    frost = frost_watch(cell, today, policy, end)
    for day in range(cell.start, end):
        if frost.day == NEVER:
            frost.look(day, cell.soc[1] - gone[1])
        k = mean_of(faster, cell.place, day)
        after = [g + cell.self_30d[i] * k + cell.drain[i] for i, g in enumerate(gone)]
        for j, amount in enumerate(down):
            i = by[j]
            if found[j] == NEVER and after[i] >= amount:
                found[j] = crossed(day, gone[i], after[i], amount)
        gone = after
        if max(found) < NEVER and gone[1] >= 1:
            break
    if frost.day == NEVER:
        for night in range(day + 1, end):
            frost.look(night, cell.soc[1] - gone[1])
    calendar = [interval(cell, times, end) for times in (1.0, policy.charge_late_factor)]
    _, emptier, _, middle, fast, sulphation = found
    sooner = middle - math.hypot(middle - emptier, middle - fast) if middle < NEVER else min(emptier, fast)
    early = max(sooner, cell.start)
    due = min(middle, frost.day, calendar[0])
    late = min(sulphation, frost.day, calendar[1])
    return min(early, due), due, max(late, due)


def interval(cell: Cell, times: float, end: int) -> float:
    """The day when so many refreshing intervals have passed, hot hours counting for more."""
    usual, short = cell.row.interval.value, cell.row.hot_interval.value
    extra, passed = usual / short - 1, 0.0
    if extra <= 0:
        return cell.start + times * usual
    for day in range(cell.start, end):
        step = 1 + extra * mean_of(hot, cell.place, day)
        if passed + step >= times * usual:
            return day + (times * usual - passed) / step
        passed += step
    return NEVER


class frost_watch:  # noqa: N801 - a small walker, not a thing of the trade
    """Walks the nights of one place: what charge each cold year needs, held from its coldest night on."""

    def __init__(self, cell: Cell, today: int, policy: Policy, end: int) -> None:
        self.lead, self.policy, self.place, self.day = cell.row.lead, policy, cell.place, NEVER
        self.begun, self.end, self.need = cell.start, end, 0.0
        first = min(cell.start, today - int(policy.maintainer_check_days))
        year = range(first, first + 365)
        self.midsummer = max(year, key=lambda d: (float(cell.place.mean_c[d - cell.place.first_day]), -d))
        self.year, self.frozen = None, False

    def tonight(self, day: int) -> float:
        return safe_soc(coldest(self.place, day, self.policy.cold_spell_k) - self.policy.freeze_margin_k)

    def look(self, day: int, left: float) -> None:
        if not self.lead:
            return
        year = (day - self.midsummer) // 365
        if year != self.year:
            self.year, self.need = year, 0.0
            first = self.midsummer + 365 * year
            nights = range(first, min(first + 365, self.end))
            depth = max(nights, key=lambda d: (self.tonight(d), -d))
            self.past_depth = self.begun > depth and self.begun >= first
            if self.past_depth:
                self.need = self.tonight(self.begun)
        if not self.past_depth:
            self.need = max(self.need, self.tonight(day))
        if self.need > 0 and min(max(left, 0.0), 1.0) <= self.need:
            self.day = float(day)
