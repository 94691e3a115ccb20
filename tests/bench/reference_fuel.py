"""The duty ``fuel_change`` worked out plainly: one tank, one day at a time; see ``reference``.

Covers a tank filled once, with or without a later dose of stabiliser.
"""

import math
from functools import cache

from scheduler.duties.conditions import TANK_MATERIALS, VENTINGS, Fleet
from scheduler.duties.fuel.air import HORIZON_DAYS, REFERENCE_KPA, RELIEF_KPA, SPELL_SHARES, TANK_SWING
from scheduler.duties.fuel.events import AT_PUMP_DAYS
from scheduler.duties.fuel.limits import E85_FLOOR_KPA, WATER_FACTORS
from scheduler.duties.policy import Policy
from scheduler.physics.climate import Place
from scheduler.physics.fuel import oxidation as fuel_oxidation
from scheduler.physics.fuel import vapour, water
from scheduler.physics.fuel.fuels import FUELS
from scheduler.vocabulary.units import (
    DAYS_PER_MONTH,
    F_PER_K,
    GAS_CONSTANT_J_PER_MOL_K,
    KPA_PER_PSI,
    STANDARD_ATMOSPHERE_KPA,
)
from tests.bench.reference import KELVIN, NEVER, coldest, mean_of

CASES = range(3)  # low, likely, high decay
SEASON_DAYS, LEAST_SEASON_K = 31, 8.0


def ageing(temp_c: float) -> float:
    """Days at 20 °C in a day."""
    return fuel_oxidation.Q10.value ** ((temp_c - fuel_oxidation.REFERENCE_C) / 10)


def pressure(reid: float, temp_c: float) -> float:
    """True vapour pressure of petrol, kPa (AP-42)."""
    root, log = math.sqrt(vapour.DISTILLATION_SLOPE.value), math.log(reid / KPA_PER_PSI)
    a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log
    b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log
    return math.exp(a - b / ((temp_c + KELVIN) * F_PER_K)) * KPA_PER_PSI


def daily_loss(reid: float, cold: float, warm: float, relief: float) -> float:
    """Grams of vapour lost a day for each m³ of empty space."""
    mean = (cold + warm) / 2
    swing = pressure(reid, warm) - pressure(reid, cold)
    air = max(STANDARD_ATMOSPHERE_KPA - pressure(reid, mean), swing, 1e-9)
    share = min(max((warm - cold) / (mean + KELVIN) + (swing - 2 * relief) / air, 0.0), 1.0)
    density = pressure(reid, mean) * 1000 * vapour.MOLAR_MASS_G.value
    return share * density / (GAS_CONSTANT_J_PER_MOL_K * (mean + KELVIN))


def saturated_pa(temp_c: float) -> float:
    """Vapour pressure of water (WMO-No. 8)."""
    return 611.2 * math.exp(17.62 * temp_c / (243.12 + temp_c))


def grams(pascals: float, temp_c: float) -> float:
    """Grams of water in a m³ of air."""
    return pascals * water.WATER_MOLAR_G.value / (GAS_CONSTANT_J_PER_MOL_K * (temp_c + KELVIN))


def tolerance(share: float, temp_c: float) -> float:
    """Volume per cent of water that petrol holds."""
    temp_c = min(max(temp_c, water.COLDEST_FIT_C), water.WARMEST_FIT_C)
    e10 = water.TOLERANCE_E10_PCT.value
    e10 += water.TOLERANCE_PER_K.value * (temp_c - water.TOLERANCE_FIT_C.value)
    least = water.TOLERANCE_E0_PCT.value
    return least + (e10 - least) * (share / 0.10) ** water.TOLERANCE_POWER.value


@cache
def winter_days(place: Place) -> list[bool]:
    """Whether winter fuel is sold, for each day of a place: part of its climate, as temperatures are."""
    half, days = SEASON_DAYS // 2, len(place.mean_c)
    spans = [place.mean_c[max(i - half, 0) : i + half + 1] for i in range(days)]
    smooth = [float(s.mean()) for s in spans]
    seasons = max(smooth) - min(smooth) >= LEAST_SEASON_K
    mean = float(place.mean_c.mean())
    return [seasons and value < mean for value in smooth]


class Tank:
    """One tank with its fuel, walked from day to day in all three cases at once."""

    def __init__(self, fleet: Fleet, car: int, filled: int, litres: float) -> None:
        self.place = fleet.places[int(fleet.place[car])]
        self.fuel = FUELS[int(fleet.fuel[car])]
        self.diesel = self.fuel.family == "diesel"
        venting = VENTINGS[int(fleet.venting[car])]
        self.sealed, self.tank = venting == "sealed", float(fleet.tank_litres[car])
        self.life = getattr(self.fuel, f"life_{venting}").range[::-1]
        self.glass_fibre = int(fleet.tank_material[car]) == TANK_MATERIALS.index("grp")
        self.filled, self.since, self.litres = filled, filled, litres
        self.bio, self.treated = self.fuel.bio_share.value, 0.0
        self.used = [AT_PUMP_DAYS.range[case] / self.life_days(case) for case in CASES]
        self.winter = float(winter_days(self.place)[filled - self.place.first_day])
        self.kind = 0 if self.diesel else 2 if self.sealed else 1
        self.dissolves = self.bio > 0 and not self.diesel
        self.vent = self._vent(venting) if self.dissolves else 0.0
        self.swell = self.fuel.expansion_per_k.value * litres / 1000 if self.dissolves else 0.0
        self.ullage = max(self.tank - litres, 0.0) / 1000
        self.water = [self._fresh_water(case) for case in CASES]
        self.growth = self._growth()
        self.lost = [
            0.0 if self.diesel else math.exp(-vapour.PRESSURE_EXPONENT.value * r) for r in self._reid()
        ]
        self.separated = False
        self.cold = [math.inf] * 3

    def _vent(self, venting: str) -> float:
        if self.sealed:
            return 0.0
        bore, length = {"open": (0.006, 0.300), "capped": (0.001, 0.001)}[venting]
        path = length / (math.pi * bore**2 / 4) + 1 / bore
        return water.VAPOUR_DIFFUSIVITY_M2_S.value / path * water.SECONDS_PER_DAY

    def _reid(self) -> list[float]:
        if self.diesel:
            return [0.0] * 3
        summer, winter = self.fuel.summer_kpa.range[::-1], self.fuel.winter_kpa.range[::-1]
        return [s + self.winter * (w - s) for s, w in zip(summer, winter, strict=True)]

    def _growth(self) -> float:
        b, slope = vapour.PRESSURE_EXPONENT.value, vapour.WEATHERING_SUMMER_KPA.value
        slope += self.winter * (vapour.WEATHERING_WINTER_KPA.value - slope)
        ratio = max(self.tank - self.litres, 0.0) / self.litres
        return (
            b
            * slope
            * math.exp(-b * REFERENCE_KPA[self.kind])
            * 100
            * ratio
            / vapour.PETROL_DENSITY_G_M3.value
        )

    def _fresh_water(self, case: int) -> float:
        if self.diesel:
            return self.litres * self.fuel.density_kg_l * water.DIESEL_FRESH_MG_KG.range[case] / 1000
        return self.litres * self.bio * water.FUEL_ETHANOL_WATER.range[case] * water.WATER_DENSITY_G_L.value

    def life_days(self, case: int) -> float:
        """Life at 20 °C as the tank stands; low decay is the longest."""
        life, index = self.life[case], 2 - case
        if not self.sealed and self.litres / self.tank < fuel_oxidation.NEARLY_EMPTY_SHARE.value:
            life = min(life, fuel_oxidation.NEARLY_EMPTY_MONTHS.range[index])
        gains = fuel_oxidation.TREATED_CLOSED if self.sealed else fuel_oxidation.TREATED_VENTED
        longer = life * (1 + (gains.range[index] - 1) * self.treated)
        return min(longer, max(life, fuel_oxidation.CALENDAR_CAP_MONTHS.value)) * DAYS_PER_MONTH

    def chill(self, day: int, spell_k: float) -> None:
        """Meet a night."""
        for case in CASES:
            self.cold[case] = min(self.cold[case], coldest(self.place, day, SPELL_SHARES[case] * spell_k))

    def holds(self, case: int) -> float:
        """Grams of water held clear in the coldest met so far."""
        if self.diesel:
            return self.litres * self.fuel.density_kg_l * water.DIESEL_LIMIT_MG_KG.value / 1000
        if self.bio >= water.E85_LEAST_ETHANOL.value:
            return math.inf
        share = min(self.bio, water.MOST_ETHANOL)
        return self.litres * tolerance(share, self.cold[case]) * water.WATER_DENSITY_G_L.value / 100

    def live(self, day: int) -> None:
        """One day passes."""
        i = day - self.place.first_day
        mean, least, most = (float(x[i]) for x in (self.place.mean_c, self.place.min_c, self.place.max_c))
        aged = mean_of(ageing, self.place, day)
        damp_pa = float(self.place.rh_pct[i]) / 100 * saturated_pa(mean)
        for case in CASES:
            follows = TANK_SWING.range[case]
            cold, warm = mean + follows * (least - mean), mean + follows * (most - mean)
            self.used[case] += aged / self.life_days(case)
            relief = RELIEF_KPA.range[2 - case] if self.kind == 2 else 0.0
            if not self.diesel:
                self.lost[case] += self.growth * daily_loss(REFERENCE_KPA[self.kind], cold, warm, relief)
            self.water[case] += self._breath(cold, warm, mean, damp_pa, relief)

    def _breath(self, cold: float, warm: float, mean: float, damp_pa: float, relief: float) -> float:
        reid = REFERENCE_KPA[self.kind]
        at_cold, at_warm = ((pressure(reid, t) if reid else 0.0) for t in (cold, warm))
        drawn = (STANDARD_ATMOSPHERE_KPA - relief - at_cold) / (cold + KELVIN)
        drawn -= (STANDARD_ATMOSPHERE_KPA + relief - at_warm) / (warm + KELVIN)
        drawn = max(drawn, 0.0) * (cold + KELVIN) / STANDARD_ATMOSPHERE_KPA
        humid = grams(damp_pa, mean)
        if not self.dissolves:
            return self.ullage * drawn * max(humid - grams(saturated_pa(cold), cold), 0.0)
        swelled = max(warm - cold, 0.0) * humid
        return self.ullage * drawn * humid + self.swell * swelled + self.vent * humid


def fuel_dates(fleet: Fleet, car: int, today: int, policy: Policy) -> tuple[float, float, float]:
    """Early, due and late (inf: never) of one car's fuel, a day at a time."""
    events = fleet.fuel_events
    mine = [k for k in range(len(events.row)) if events.row[k] == car]
    tank = Tank(fleet, car, int(events.day[mine[0]]), float(events.litres[mine[0]]))
    for k in mine[1:]:
        dose(tank, int(events.day[k]), policy)
    first = first_limits(tank, today, policy)
    due = first[1]
    return min(first[2], due), due, max(first[0], due)


def dose(tank: Tank, on: int, policy: Policy) -> None:
    """Walk to the day of the dose and pour it."""
    for day in range(tank.since, on):
        tank.chill(day, policy.cold_spell_k)
        tank.live(day)
    tank.chill(on, policy.cold_spell_k)
    tank.separated |= not tank.diesel and tank.water[1] > tank.holds(1)
    tank.since, tank.cold = on, [math.inf] * 3
    if tank.used[1] < policy.stabiliser_serves_until_life:
        tank.treated = 1.0


def first_limits(tank: Tank, today: int, policy: Policy) -> list[float]:
    """The first day in each case on which anything spoils the fuel."""
    b, e85 = vapour.PRESSURE_EXPONENT.value, tank.bio >= water.E85_LEAST_ETHANOL.value
    floor = math.exp(-b * (E85_FLOOR_KPA if e85 else vapour.FLOOR_KPA).value)
    first = [min(at_once(tank, case, floor), by_calendar(tank, case)) for case in CASES]
    for day in range(tank.since, min(tank.place.end_day, today + HORIZON_DAYS)):
        tank.chill(day, policy.cold_spell_k)
        first = [min(f, tonight(tank, case, day)) for case, f in enumerate(first)]
        used, lost = list(tank.used), list(tank.lost)
        tank.live(day)
        for case in CASES:
            gum = crossing(day, used[case], tank.used[case], 1.0)
            light = NEVER if tank.diesel else crossing(day, lost[case], tank.lost[case], floor)
            first[case] = min(first[case], gum, light)
        if all(f <= day + 1 for f in first):
            break
    return first


def by_calendar(tank: Tank, case: int) -> float:
    """Two years after filling; at once where ethanol meets glass fibre, but for the optimist."""
    attacked = tank.glass_fibre and tank.bio > 0 and not tank.diesel
    if attacked and case > 0:
        return float(tank.filled)
    return tank.filled + fuel_oxidation.CALENDAR_CAP_MONTHS.value * DAYS_PER_MONTH


def at_once(tank: Tank, case: int, floor: float) -> float:
    """The day of the last event, where the fuel was spoilt by then."""
    thin = not tank.diesel and tank.lost[case] >= floor
    return float(tank.since) if tank.separated or tank.used[case] >= 1 or thin else NEVER


def tonight(tank: Tank, case: int, day: int) -> float:
    """This day, if its night drops water."""
    wet = tank.water[case] >= tank.holds(case) * WATER_FACTORS[case]
    return float(day) if wet else NEVER


def crossing(day: int, before: float, after: float, level: float) -> float:
    """When within the day a straight line reaches a level; never if it does not."""
    if before >= level or after < level:
        return NEVER
    return day + (level - before) / (after - before)
