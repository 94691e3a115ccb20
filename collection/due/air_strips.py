"""A year of a building's air as two strips: humidity against damp, temperature against frost."""

from dataclasses import dataclass

from collection.drawing.days import date_of, format_day
from collection.drawing.strips import Days, Shade, Strip, band, line, scaled, shade
from collection.due.core.air_of_buildings import FROST_C, YearOfAir
from collection.models import Building
from collection.web.units import Edge

DRIEST, WETTEST = 20.0, 100.0  # per cent, of what is drawn
HEADROOM_K = 3.0


@dataclass(frozen=True)
class BuildingAir:
    """One building with its strips and the sentence above them."""

    building: Building
    sentence: str
    strips: list[Strip]


def building_air(building: Building, air: YearOfAir, days: Days, reader: Edge) -> BuildingAir:
    """The words and the drawing of a building's year."""
    shades = [shade(days, first, last, "measured", "measured") for first, last in air.stretches]
    known = [one for one in shades if one]
    strips = [_humidity(air, days, known), _temperature(air, days, known, reader)]
    return BuildingAir(building, _source(building, air), strips)


def _source(building: Building, air: YearOfAir) -> str:
    """Where the figures come from."""
    if not air.measured_days:
        return "Reckoned from the climate and the building: no logger wrote in this year."
    times = f"{air.measured_days} of {len(air.days)} days"
    if getattr(building, "measured", None):
        return f"Measured here on {times}."
    return f"Measured outdoors on {times}, and reckoned through the walls."


def _humidity(air: YearOfAir, days: Days, shades: list[Shade]) -> Strip:
    wettest = max(range(len(air.rh_pct)), key=air.rh_pct.__getitem__)
    damp = f"No week is damp, above {air.damp_pct:.0f} %"
    if air.damp_weeks:
        damp = f"Damp, above {air.damp_pct:.0f} %, in {air.damp_weeks} of {len(air.rh_pct) // 7} weeks"
    return Strip(
        key="air",
        title="Humidity",
        sentence=f"{damp}; from"
        f" {min(air.rh_pct):.0f} to {air.rh_pct[wettest]:.0f} %, wettest on"
        f" {format_day(date_of(air.days[wettest]))}.",
        today=None,
        months=days.months,
        shades=shades,
        line=line(days, air.days, air.rh_pct, DRIEST, WETTEST),
        levels=[scaled(air.damp_pct, DRIEST, WETTEST)],
    )


def _temperature(air: YearOfAir, days: Days, shades: list[Shade], reader: Edge) -> Strip:
    unit, coldest = reader.unit("°C"), min(range(len(air.low_c)), key=air.low_c.__getitem__)
    low, high = min(min(air.low_c), FROST_C) - HEADROOM_K, max(air.high_c) + HEADROOM_K
    frost = air.frost_days
    counted = f"Frost on {frost} day{'' if frost == 1 else 's'}" if frost else "No frost"
    return Strip(
        key="frost",
        title="Temperature",
        sentence=f"{counted}; from {unit.format(air.low_c[coldest], '.0f')} on"
        f" {format_day(date_of(air.days[coldest]))} to {unit.format(max(air.high_c), '.0f')}.",
        today=None,
        months=days.months,
        shades=shades,
        line=line(days, air.days, air.mean_c, low, high),
        band=band(days, air.days, air.low_c, air.high_c, low, high),
        levels=[scaled(FROST_C, low, high)],
    )
